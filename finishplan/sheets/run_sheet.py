"""The run sheet: sessions and their chart, tasks in working order with boxes to tick, totals, shopping list."""

import re
from collections.abc import Sequence
from typing import Any

from reportlab.platypus import CondPageBreak, KeepTogether, LongTable, Spacer, TableStyle

from finishplan.amounts.model import Quantity
from finishplan.basics.words import counted, duration
from finishplan.plan.plan import Plan
from finishplan.run.model import Session
from finishplan.sheets import look as lk
from finishplan.sheets.blocks import heading, swatch, tick
from finishplan.sheets.chart import TITLE_AND_GAP, Panel, chart, panels
from finishplan.sheets.columns import Columns, ReadDown, column_width
from finishplan.sheets.layout import section
from finishplan.sheets.look import LEADING, MM, NAME, NOTE, READ, TITLE, Look
from finishplan.sheets.rows import Row, castings, pots_of, task_rows, what
from finishplan.sheets.swatches import all_mixes
from finishplan.sheets.words import clock, from_to, ml, number, sentence

CHART_KEY = (
    "A block is paint going on; the line after it is paint drying. 3.2 is pass 3, coat 2; P is primer. "
    "The lane below shows the painter: full height at work, low while washing the brush and opening the next mix, "
    "empty while waiting."
)
CHART_DRYER = " A white block marked 'dry' is a piece under the hair dryer."

_LAST_TWO = (("NOSPLIT", (0, -2), (-1, -1)),)
"""The last row of a table never stands on a page by itself."""


def run_story(plan: Plan, look: Look) -> list[Any]:
    """All pages of the run sheet."""
    count = counted(plan.run.castings, "casting")
    return [
        *section("Run sheet"),
        look.para(f"Run sheet: {count}", TITLE, face="heavy"),
        Spacer(1, 2 * MM),
        *_totals(plan, look),
        *_charts(plan, look),
        *_tasks(plan, look),
        *_amounts(plan, look),
        *_shopping(plan, look),
    ]


def _totals(plan: Plan, look: Look) -> list[Any]:
    run = plan.run
    done = sorted(run.finish_min)

    def span(value: float) -> str:
        return duration(value, days=len(run.sessions) > 1)

    waiting = f"{duration(run.waiting_min, days=False)} of waiting" if run.waiting_min > 0.5 else "no waiting"
    bound = "no schedule is shorter" if run.proven else f"no schedule can be shorter than {span(run.lower_bound_min)}"
    cells = [
        ("Whole run", span(run.makespan_min), bound),
        ("At the bench", duration(run.painter_min, days=False), f"{counted(run.painters, 'painter')}, {waiting}"),
        ("Mix changes", str(run.mix_changes), "wash the brush, open the next mix"),
    ]
    if done:
        half = done[(len(done) - 1) // 2]
        cells.append(("All painted after", span(done[-1]), _sooner(len(done), *map(span, (done[0], half, done[-1])))))
    gap = lk.GUTTER
    width = (look.measure - 3 * gap) / 4
    columns = [
        (k * (width + gap), width, [look.para(label, NOTE, lk.ACCENT, "strong"), look.para(value, NAME, face="strong"),
                                    look.para(sentence(more), NOTE, lk.QUIET)])
        for k, (label, value, more) in enumerate(cells)
    ]  # fmt: skip
    advice = [look.para(text, READ, spaceAfter=2) for text in (*run.advice, *_not_counted(plan))]
    return [Columns(columns, look.depth), Spacer(1, 3 * MM), *advice]


def _sooner(castings: int, first: str, half: str, last: str) -> str:
    """When the first casting and half of them are painted, where that is sooner than all."""
    if first == last:
        return ""
    if first == half:
        return f"first casting{', and half of them,' if castings > 2 else ''} after {first}"
    return f"first casting after {first}, half of them after {half}"


def _not_counted(plan: Plan) -> list[str]:
    """What is done between the run's tasks but has no time there."""
    each = " for each casting" if plan.run.castings > 1 else ""
    looks = [s for s in plan.steps if s.key == "inspect" and s.minutes]
    return [
        f"Not in these times: looking over what is primed (step {s.no}, {duration(s.minutes)}{each}) before pass 1."
        for s in looks
    ]


def _session_title(plan: Plan, session: Session) -> str:
    """'Session 2, day 2': its day where it is not the first; the times stand beside it."""
    if len(plan.run.sessions) <= 1:
        return "The run"
    day = re.sub(r",?\s*\d{1,2}[:.]\d{2}\s*$", "", session.clock)
    return f"Session {session.no}, {day}" if day else f"Session {session.no}"


def _charts(plan: Plan, look: Look) -> list[Any]:
    story: list[Any] = [
        *heading(look, "Who is painted, who dries", keep=70 * MM),
        look.para(CHART_KEY + (CHART_DRYER if any(t.kind == "dryer" for t in plan.run.tasks) else ""), NOTE, lk.QUIET),
        Spacer(1, 2 * MM),
    ]
    all_panels = panels(plan)
    for panel in all_panels:
        title = f"{_session_title(plan, panel.session)}: {_span(panel)}"
        story += [
            KeepTogether([look.para(title, READ, face="strong"), chart(plan, look, panel, len(all_panels))]),
            Spacer(1, TITLE_AND_GAP - LEADING[READ]),
        ]
    return story


def _span(panel: Panel) -> str:
    return f"{clock(panel.start, panel.session)} to {clock(panel.end, panel.session)}"


def _rules(look: Look, *more: Any) -> TableStyle:
    return TableStyle(
        [
            ("FONT", (0, 0), (-1, -1), lk.FACES["body"], NOTE),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 2 * MM),
            ("TOPPADDING", (0, 0), (-1, -1), 0.35 * MM),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0.7 * MM),
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, look.colour(lk.QUIET)),
            ("LINEBELOW", (0, 1), (-1, -1), 0.4, look.colour(lk.RULE)),
            *more,
        ]
    )


