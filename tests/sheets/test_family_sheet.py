"""The sheet of the family, read back from its PDF."""

import re
from dataclasses import replace

import pytest
from read_back import clashes, pages, strays
from small_plans import Size, make_plan

from finishplan.plan.plan import Plan
from finishplan.plan.wells import wells
from finishplan.sheets import figure
from finishplan.sheets.family import family_pdf
from finishplan.sheets.given import given
from finishplan.sheets.look import Look


def undercoated(plan: Plan) -> Plan:
    """The plan with an undercoat that it mixes for itself."""
    own = replace(plan.mixes[0], id="U1", name="grey")
    passes = tuple(replace(p, mix=own.id) if p.kind == "undercoat" else p for p in plan.order.passes)
    plan = replace(plan, order=replace(plan.order, extra_mixes=(own,), passes=passes))
    return replace(plan, wells=wells(plan, plan.run, plan.quantities))


def two() -> tuple[Plan, Plan]:
    """Two figures of the same mixes, of which the second does without the first one; the first has an undercoat."""
    newt = make_plan(5, Size(3, 14, 6, 4, name="Newt"))
    moth = replace(newt, scheme=replace(newt.scheme, name="Moth"), mix_of=tuple(m for m in newt.mix_of if m[1]))
    return undercoated(newt), moth


def test_the_page_tells_every_mix_and_who_takes_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Names, letters, recipes in drops; the areas of each figure, a dash where it does without; nothing overlaps."""
    monkeypatch.setattr(figure, "MAIN_PX", 240)
    newt, moth = two()
    read = pages(family_pdf([given(p, Look()) for p in (newt, moth)], newt))
    words = " ".join(page.words for page in read)
    assert "Newt and Moth" in words and "2 figures · 6 mixes · 5 of them for both" in words
    for k, mix in enumerate(newt.mixes):
        areas = [str(i) for i, m in newt.mix_of if m == k]
        told = [f"{i.parts} {i.name}" for i in mix.recipe if i.premix is None]
        assert all(t in words for t in told)
        row = rf"\b{mix.id} {mix.name}\b.*? {' '.join(areas)} {'–' if k == 0 else ' '.join(areas)}(?: |$)"
        assert re.search(row, words), (row, words)
    own = newt.order.extra_mixes[0]
    laid = sorted({w.area for p in newt.order.passes if p.mix == own.id for w in p.work})
    assert laid and re.search(rf"\b{own.id} {own.name}, undercoat\b.*? {' '.join(map(str, laid))} –", words), words
    for page in read:
        assert clashes(page) == [] and strays(page) == []
