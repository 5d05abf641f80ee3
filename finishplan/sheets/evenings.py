"""The run, an evening a page: what to mix, the tasks in working order with boxes to tick, one chart."""

from dataclasses import dataclass, replace
from typing import Any

from finishplan.basics.words import counted, duration
from finishplan.plan.left_out import left_out
from finishplan.plan.well import PotMade
from finishplan.run.model import Session
from finishplan.sheets import look as lk
from finishplan.sheets.chart import chart, key_of
from finishplan.sheets.given import Given
from finishplan.sheets.look import LINE, MM, NOTE, NUMBER, READ, SIGN, Lettering
from finishplan.sheets.marks import swatch, tick
from finishplan.sheets.page import (
    Block,
    Page,
    Placed,
    beside,
    filled,
    gap,
    in_columns,
    lowered,
    snapped,
    sparing,
    stack,
    words,
    wrapped,
)
from finishplan.sheets.task_rows import Row, castings_of, sessions_of, task_rows, tasks_in, what
from finishplan.sheets.words import clock, ml, ranges, sentence, session_end, weighed

SECTION = "The run"
MOST_LARGE = 28
"""Up to so many rows of tasks are set in large type, where there is room."""
FEW = 3
"""Evenings of so many castings at most are short: two stand on a page where they fit."""
TOGETHER = 8
"""From more evenings than this, two stand on a page where they fit."""


def evening_pages(given: Given) -> list[Page]:
    """A page for each evening, two where its tasks are many; of many evenings, or short ones, two on a page."""
    sessions = sessions_of(given.plan)
    if len(sessions) <= TOGETHER and given.plan.run.castings > FEW:
        return [page for s in sessions for page in _evening(given, s, sessions[0] is s)]
    pages: list[Page] = []
    half_free = False
    for session in sessions:
        block = _half(given, session, sessions[0] is session)
        if block is None:
            pages += _evening(given, session, sessions[0] is session)
            half_free = False
        elif half_free:
            low = given.look.bottom + given.look.depth / 2 - 2 * LINE
            # On the page of the evening before, whose lower half is free.
            pages.append(Page((SECTION,), (*pages.pop().placed, Placed(block, lk.MARGIN, low))))
            half_free = False
        else:
            pages.append(Page((SECTION,), (Placed(block, lk.MARGIN, given.look.top),)))
            half_free = True
    return pages


def _half(given: Given, session: Session, first: bool) -> Block | None:
    """An evening on half a page; None where it takes more."""
    look = given.look
    rows = [_row(given, row, session, Scale(look.span(1, 2), READ)) for row in _rows(given, session)]
    tasks = stack([_head(given, session, first), in_columns(rows, 2, look.measure)])
    room = look.depth / 2 - 2 * LINE - tasks.height
    return stack([tasks, *_chart(given, session, room)]) if room >= 0 else None


def _rows(given: Given, session: Session) -> list[Row]:
    """The evening's rows, without pots mixed in a wait that dry up before they are used."""
    used = {(w.mix, p.start_min) for w in given.wells.values() for p in w.pots}
    # The primer is poured out too, but has no well: its row stays.
    pots = {mix for mix, _ in used}
    tasks = tasks_in(given.plan, session)
    return task_rows([t for t in tasks if t.kind != "mix" or t.mix not in pots or (t.mix, t.start_min) in used])


def _head(given: Given, session: Session, first: bool) -> Block:
    return stack([_title(given, session), *(_advice(given) if first else []), _pots(given, session)])


def _chart(given: Given, session: Session, room: float) -> list[Block]:
    """The evening's chart under its tasks, where it fits."""
    look = given.look
    shown = chart(given, session, tasks_in(given.plan, session), min(room - 6 * LINE, 110 * MM))
    return [gap(2 * LINE), shown, words(look, key_of(given), look.measure, NOTE, colour=lk.QUIET)] if shown else []


def _evening(given: Given, session: Session, first: bool) -> list[Page]:
    return sparing(lambda look: _whole(replace(given, look=look), session, first), given.look)