def _table(look: Look, head: Sequence[str], rows: Sequence[Sequence[Any]], shares: Sequence[float], *more: Any) -> Any:
    """A table that repeats its head on each page. shares: of the measure, 0 takes what is left."""
    left = 1 - sum(shares)
    widths = [(s or left) * look.measure for s in shares]
    top = [look.para(h, NOTE, lk.QUIET, "strong") for h in head]
    table = LongTable([top, *rows], colWidths=widths, repeatRows=1, splitInRow=1)
    table.setStyle(_rules(look, *more))
    return table


def _tasks(plan: Plan, look: Look) -> list[Any]:
    if not plan.run.tasks:
        return []
    story = heading(look, "Tasks in working order", keep=40 * MM)
    several = plan.run.painters > 1
    sessions = plan.run.sessions or (Session(1, 0.0, plan.run.makespan_min),)
    starts = [-1.0, *(s.start_min - 1e-6 for s in sessions[1:]), float("inf")]
    for k, session in enumerate(sessions):
        inside = [t for t in plan.run.tasks if starts[k] <= t.start_min < starts[k + 1]]
        if not inside:
            continue
        head = [
            "",
            "from–to",
            *(["painter"] if several else []),
            "what (before each mix, wash the brush)",
            "on castings",
        ]
        shares = [0.04, 0.145, *([0.08] if several else []), 0, 0.23]
        room = (1 - sum(shares)) * look.measure - 2 * MM
        lines = [_task_row(plan, look, row, session, several, room) for row in task_rows(inside)]
        if len(plan.run.sessions) > 1:
            story += [
                CondPageBreak(30 * MM),
                look.para(_session_title(plan, session), READ, face="strong", spaceBefore=6),
            ]
        story += [_table(look, head, lines, shares), Spacer(1, 3 * MM)]
    return story


def _task_row(plan: Plan, look: Look, done: Row, session: Session, several: bool, room: float) -> list[Any]:
    time = from_to(done.start_min, done.end_min, session)
    row = [tick(look, 3.6 * MM), look.para(time, READ)]
    if several:
        row.append(look.para(str(done.first.painter), READ))
    return [*row, _what(plan, look, done, room), look.para("; ".join(castings(plan, done)), READ)]


def _what(plan: Plan, look: Look, done: Row, width: float) -> Any:
    """The task in words, with the chips of its mix and of those opened for it."""
    t, mixes = done.first, all_mixes(plan)
    words = look.para(what(plan, done), READ)
    ids = dict.fromkeys((t.mix, *(o.mix for o in pots_of(plan, done)))) if t.kind != "dryer" else ()
    chips = [swatch(look, mixes[id].hex, 9 * MM, 4.4 * MM, id) for id in ids if id in mixes]
    return Columns([(0, 9 * MM, chips), (11 * MM, width - 11 * MM, [words])], 1e6)


