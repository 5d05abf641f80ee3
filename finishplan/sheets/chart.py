"""An evening as a chart: castings downwards, time to the right; a block is paint going on, a thin line paint drying."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

from finishplan.basics.words import listed
from finishplan.plan.plan import Plan
from finishplan.run.model import Session, Task
from finishplan.sheets import look as lk
from finishplan.sheets.given import Given
from finishplan.sheets.look import MM, NOTE, Lettering
from finishplan.sheets.page import Block
from finishplan.sheets.task_rows import castings_of
from finishplan.sheets.words import clock, ranges

LEAD, AXIS, LABELS = 15 * MM, 4.5 * MM, 4.5 * MM
"""Room for the castings' numbers, for the hours, for the names of passes and coats."""
_STEPS = (5, 10, 15, 30, 60, 120, 240, 480, 1440, 2880)
MOST_ROWS = 24
"""More castings than this are drawn in groups."""
KEY = "A block is paint going on, the line after it paint drying; 3.2 is pass 3, coat 2{of}."


@dataclass(frozen=True, eq=False)
class _Pen:
    """Draws one evening. rows: the castings of each row; high: a row's height; base: of the lowest row's lower edge;
    start, end: minutes from the start of the run."""

    given: Given
    session: Session
    tasks: Sequence[Task]
    rows: tuple[tuple[int, ...], ...]
    high: float
    start: float
    end: float

    @property
    def per_min(self) -> float:
        """Points for a minute."""
        return (self.given.look.measure - LEAD) / max(self.end - self.start, 1e-6)

    def x(self, minute: float) -> float:
        """Where a minute lies, from the left edge."""
        # What goes on drying after the evening is drawn up to its end.
        return LEAD + (min(max(minute, self.start), self.end) - self.start) * self.per_min

    def y(self, casting: int) -> float:
        """The lower edge of a casting's row, over the lowest."""
        row = next(k for k, castings in enumerate(self.rows) if casting in castings)
        return (len(self.rows) - 1 - row) * self.high


def key_of(given: Given) -> str:
    """What the marks of the chart mean."""
    of = [f"{short} 3.2 of {name}" for name, short in _shortened(list(given.figures)).items()]
    return KEY.format(of=f", {listed(of)}" if of else "")


def _shortened(names: Sequence[str]) -> dict[str, str]:
    """Figures by the first letters that tell them apart; in full where three do not."""
    for count in (1, 2, 3):
        short = {name: name[:count].strip() for name in names}
        if len(set(short.values())) == len(names):
            return short
    return {name: name for name in names}


def chart(given: Given, session: Session, tasks: Sequence[Task], depth: float) -> Block | None:
    """The chart of an evening, at most so deep; None where it does not fit or nothing is painted."""
    castings = sorted(castings_of(t for t in tasks if t.kind in ("coat", "prime")))
    if not castings:
        return None
    each = ceil(len(castings) / MOST_ROWS)
    rows = tuple(tuple(castings[k : k + each]) for k in range(0, len(castings), each))
    high = min(8 * MM, (depth - AXIS - LABELS) / len(rows))
    # Thinner rows run into each other; the rows of tasks say the same.
    if high < 1.6 * MM:
        return None
    start, end = min(t.start_min for t in tasks), max(t.end_min for t in tasks)
    pen = _Pen(given, session, tasks, rows, high, start, end)

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.saveState()
        canvas.translate(left, top - LABELS - len(rows) * high)
        # In this order: blocks cover the lines of drying, both cover the hours.
        _grid(canvas, pen)
        _drying(canvas, pen)
        _blocks(canvas, pen)
        _labels(canvas, pen)
        _castings(canvas, pen)
        canvas.restoreState()

    return Block(given.look.measure, LABELS + len(rows) * high + AXIS, draw)