def _whole(given: Given, session: Session, first: bool) -> list[Page]:
    """The pages of one evening: large type where its tasks leave room for it and for the chart."""
    look, head = given.look, _head(given, session, first)
    todo = _rows(given, session)
    few = len(todo) <= MOST_LARGE
    # Not even tried for many: setting them in large type takes time, and they would not fit.
    large = [_row(given, row, session, Scale(look.measure, NUMBER)) for row in todo] if few else []
    # The last third is for the chart.
    roomy = few and head.height + sum(r.height for r in large) <= 0.66 * look.depth
    rows = large if roomy else [_row(given, row, session, Scale(look.span(1, 2), READ)) for row in todo]
    across = 1 if roomy else 2
    pages, top, placed = list[Page](), look.top - head.height, [Placed(head, lk.MARGIN, look.top)]
    while True:
        ends = filled(rows, top - look.bottom, across)
        here, rows = rows[: ends[-1]], rows[ends[-1] :]
        body = in_columns(here, across, look.measure)
        placed.append(Placed(body, lk.MARGIN, top))
        top -= body.height
        if not rows:
            break
        pages.append(Page((SECTION,), tuple(placed)))
        placed, top = [], look.top
    placed.append(Placed(stack(_chart(given, session, top - look.bottom)), lk.MARGIN, top))
    return [*pages, Page((SECTION,), tuple(placed))]


def _title(given: Given, session: Session) -> Block:
    look, plan = given.look, given.plan
    tasks = tasks_in(plan, session)
    name = f"Evening {session.no}" if len(plan.run.sessions) > 1 else "The run"
    days = (session.at_min or 0) // 1440
    last = max(t.end_min for t in tasks)
    when = f"{clock(tasks[0].start_min, session)} to {session_end(last, session)}"
    if session.at_min is None:
        when = f"about {duration(last - tasks[0].start_min, days=False, up=True)}"
    facts = [*([f"day {days + 1}"] if days else []), when, *(_whose(given) or [counted(plan.run.castings, "casting")])]
    facts += [counted(plan.run.painters, "painter")] if plan.run.painters > 1 else []
    left = look.width(name, "heavy", SIGN) + 4 * MM
    told = words(look, " · ".join(facts), look.measure - left, READ, colour=lk.QUIET)
    return snapped(beside((0.0, words(look, name, left, SIGN, face="heavy")), (left, lowered(told, 6.0))), LINE)


def _whose(given: Given) -> list[str]:
    """'castings 1–6 The Lamplighter Newt', figure by figure of a run of several."""
    told = []
    for name in given.figures:
        mine = sorted(castings_of(t for t in given.plan.run.tasks if t.figure == name))
        told += [f"casting{'s' * (len(mine) > 1)} {ranges(mine)} {name}"] if mine else []
    return told


def _advice(given: Given) -> list[Block]:
    """What matters about the whole run, and what its times leave out, before the first evening."""
    look, plan = given.look, given.plan
    which = "Evenings" if len(plan.run.sessions) > 1 else "The run"
    more = [f"{which} may take passes in another order where nothing touches"] if len(plan.order.passes) > 1 else []
    lines = [words(look, sentence(text), look.measure) for text in (*plan.run.advice, *more)]
    if text := left_out(tuple(given.figures.values()) or (plan,)):
        lines.append(words(look, text, look.measure, NOTE))
    return [*lines, gap(2 * LINE)]


def _pots(given: Given, session: Session) -> Block:
    """The pots of the evening: those that lie open from before, and those to mix, each with its letter."""
    look, several = given.look, len(given.plan.run.sessions) > 1
    items = []
    still = [m for m in session.open if m in given.mixes]
    if still:
        items.append(_label(given, "still open"))
        items += [_chip(given, m, "") for m in still]
    fresh = [
        (pot.start_min, well.mix, pot)
        for well in given.wells.values()
        for pot in well.pots
        if not several or pot.session == session.no
    ]
    if fresh:
        items.append(_label(given, "mix"))
    for _, mix, pot in sorted(fresh, key=lambda f: (f[0], f[1])):
        items.append(_chip(given, mix, _size(given, mix, pot)))
    return snapped(stack([wrapped(items, look.measure), gap(2 * LINE)])) if items else gap(0)


