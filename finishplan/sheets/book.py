"""All the sheets of a plan, put together in the order in which a maker meets them."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Unpack

from finishplan.basics.errors import InputError, nearest
from finishplan.plan.plan import Plan
from finishplan.sheets import BENCH, KINDS, OF_PART, Printing
from finishplan.sheets.amounts import amount_pages
from finishplan.sheets.appendix import caution_pages, reason_pages
from finishplan.sheets.cards import card_pages
from finishplan.sheets.document import render
from finishplan.sheets.evenings import evening_pages
from finishplan.sheets.given import Given, given
from finishplan.sheets.look import Look
from finishplan.sheets.page import Page, sparing
from finishplan.sheets.palette import palette_pages
from finishplan.sheets.parts import part_pages
from finishplan.sheets.steps import step_pages
from finishplan.sheets.wall import wall_pages

Sheet = Callable[[Given], list[Page]]
_WHOLE: dict[str, Sheet] = {
    "wall": wall_pages,
    "parts": part_pages,
    "palette": palette_pages,
    "steps": step_pages,
    "run": evening_pages,
    "amounts": amount_pages,
    "cards": card_pages,
    "reasons": reason_pages,
    "cautions": caution_pages,
}
# The names lie where a command can read them without loading the sheets; here both lists are held together.
assert tuple(_WHOLE) == KINDS


def sheet_pages(laid: Given, sheets: Sequence[str] = BENCH, part: str | None = None) -> list[Page]:
    """The pages of the sheets asked for, in the order of KINDS. part: only that part's page, and the mixes it takes.
    Raises InputError for an unknown sheet or part, or where nothing stands on what is asked for."""
    for kind in sheets:
        if kind not in KINDS:
            raise InputError(f"no sheet '{kind}'", where="--sheets", cure=nearest(kind, KINDS))
    names = tuple(p.name for p in laid.plan.scheme.parts)
    if part is not None and part not in names:
        raise InputError(f"no part '{part}'", where="--part", cure=nearest(part, names))
    if part is None:
        pages = [page for kind in KINDS if kind in sheets for page in _sparing(laid, kind)]
    else:
        pages = _of_part(laid, part, sheets)
    if not pages:
        what = f"nothing of '{part}'" if part else "nothing"
        raise InputError(f"{what} stands on the sheets asked for", where="--sheets", cure=f"ask for {KINDS[0]}")
    return pages


SPARED = ("palette", "steps", "amounts", "reasons", "cautions")
"""Sheets that are drawn a little smaller where that spares a page; parts and evenings see to it one by one."""


def _sparing(laid: Given, kind: str) -> list[Page]:
    make = _WHOLE[kind]
    return sparing(lambda look: make(replace(laid, look=look)), laid.look) if kind in SPARED else make(laid)


def _of_part(laid: Given, part: str, sheets: Sequence[str]) -> list[Page]:
    used = frozenset(m for p in laid.done if p.part == part for m in p.mixes)
    of_part: dict[str, Callable[[], list[Page]]] = {
        "parts": lambda: part_pages(laid, part),
        "palette": lambda: palette_pages(laid, used),
        "cards": lambda: card_pages(laid, used),
    }
    return [page for kind in OF_PART if kind in sheets for page in of_part[kind]()]


def printed(laid: Given, sheets: Sequence[str] = BENCH, part: str | None = None) -> bytes:
    """The PDF of these sheets, as `sheet_pages` has them."""
    return render(sheet_pages(laid, sheets, part), laid.look, laid.plan.scheme.name, laid.plan.date)


def pdf_bytes(plan: Plan, **printing: Unpack[Printing]) -> bytes:
    """The PDF of a plan. Raises InputError."""
    look = Look(printing.get("paper", "a4"), printing.get("grey", False))
    return printed(given(plan, look), printing.get("sheets", BENCH), printing.get("part"))