def _grid(canvas: Any, pen: _Pen) -> None:
    """Time marks, at round times where the evening's start names one."""
    look = pen.given.look
    step = next((s for s in _STEPS if s * pen.per_min >= 15 * MM), _STEPS[-1])
    origin = pen.session.start_min
    canvas.setStrokeColor(look.colour(lk.RULE))
    canvas.setLineWidth(0.4)
    # 1e-6: a mark at the very start or end counts in spite of rounding.
    for k in range(ceil((pen.start - origin) / step - 1e-6), int((pen.end - origin) / step + 1e-6) + 1):
        x = pen.x(origin + k * step)
        canvas.line(x, -2, x, len(pen.rows) * pen.high)
        text = clock(origin + k * step, pen.session)
        # The last hour would be cut off at the margin.
        at = (min(x, look.measure - look.width(text, "body", NOTE) / 2), -10.5)
        look.write(canvas, text, at, Lettering(NOTE, colour=lk.QUIET, align=0.5))


def _drying(canvas: Any, pen: _Pen) -> None:
    """A line from the end of each coat until the next may follow."""
    canvas.setStrokeColor(pen.given.look.colour("#8f8a80"))
    canvas.setLineWidth(max(0.25, min(1.0, pen.high * 0.2)))
    for t in pen.tasks:
        # In a row of several castings the lines of one would hide what is done to another.
        if t.casting and t.kind in ("coat", "prime") and len(pen.rows[0]) == 1:
            y = pen.y(t.casting) + pen.high / 2
            canvas.line(pen.x(t.end_min), y, pen.x(t.end_min + _dries_min(pen.given.plan_of(t.figure), t)), y)


def _dries_min(plan: Plan, laid: Task) -> float:
    """Minutes until the next coat may follow, on the last coat of primer until it may be brushed over."""
    if laid.kind == "coat":
        return next((p.recoat_min for p in plan.order.passes if p.no == laid.pass_no), 0.0)
    primer = plan.dry[0]
    return primer.recoat_min if laid.coat < plan.order.primer.coats else primer.brushed_over_min


def _blocks(canvas: Any, pen: _Pen) -> None:
    """Who is being painted, in the mix's colour; the dryer is white."""
    look = pen.given.look
    inset = min(0.5, pen.high * 0.1)
    canvas.setStrokeColor(look.colour(lk.INK))
    canvas.setLineWidth(0.2 if pen.high > 4 else 0.1)
    shown = {c for row in pen.rows for c in row}
    for t in pen.tasks:
        mix = pen.given.mixes.get(t.mix)
        plain = pen.given.plan.order.primer.hex if t.kind == "prime" else lk.PAPER_WHITE
        canvas.setFillColor(look.colour(mix.hex if mix and t.kind == "coat" else plain))
        x, right = pen.x(t.start_min), pen.x(t.end_min)
        for casting in castings_of([t]):
            # A dryer's stream also meets castings that nobody paints this evening: they have no row.
            if casting in shown:
                canvas.rect(x, pen.y(casting) + inset, right - x, pen.high - 2 * inset, fill=1)


def _labels(canvas: Any, pen: _Pen) -> None:
    """Over the first block of each pass and coat its name, '3.2' for pass 3, coat 2, where there is room."""
    look, free, short = pen.given.look, 0.0, _shortened(list(pen.given.figures))
    seen: set[tuple[str, str, int, int]] = set()
    foot = len(pen.rows) * pen.high
    for t in pen.tasks:
        key = (t.kind, t.figure, t.pass_no, t.coat)
        if t.kind not in ("coat", "prime", "dryer") or key in seen:
            continue
        text = {"prime": "prime", "dryer": "dry"}.get(t.kind, f"{t.pass_no}.{t.coat}")
        text = " ".join(filter(None, (short.get(t.figure, "") if t.kind == "coat" else "", text)))
        x = min(pen.x(t.start_min), look.measure - look.width(text, "strong", NOTE))
        # Not marked as seen: a later block of the same coat may have room for its name.
        if x < free:
            continue
        seen.add(key)
        look.write(canvas, text, (x, foot + 3), Lettering(NOTE, "strong"))
        free = x + look.width(text, "strong", NOTE) + 3


def _castings(canvas: Any, pen: _Pen) -> None:
    """Casting numbers down the side, as many as fit."""
    every = max(1, ceil(10 / pen.high))
    for k, row in enumerate(pen.rows):
        if k % every == 0:
            text = pen.given.look.fit(ranges(row), "body", NOTE, LEAD - 6)
            y = pen.y(row[0]) + pen.high / 2 - 3.1
            pen.given.look.write(canvas, text, (LEAD - 5, y), Lettering(NOTE, align=1))