def _size(given: Given, mix: str, pot: PotMade) -> str:
    """'× 5', '23 drops' of one paint, '18 ml' of a pot that is weighed."""
    if pot.weighed:
        return ml(pot.ml)
    recipe = given.mixes[mix].recipe
    return counted(pot.drops[0], "drop") if len(recipe) == 1 else f"× {pot.drops[0] // recipe[0].parts}"


def _label(given: Given, text: str) -> Block:
    look = given.look
    return Block(look.width(text, "body", READ) + 6, 14, lambda c, x, y: look.write(c, text, (x, y - 11), Lettering()))


def _chip(given: Given, mix: str, size: str) -> Block:
    """A mix's swatch and how much of it is made."""
    look = given.look
    chip = swatch(look, given.mixes[mix].hex, (9 * MM, 5 * MM), given.mixes[mix].id)
    wide = look.width(look.plain(size, "strong"), "strong", READ) if size else 0.0

    def told(canvas: Any, left: float, top: float) -> None:
        look.write(canvas, size, (left, top - 11), Lettering(READ, "strong"))

    return beside((0.0, chip), (chip.width + 3, Block(wide + 8, 16, told)))


def _what(given: Given, row: Row) -> str:
    """A row in words, with its figure's name where the run is of several."""
    name = row.first.figure if row.kind in ("coat", "prime") else ""
    told = what(given.plan_of(name), row)
    return f"{name}, {told[:1].lower()}{told[1:]}" if name in given.figures else told


def _pot_of(given: Given, row: Row) -> str:
    """', × 2: 24 drops' of the pot that is mixed in a row: the next of its mix to be begun."""
    well = given.wells.get(row.first.mix)
    if row.kind != "mix" or well is None:
        return ""
    later = [p for p in well.pots if p.start_min >= row.start_min - 1e-6]
    if not later:
        return ""
    pot = min(later, key=lambda p: p.start_min)
    if pot.weighed:
        return f", {weighed(well, pot)}"
    many, size = counted(sum(pot.drops), "drop"), _size(given, well.mix, pot)
    return f", {many}" if len(pot.drops) == 1 else f", {size}: {many}"


@dataclass(frozen=True)
class Scale:
    """Width of a row of tasks, and the size of its type."""

    width: float
    size: float

    @property
    def line(self) -> float:
        """From line to line."""
        return 3.5 * LINE if self.size == READ else lk.LEADING[self.size]


def _row(given: Given, row: Row, session: Session, scale: Scale) -> Block:
    """Box to tick, time of day where one is known, chip of the mix, what to do."""
    look, by = given.look, scale.size / READ
    x = 5 * MM * by
    blocks: list[tuple[float, Block]] = [] if row.kind == "wait" else [(0.0, tick(look, 3.2 * MM * by))]
    if session.at_min is not None:
        time = clock(row.start_min, session)
        blocks.append((x, words(look, time, 13 * MM * by, scale.size, colour=lk.QUIET, leading=scale.line)))
        x += 11.5 * MM * by
    mix = given.mixes.get(row.first.mix) if row.kind in ("coat", "mix") else None
    colour = mix.hex if mix else given.plan.order.primer.hex if row.kind == "prime" else ""
    if colour:
        chip = swatch(look, colour, (8 * MM * by, 4 * MM * by), mix.id if mix else "", NOTE * by)
        blocks.append((x, chip))
    # With a chip or without: the words of all rows begin at the same place.
    x += 9.5 * MM * by
    who = f"Painter {row.first.painter}: " if given.plan.run.painters > 1 else ""
    ink = lk.QUIET if row.kind == "wait" else lk.INK
    told = f"{who}{_what(given, row)}{_pot_of(given, row)}"
    text = words(look, told, scale.width - x, scale.size, colour=ink, leading=scale.line)
    return snapped(beside(*blocks, (x, text)), 1.0 if scale.size == READ else LINE)
