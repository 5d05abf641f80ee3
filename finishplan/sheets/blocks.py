"""Building blocks of the sheets: columns side by side, tick boxes, swatches, numbered pictures, headings."""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from reportlab.lib.utils import ImageReader
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from finishplan.sheets import look as lk
from finishplan.sheets.layout import Room
from finishplan.sheets.look import MM, NAME, NOTE, READ, Look
from finishplan.sheets.numbers import Tag, lay_out

Column = tuple[float, float, list[Any]]
"""Left edge, width, what stands in it."""

_KEEP = 0.45
"""Columns that reach over more than this share of a page may be cut in two there."""


class Columns(Flowable):  # type: ignore[misc]
    """Columns side by side. Kept together while they fit on one page, else cut where the page ends, column by column."""

    def __init__(self, columns: Sequence[Column], page_depth: float, *, rule: Any = None, pad: float = 0.0) -> None:
        super().__init__()
        self.columns, self.page_depth, self.rule, self.pad = columns, page_depth, rule, pad
        self.width = max((x + w for x, w, _ in columns), default=0.0)

    def _height(self, width: float, stack: Sequence[Any]) -> float:
        return sum(f.wrapOn(None, width, 1e6)[1] for f in stack)

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """As high as the highest column."""
        self.height = 2 * self.pad + max((self._height(w, stack) for _, w, stack in self.columns), default=0.0)
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Any]:
        """Nothing while the whole fits on a page of its own, else the part that fits here and the rest."""
        height = self.wrap(available_width, available_height)[1]
        if height <= self.page_depth or available_height < _KEEP * self.page_depth:
            return []
        now: list[Column] = []
        later: list[Column] = []
        for x, width, stack in self.columns:
            here, rest = self._cut(width, stack, available_height - 2 * self.pad)
            now.append((x, width, here))
            later.append((x, width, rest))
        more = {"rule": self.rule, "pad": self.pad}
        return [Columns(now, self.page_depth, **more), Columns(later, self.page_depth, **more)]

    def _cut(self, width: float, stack: Sequence[Any], room: float) -> tuple[list[Any], list[Any]]:
        here: list[Any] = []
        for k, flowable in enumerate(stack):
            height = flowable.wrapOn(None, width, 1e6)[1]
            if height > room:
                halves = flowable.splitOn(None, width, room) if room > 0 else []
                return here + halves[:1], [*(halves[1:] or [flowable]), *stack[k + 1 :]]
            here.append(flowable)
            room -= height
        return here, []

    def draw(self) -> None:
        """Each column from the top down; a rule above the block if it has one."""
        if self.rule is not None:
            self.canv.setStrokeColor(self.rule)
            self.canv.setLineWidth(0.6)
            self.canv.line(0, self.height, self.width, self.height)
        for x, width, stack in self.columns:
            y = self.height - self.pad
            for flowable in stack:
                y -= flowable.wrapOn(self.canv, width, 1e6)[1]
                flowable.drawOn(self.canv, x, y)


def heading(look: Look, text: str, size: float = NAME, keep: float = 32 * MM) -> list[Any]:
    """A heading that never stands at the foot of a page by itself."""
    return [CondPageBreak(keep), look.para(text, size, face="strong", spaceBefore=4 * MM), Spacer(1, 1.5 * MM)]


def swatch(look: Look, colour: str, width: float, height: float, letter: str = "") -> Room:
    """A filled box with a thin line around it, so that white shows on paper; its mix's letter below right in a white corner."""

    def draw(canvas: Any) -> None:
        canvas.setFillColor(look.colour(colour))
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.5)
        canvas.rect(0, 0, width, height, fill=1)
        if letter:
            plate(canvas, look, letter, width / 2, height / 2, min(READ, NOTE if height < 16 else READ))

    return Room(width, height, draw)


def plate(canvas: Any, look: Look, text: str, x: float, y: float, size: float = NOTE) -> None:
    """`text` centred on (x, y) on a small white plate: legible on any ground, in colour and in grey."""
    width = look.width(text, "strong", size) + 0.5 * size
    high = 1.02 * size
    canvas.setFillColor(look.colour(lk.PAPER_WHITE))
    canvas.roundRect(x - width / 2, y - high / 2, width, high, high * 0.36, stroke=0, fill=1)
    canvas.setFillColor(look.colour(lk.INK))
    canvas.setFont(lk.FACES["strong"], size)
    canvas.drawCentredString(x, y - 0.33 * size, text)


