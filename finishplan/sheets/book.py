"""All the sheets of a plan, put together in the order in which a maker meets them."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from finishplan.errors import InputError, nearest
from finishplan.plan import Plan
from finishplan.sheets import KINDS
from finishplan.sheets.first_page import first_page, last_page, missing_note, steps_page
from finishplan.sheets.layout import render
from finishplan.sheets.look import Look
from finishplan.sheets.mix_card import card_story
from finishplan.sheets.painting_order import part_story
from finishplan.sheets.run_sheet import run_story
from finishplan.sheets.swatches import mixes_of


def pdf_bytes(
    plan: Plan, *, sheets: Sequence[str] = KINDS, paper: str = "a4", grey: bool = False, part: str | None = None
) -> bytes:
    """The PDF. sheets: of KINDS; part: only that part's pages and the cards of its mixes. Raises InputError."""
    for kind in sheets:
        if kind not in KINDS:
            raise InputError(f"no sheet '{kind}'", where="--sheets", cure=nearest(kind, KINDS))
    names = tuple(p.name for p in plan.scheme.parts)
    if part is not None and part not in names:
        raise InputError(f"no part '{part}'", where="--part", cure=nearest(part, names))
    with ThreadPoolExecutor(1) as aside:
        return _book(plan, Look(paper, grey, aside=aside), sheets, part)


def _book(plan: Plan, look: Look, sheets: Sequence[str], part: str | None) -> bytes:
    body = _body(plan, look, sheets, part)
    if part is not None and not body:
        cure = "ask for its order, or leave the part out"
        raise InputError(f"nothing of '{part}' stands on the sheets asked for", where="--sheets", cure=cure)
    front = [] if part is not None else first_page(plan, look)
    back = [] if part is not None else last_page(plan, look, alone=bool(sheets) and "run" not in sheets)
    front += missing_note(look)
    return render([*front, *body, *back], look, plan.scheme.name, plan.date)


def _body(plan: Plan, look: Look, sheets: Sequence[str], part: str | None) -> list[Any]:
    story: list[Any] = []
    if "order" in sheets:
        story += steps_page(plan, look) if part is None else []
        for p in plan.scheme.parts:
            if part in (None, p.name):
                story += part_story(plan, look, p)
    if "mixes" in sheets:
        used = {m for p in plan.order.passes for m in mixes_of(p) if any(w.part == part for w in p.work)}
        story += card_story(plan, look, None if part is None else frozenset(used))
    if "run" in sheets and part is None:
        story += run_story(plan, look)
    return story
