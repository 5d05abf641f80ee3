"""All the sheets of a plan, put together in the order in which a maker meets them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from finishplan.basics.errors import InputError, nearest
from finishplan.plan.plan import Plan
from finishplan.sheets import KINDS
from finishplan.sheets.first_page import first_page, last_page, missing_note, steps_page, whole_figure
from finishplan.sheets.layout import Room, render
from finishplan.sheets.look import Look
from finishplan.sheets.mix_card import card_story
from finishplan.sheets.painting_order import BegunPart, begin_part, part_story
from finishplan.sheets.run_sheet import run_story
from finishplan.sheets.swatches import mixes_of


@dataclass(frozen=True)
class Begun:
    """What the sheets show whatever the run is like: their pictures, laid out and painted, by part."""

    look: Look
    kinds: tuple[str, ...]
    only: str | None
    figure: Room | None
    parts: dict[str, BegunPart]


def begin(
    plan: Plan, *, sheets: Sequence[str] = KINDS, paper: str = "a4", grey: bool = False, part: str | None = None
) -> Begun:
    """Begin the sheets of a plan that may lack its run and quantities. Raises InputError for a wrong wish."""
    for kind in sheets:
        if kind not in KINDS:
            raise InputError(f"no sheet '{kind}'", where="--sheets", cure=nearest(kind, KINDS))
    names = tuple(p.name for p in plan.scheme.parts)
    if part is not None and part not in names:
        raise InputError(f"no part '{part}'", where="--part", cure=nearest(part, names))
    look = Look(paper, grey)
    figure = whole_figure(plan, look) if part is None else None
    shown = [p for p in plan.scheme.parts if "order" in sheets and part in (None, p.name)]
    return Begun(look, tuple(sheets), part, figure, {p.name: begin_part(plan, look, p) for p in shown})


def pdf_bytes(
    plan: Plan, *, sheets: Sequence[str] = KINDS, paper: str = "a4", grey: bool = False, part: str | None = None
) -> bytes:
    """The PDF. sheets: of KINDS; part: only that part's pages and the cards of its mixes. Raises InputError."""
    return finish(plan, begin(plan, sheets=sheets, paper=paper, grey=grey, part=part))


def finish(plan: Plan, begun: Begun) -> bytes:
    """The PDF of a plan whose sheets were begun; to be called once. Raises InputError where nothing stands on it."""
    look, body = begun.look, _body(plan, begun)
    if begun.figure is None:
        if not body:
            cure = "ask for its order, or leave the part out"
            raise InputError(f"nothing of '{begun.only}' stands on the sheets asked for", where="--sheets", cure=cure)
        return render([*missing_note(look), *body], look, plan.scheme.name, plan.date)
    front = first_page(plan, look, begun.figure)
    back = last_page(plan, look, alone=bool(begun.kinds) and "run" not in begun.kinds)
    return render([*front, *missing_note(look), *body, *back], look, plan.scheme.name, plan.date)


def _body(plan: Plan, begun: Begun) -> list[Any]:
    story: list[Any] = []
    look, sheets, part = begun.look, begun.kinds, begun.only
    if "order" in sheets and part is None:
        story += steps_page(plan, look)
    for p in plan.scheme.parts:
        if p.name in begun.parts:
            story += part_story(plan, look, p, begun.parts[p.name])
    if "mixes" in sheets:
        used = {m for p in plan.order.passes for m in mixes_of(p) if any(w.part == part for w in p.work)}
        story += card_story(plan, look, None if part is None else frozenset(used))
    if "run" in sheets and part is None:
        story += run_story(plan, look)
    return story