def _leader(canvas: Any, look: Look, tag: Tag, height: float) -> None:
    assert tag.anchor is not None
    (x, y), (ax, ay) = (tag.x, height - tag.y), (tag.anchor[0], height - tag.anchor[1])
    for colour, width in ((lk.PAPER_WHITE, 1.7), (lk.INK, 0.6)):
        canvas.setStrokeColor(look.colour(colour))
        canvas.setLineWidth(width)
        canvas.line(x, y, ax, ay)
    canvas.setFillColor(look.colour(lk.INK))
    canvas.setStrokeColor(look.colour(lk.PAPER_WHITE))
    canvas.setLineWidth(0.5)
    canvas.circle(ax, ay, 1.5, fill=1)


def numbered_picture(
    look: Look,
    image: Any,
    labels: np.ndarray,
    ids: Iterable[int],
    frame: tuple[float, float],
    size: float = NOTE,
) -> Room:
    """A picture with its areas' numbers as text, in a frame of that width and height at most."""
    plan = lay_out(labels, ids, frame, lambda i: look.width(str(i), "strong", size), size * 0.8)
    x0, y0, width, height = plan.picture
    top = min([y0, *(t.y - size * 0.6 for t in plan.tags)])
    low = max([y0 + height, *(t.y + size * 0.6 for t in plan.tags)])
    high = low - top

    def draw(canvas: Any) -> None:
        canvas.drawImage(ImageReader(image), x0, high - (y0 - top) - height, width, height)
        for tag in plan.tags:
            if tag.anchor:
                _leader(canvas, look, tag, high + top)
        for tag in plan.tags:
            plate(canvas, look, str(tag.id), tag.x, high + top - tag.y, size)

    return Room(frame[0], high, draw)


def tick_rows(look: Look, label: str, count: int, width: float) -> list[Room]:
    """Boxes to tick, one for each casting: numbered while they are few, in tens when they are many. A row each."""
    side, tens = (6.0 * MM, 2.0 * MM) if count <= 60 else (4.0 * MM, 2.5 * MM)
    lead = max(22 * MM, look.width(label, "body", READ) + 4 * MM)
    per_row = 10 * max(1, int((width - lead + tens) // (10 * side + tens)))
    starts = range(1, count + 1, per_row)
    return [_tick_row(look, label, range(s, min(s + per_row, count + 1)), side, tens, lead, count) for s in starts]


def _tick_row(look: Look, label: str, castings: range, side: float, tens: float, lead: float, count: int) -> Room:
    numbered = count <= 60
    high = side + 1.2 * MM

    def draw(canvas: Any) -> None:
        canvas.setFillColor(look.colour(lk.INK))
        canvas.setFont(lk.FACES["body"], READ if numbered or count == 1 else NOTE)
        base = high - side / 2 - 3.6
        canvas.drawString(0, base, label if castings.start == 1 else "")
        if not numbered:
            canvas.setFillColor(look.colour(lk.QUIET))
            canvas.drawRightString(lead - 4, base, f"{castings.start}" if castings.start > 1 else "")
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.6)
        for k, casting in enumerate(castings):
            x = lead + k * side + k // 10 * tens
            canvas.rect(x, high - side, side - 1.0 * MM, side - 1.0 * MM)
            if numbered and count > 1:
                canvas.setFillColor(look.colour("#8d887f"))
                canvas.setFont(lk.FACES["body"], NOTE)
                canvas.drawCentredString(x + (side - MM) / 2, high - side + (side - MM) / 2 - 3.1, str(casting))

    return Room(lead, high, draw)


def tick(look: Look, side: float = 4 * MM) -> Room:
    """One box to tick, in line with a line of 11 points."""

    def draw(canvas: Any) -> None:
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.6)
        canvas.rect(0, 0, side, side)

    return Room(side, side, draw)
