"""The run as a chart: castings downwards, time to the right; a block is paint going on, a thin line is paint drying."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

from finishplan.plan.plan import Plan
from finishplan.run.model import Session, Task
from finishplan.sheets import look as lk
from finishplan.sheets.layout import Room
from finishplan.sheets.look import MM, NOTE, Look
from finishplan.sheets.swatches import all_mixes
from finishplan.sheets.words import clock

LEAD = 15 * MM
"""Room for the castings' numbers."""

_STEPS = (5, 10, 15, 30, 60, 120, 240, 480, 1440, 2880)
_LANES, LANE = 3, 4.2 * MM
"""Most lanes of labels over a panel, and the height of one."""

AXIS, TITLE_AND_GAP, _LEAST_ROW = 5 * MM, 8 * MM, 3 * MM


@dataclass(frozen=True)
class Panel:
    """A stretch of one session drawn on one axis, minutes from the start of the run."""

    session: Session
    start: float
    end: float


def panels(plan: Plan) -> list[Panel]:
    """The stretches in which anybody works: a session each, long ones cut so that a block can still be seen."""
    run = plan.run
    sessions = run.sessions or (Session(1, 0.0, run.makespan_min),)
    worked = sum(s.end_min - s.start_min for s in sessions)
    longest = 360 if worked <= 5 * 360 else next((m for m in (480, 960, 1920) if worked / m <= 10), 3840)
    found = []
    for s in sessions:
        busy = [t for t in run.tasks if t.start_min < s.end_min and t.end_min > s.start_min]
        if not busy:
            continue
        end = min(s.end_min, max(t.end_min for t in busy))
        count = max(1, ceil((end - s.start_min) / longest))
        length = (end - s.start_min) / count
        found += [Panel(s, s.start_min + k * length, s.start_min + (k + 1) * length) for k in range(count)]
    return found


