"""Paragraphs of marked runs against reportlab's own parser of the same markup."""

from itertools import groupby
from typing import Any

import pytest
from reportlab.platypus import Paragraph

from finishplan.sheets.look import READ, Look
from finishplan.sheets.text import Text, rich

LOOK = Look()
STYLE = LOOK.para("x", READ, "#202020").style
mark = LOOK.mark


def runs(paragraph: Paragraph) -> list[tuple[Any, ...]]:
    """(face, size, colour, text), neighbours alike made one: the parser cuts a run at every entity."""
    looks = [((f.fontName, f.fontSize, f.textColor.rgb(), f.rise, f.link), f.text) for f in paragraph.frags]
    return [(*how, "".join(text for _, text in some)) for how, some in groupby(looks, key=lambda f: f[0])]


@pytest.mark.parametrize(
    "markup",
    [
        mark("burnt sienna pre-mix, 1:49"),
        f'{mark("titanium white")} <font size="9">{mark("PW6")}</font>',
        f"{mark('Wait 19 min', 'heavy')} {mark('before the first pass; <touch> dry in 10 min & a bit.')}",
        f"{mark('A', 'heavy')}{mark(' (touch dry in 19 min).')}",
        f"{mark('Soft to scrape; 20 µm, Δ 2 °C.', 'slant')} {mark('(common practice)')}.",
        f"on 3 &amp; 4: {mark('')}{mark('hood')}",
        f"{mark('Wait ', 'heavy')}{mark(' 19 min')}",
    ],
)
def test_runs_are_those_of_the_parser(markup: str) -> None:
    made = rich(markup, STYLE)
    assert runs(made) == runs(Paragraph(markup, STYLE))
    assert made.wrap(120, 1000) == Text(markup, STYLE).wrap(120, 1000)


def test_other_markup_is_left_to_the_parser() -> None:
    markup = f"<b>{mark('hood')}</b><br/>{mark('coat')}"
    assert runs(rich(markup, STYLE)) == runs(Paragraph(markup, STYLE))