def _amounts(plan: Plan, look: Look) -> list[Any]:
    """What is mixed and laid: each mix and pre-mix, primer, varnish, resin."""
    rows = []
    mixes = all_mixes(plan)
    for q in (q for q in plan.quantities if q.what not in ("paint", "pass")):
        name = f"{q.id}  {q.name}" if q.what == "mix" else q.name
        said = f"pre-mix, {q.note}; keep it in a lidded pot" if q.what == "premix" else q.note
        note = f' <font size="{NOTE:g}">{look.mark(sentence(said))}</font>' if said else ""
        words = look.rich(look.mark(name) + note)
        colour = mixes[q.id].hex if q.id in mixes else None
        chip = swatch(look, colour, 6 * MM, 4 * MM) if colour else ""
        rows.append([chip, words, look.para(_each(q), READ), look.para(_all(q), READ)])
    if not rows:
        return []
    taken = ("for one casting", "for the run") if plan.run.castings > 1 else ("it takes", "to measure out")
    head = ["", "material", *taken]
    return [*heading(look, "Amounts", keep=40 * MM), _table(look, head, rows, [0.05, 0, 0.17, 0.24], *_LAST_TWO)]


def _each(q: Quantity) -> str:
    return ml(q.ml_per_casting) if q.ml_per_casting or not q.grams else f"{number(q.grams)} g"


def _all(q: Quantity) -> str:
    drops = f", {counted(q.drops, 'drop')}" if q.drops else ""
    return (ml(q.ml_run) if q.ml_run or not q.grams else f"{number(q.grams)} g") + drops


def _shopping(plan: Plan, look: Look) -> list[Any]:
    """The paints the run needs, beside what the box holds."""
    paints = [q for q in plan.quantities if q.what == "paint"]
    if not paints:
        return []
    priced = any(q.cost is not None for q in paints)
    ci = {p.id: p.ci for p in plan.box.paints}
    names = {q.id: f"{q.name} ({ci[q.id]})" if ci.get(q.id) else q.name for q in paints}
    if not any(q.ml_left is not None or q.short_ml > 0 or q.cost is not None or q.note for q in paints):
        lines = [_to_check(look, names[q.id], ml(q.ml_run)) for q in paints]
        note = look.para("What the box holds is not said: tick what is there.", NOTE, lk.QUIET)
        return [*heading(look, "Shopping list", keep=40 * MM), note, ReadDown(look, lines)]
    rows = []
    for q in paints:
        have = "not said" if q.ml_left is None else ml(q.ml_left)
        words = [look.para(names[q.id], READ)]
        if q.note:
            words.append(look.para(q.note, NOTE, lk.QUIET))
        buy = look.para(ml(q.short_ml) if q.short_ml > 0 else "–", READ, face="strong" if q.short_ml > 0 else "body")
        cost = [look.para("" if q.cost is None else f"{q.cost:.2f}", READ)] if priced else []
        rows.append(
            [
                tick(look, 3.6 * MM) if q.short_ml > 0 else "",
                words,
                look.para(ml(q.ml_run), READ),
                look.para(have, READ),
                buy,
                *cost,
            ]
        )
    head = ["", "paint", "needed", "in the box", "buy", *(["cost"] if priced else [])]
    shares = [0.04, 0, 0.14, 0.14, 0.12, *([0.1] if priced else [])]
    return [*heading(look, "Shopping list", keep=40 * MM), _table(look, head, rows, shares, *_LAST_TWO)]


def _to_check(look: Look, name: str, needed: str) -> Columns:
    """A paint and how much of it is needed, with a box to tick."""
    width = column_width(look)
    words, amount = look.para(name, READ), look.para(needed, READ, alignment=2)
    columns = [
        (0, 6 * MM, [tick(look, 3.6 * MM)]),
        (7 * MM, width - 27 * MM, [words]),
        (width - 20 * MM, 20 * MM, [amount]),
    ]
    return Columns(columns, 1e6, rule=look.colour(lk.RULE), pad=0.5 * MM)