def row_height(castings: int, painters: int, depth: float, count: int) -> float:
    """Height of one casting's row: as many of the `count` panels on a page as leave each row its least height.

    Where that is not even one, all castings of a panel fit on a page, on half of one where there are many panels.
    """
    beside = TITLE_AND_GAP + _LANES * LANE + 1 * MM + _under(painters)
    each = max(2 if count > 6 else 1, int(depth // (beside + castings * _LEAST_ROW)))
    return min(5 * MM, (depth / each - beside) / max(castings, 1))


def _under(painters: int) -> float:
    return AXIS + painters * 4.5 * MM + 1.5 * MM


def chart(plan: Plan, look: Look, panel: Panel, count: int) -> Room:
    """One panel of `count`: lanes of pass labels, castings, painters, time axis."""
    rows, high = plan.run.castings, row_height(plan.run.castings, plan.run.painters, look.depth, count)
    under = _under(plan.run.painters)
    pen = _Pen(plan, look, panel, high, under, (look.measure - LEAD) / max(panel.end - panel.start, 1e-6))
    lanes = 1 + max((lane for *_, lane in pen.placed()), default=0)
    total = lanes * LANE + 1 * MM + rows * high + under

    def draw(canvas: Any) -> None:
        pen.grid(canvas, AXIS)
        pen.drying(canvas)
        pen.blocks(canvas)
        pen.labels(canvas, rows)
        pen.painters(canvas, AXIS)
        pen.castings(canvas)

    return Room(look.measure, total, draw)


@dataclass(frozen=True)
class _Pen:
    """Draws one panel. base: height of the lowest casting's lower edge; per_min: points for a minute."""

    plan: Plan
    look: Look
    panel: Panel
    high: float
    base: float
    per_min: float

    @property
    def _rows(self) -> int:
        return self.plan.run.castings

    @property
    def _tasks(self) -> Sequence[Task]:
        p = self.panel
        return [t for t in self.plan.run.tasks if t.start_min < p.end - 1e-6 and t.end_min > p.start + 1e-6]

    def _x(self, minute: float) -> float:
        return LEAD + (min(max(minute, self.panel.start), self.panel.end) - self.panel.start) * self.per_min

    def _y(self, casting: int) -> float:
        return self.base + (self._rows - casting) * self.high

    def grid(self, canvas: Any, axis: float) -> None:
        """Time marks, at round times where the session's start names one."""
        step = next((s for s in _STEPS if s * self.per_min >= 15 * MM), _STEPS[-1])
        origin = self.panel.session.start_min
        top = self.base + self._rows * self.high
        canvas.setFont(lk.FACES["body"], NOTE)
        canvas.setFillColor(self.look.colour(lk.QUIET))
        canvas.setStrokeColor(self.look.colour(lk.RULE))
        canvas.setLineWidth(0.4)
        k = ceil((self.panel.start - origin) / step - 1e-6)
        while origin + k * step <= self.panel.end + 1e-6:
            x = self._x(origin + k * step)
            canvas.line(x, axis, x, top)
            text = clock(origin + k * step, self.panel.session)
            half = self.look.width(text, "body", NOTE) / 2
            canvas.drawCentredString(min(x, self.look.measure - half), axis - 10, text)
            k += 1

    def drying(self, canvas: Any) -> None:
        """A line from the end of each coat until the next may follow."""
        waits = {p.no: p.recoat_min for p in self.plan.order.passes}
        waits[0] = self.plan.dry[0].recoat_min if self.plan.dry else 0.0
        canvas.setStrokeColor(self.look.colour("#8f8a80"))
        canvas.setLineWidth(max(0.25, min(1.1, self.high * 0.22)))
        for t in self.plan.run.tasks:
            until = t.end_min + waits.get(t.pass_no, 0.0)
            if t.casting and t.kind in ("coat", "prime") and t.end_min < self.panel.end and until > self.panel.start:
                y = self._y(t.casting) + self.high / 2
                canvas.line(self._x(t.end_min), y, self._x(until), y)

    def _colour(self, task: Task) -> str:
        if task.kind == "prime":
            return self.plan.order.primer.hex
        mix = all_mixes(self.plan).get(task.mix)
        return mix.hex if mix and task.kind == "coat" else lk.PAPER_WHITE

    def blocks(self, canvas: Any) -> None:
        """Who is being painted, in the mix's colour; the dryer and other work are white."""
        inset = min(0.5, self.high * 0.1)
        canvas.setStrokeColor(self.look.colour(lk.INK))
        canvas.setLineWidth(0.2 if self.high > 4 else 0.1)
        colours: dict[tuple[str, str], Any] = {}
        for t in self._tasks:
            if not t.casting:
                continue
            key = (t.kind, t.mix)
            if key not in colours:
                colours[key] = self.look.colour(self._colour(t))
            canvas.setFillColor(colours[key])
            x, right = self._x(t.start_min), self._x(t.end_min)
            canvas.rect(x, self._y(t.casting) + inset, right - x, self.high - 2 * inset, fill=1)

    def labels(self, canvas: Any, rows: int) -> None:
        """Over the first block of each pass, coat and part its name, '3.2' for pass 3, coat 2."""
        foot = self.base + rows * self.high
        canvas.setStrokeColor(self.look.colour(lk.INK))
        canvas.setFillColor(self.look.colour(lk.INK))
        canvas.setLineWidth(0.3)
        canvas.setFont(lk.FACES["strong"], NOTE)
        for _, _, at, lane in self.placed():
            canvas.line(at, foot, at, foot + 1.2 * MM + lane * LANE + 7)
        for text, x, _, lane in self.placed():
            y = foot + 1.2 * MM + lane * LANE
            canvas.setFillColor(self.look.colour(lk.PAPER_WHITE))
            canvas.rect(x, y - 1.5, self.look.width(text, "strong", NOTE), 9, 0, 1)
            canvas.setFillColor(self.look.colour(lk.INK))
            canvas.drawString(x, y, text)

    def placed(self) -> list[tuple[str, float, float, int]]:
        """(text, left, x of its line, lane) of every label there is room for."""
        free = [0.0] * _LANES
        seen: set[tuple[str, int, int, str]] = set()
        found = []
        for t in sorted(self._tasks, key=lambda t: (t.start_min, t.pass_no, t.coat)):
            key = (t.kind, t.pass_no, t.coat, t.part)
            if not t.casting or key in seen:
                continue
            seen.add(key)
            wide = self.look.width(_name(t), "strong", NOTE)
            at = self._x(t.start_min)
            x = min(at + 1.5, self.look.measure - wide)
            lane = next((n for n in range(_LANES) if free[n] <= min(x, at)), None)
            if lane is not None:
                free[lane] = x + wide + 2
                found.append((_name(t), x, at, lane))
        return found

    def painters(self, canvas: Any, axis: float) -> None:
        """A lane for each painter: solid at work on a casting, hatched while changing the mix, empty while waiting."""
        count = self.plan.run.painters
        for n in range(1, count + 1):
            y = axis + (count - n) * 4.5 * MM + 1 * MM
            canvas.setFillColor(self.look.colour(lk.QUIET))
            canvas.setFont(lk.FACES["body"], NOTE)
            canvas.drawString(0, y + 1, "painter" if count == 1 else f"painter {n}")
            for t in self._tasks:
                if t.painter != n:
                    continue
                x, right = self._x(t.start_min), self._x(t.end_min)
                canvas.setFillColor(self.look.colour(lk.QUIET if t.casting else lk.ACCENT))
                canvas.rect(x, y, right - x, 3 * MM if t.casting else 1.4 * MM, stroke=0, fill=1)

    def castings(self, canvas: Any) -> None:
        """Casting numbers down the side, as many as fit."""
        every = next((k for k in (1, 2, 5, 10, 20, 50) if k * self.high >= 10.5), 100)
        canvas.setFillColor(self.look.colour(lk.INK))
        canvas.setFont(lk.FACES["body"], NOTE)
        for c in range(1, self._rows + 1):
            if c % every == 0 or every == 1 or (c == 1 and every > 2):
                canvas.drawRightString(LEAD - 5, self._y(c) + self.high / 2 - 3.1, str(c))


def _name(task: Task) -> str:
    if task.kind == "prime":
        return "P"
    if task.kind == "dryer":
        return "dry"
    return f"{task.pass_no}.{task.coat}" if task.kind == "coat" else "step"
