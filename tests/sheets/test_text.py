"""Paragraphs of marked runs against reportlab's own parser of the same markup; letters of every script."""

import io
import re
import unicodedata
from itertools import groupby
from typing import Any

import pypdf
import pytest
from reportlab.platypus import Paragraph
from small_plans import Size, make_plan

from finishplan.sheets.book import pdf_bytes
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
        f"{mark('Soft to scrape; 20 µm, Δ 2 °C.')} {mark('(common practice)')}.",
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


def printed(name: str) -> tuple[str, set[str]]:
    """What a second reader finds of a name on the wall sheet, and the faces embedded, each as a subset."""
    data = pdf_bytes(make_plan(size=Size(1, 3, 2, 1, name=name)), sheets=("wall",))
    page = pypdf.PdfReader(io.BytesIO(data)).pages[0]
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)
    names = {font["/BaseFont"] for font in fonts}
    assert all(re.match(r"/[A-Z]{6}\+", name) for name in names) and len(data) < 300_000
    return page.extract_text(), names


def test_every_latin_greek_and_cyrillic_letter_comes_back() -> None:
    text, _ = printed("Żółw ěščřž ßøŁőŞğ Тритон Σαλαμάνδρα")
    assert "Żółw ěščřž ßøŁőŞğ Тритон Σαλαμάνδρα" in text


def test_other_scripts_are_printed_in_their_own_face() -> None:
    text, names = printed("灯ともし newt 한글")
    assert "灯ともし newt 한글" in text and any("MicroHei" in name for name in names)


@pytest.mark.parametrize("name", ["نيوت", "נֵר", "ไทย", "नेवत", "\ue000", "\U0001f98e"])
def test_what_no_face_has_is_spelt_in_latin_letters(name: str) -> None:
    """Never a question mark: the letters of anyascii, or the code point."""
    text, _ = printed(name)
    said = text.split("\n")[0]
    assert "?" not in text and len(said.strip()) > 1
    assert said.isascii() or not any(unicodedata.category(c).startswith("C") for c in said)
