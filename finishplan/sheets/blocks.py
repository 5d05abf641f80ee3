"""Building blocks of the sheets: columns side by side, tick boxes, swatches, numbered pictures, headings."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from reportlab.lib.utils import ImageReader
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from finishplan.paint.model import Ingredient
from finishplan.sheets import look as lk
from finishplan.sheets.layout import Room
from finishplan.sheets.look import MM, NAME, NOTE, READ, Look
from finishplan.sheets.numbers import Tag, lay_out
from finishplan.sheets.swatches import ingredient_name

Column = tuple[float, float, list[Any]]
"""Left edge, width, what stands in it."""

_KEEP = 0.45
"""Columns that reach over more than this share of a page may be cut in two there."""


class Columns(Flowable):  # type: ignore[misc]
    """Columns side by side, kept together while they fit on one page, else cut where the page ends."""

    def __init__(
        self,
        columns: Sequence[Column],
        page_depth: float,
        *,
        rule: Any = None,
        pad: float = 0.0,
        least: float | None = None,
    ) -> None:
        super().__init__()
        self.columns, self.page_depth, self.rule, self.pad = columns, page_depth, rule, pad
        self.least = _KEEP * page_depth if least is None else least
        self.width: float = max((x + w for x, w, _ in columns), default=0.0)
        self.height: float = 0.0

    def _height(self, width: float, stack: Sequence[Any]) -> float:
        return float(sum(f.wrapOn(None, width, 1e6)[1] + f.getSpaceAfter() for f in stack))

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """As high as the highest column."""
        if not self.height:
            self.height = 2 * self.pad + max((self._height(w, stack) for _, w, stack in self.columns), default=0.0)
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Any]:
        """Nothing while the whole fits on a page of its own, else the part that fits here and the rest."""
        height = self.wrap(available_width, available_height)[1]
        if height <= self.page_depth or available_height < self.least:
            return []
        now: list[Column] = []
        later: list[Column] = []
        for x, width, stack in self.columns:
            here, rest = self._cut(width, stack, available_height - 2 * self.pad)
            now.append((x, width, here))
            later.append((x, width, rest))
        more = {"rule": self.rule, "pad": self.pad, "least": self.least}
        return [Columns(now, self.page_depth, **more), Columns(later, self.page_depth, **more)]

    def _cut(self, width: float, stack: Sequence[Any], room: float) -> tuple[list[Any], list[Any]]:
        here: list[Any] = []
        for k, flowable in enumerate(stack):
            height = flowable.wrapOn(None, width, 1e6)[1]
            if height > room + 0.01:
                halves = flowable.splitOn(None, width, room) if room > 0 else []
                return here + halves[:1], [*(halves[1:] or [flowable]), *stack[k + 1 :]]
            here.append(flowable)
            room -= height + flowable.getSpaceAfter()
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
                y -= flowable.getSpaceAfter()


def heading(look: Look, text: str, size: float = NAME, keep: float = 32 * MM) -> list[Any]:
    """A heading that never stands at the foot of a page by itself."""
    return [CondPageBreak(keep), look.para(text, size, face="strong", spaceBefore=4 * MM), Spacer(1, 1.5 * MM)]


def swatch(look: Look, colour: str, width: float, height: float, letter: str = "") -> Room:
    """A filled box with a thin line around it, so that white shows on paper, and its mix's letter on a plate."""

    def draw(canvas: Any) -> None:
        canvas.setFillColor(look.colour(colour))
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.5)
        canvas.rect(0, 0, width, height, fill=1)
        if letter:
            plate(canvas, look, letter, width / 2, height / 2, min(READ, NOTE if height < 16 else READ))

    return Room(width, height, draw)


def beside_swatch(look: Look, colour: str, width: float, words: list[Any]) -> Columns:
    """A square swatch and, to its right, what it is."""
    side, gap = 12 * MM, 3 * MM
    return Columns([(0, side, [swatch(look, colour, side, side)]), (side + gap, width - side - gap, words)], look.depth)


def ingredient_line(look: Look, ingredient: Ingredient, names: Mapping[str, str]) -> Any:
    """The ingredient's name with its Colour Index name, smaller, after it."""
    ci = "" if ingredient.premix or not ingredient.ci else ingredient.ci
    small = f' <font size="{NOTE:g}">{look.mark(ci)}</font>' if ci else ""
    return look.rich(look.mark(ingredient_name(ingredient, names)) + small)


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


FEW = 30
"""Up to so many castings have a numbered box each; more have small boxes in tens."""


def tick_rows(look: Look, label: str, count: int, width: float) -> list[Room]:
    """Boxes to tick, one for each casting, in rows `width` wide: numbered, or small and in tens where they are many."""
    few = count <= FEW
    side, group, gap = (5.6 * MM, 5, 1.2 * MM) if few else (3.5 * MM, 10, 2 * MM)
    lead = max(15 * MM, look.width(label, "body", READ) + 3 * MM)
    groups = max(1, int((width - lead + gap) // (group * side + gap)))
    starts = range(1, count + 1, groups * group)

    def row(start: int) -> Room:
        castings = range(start, min(start + groups * group, count + 1))
        lefts = [lead + (c - start) * side + (c - start) // group * gap for c in castings]
        return _tick_row(look, label if start == 1 else "", list(zip(castings, lefts, strict=True)), side, lead, count)

    return [row(s) for s in starts]


def _tick_row(look: Look, label: str, boxes: Sequence[tuple[int, float]], side: float, lead: float, count: int) -> Room:
    box, high = side - 0.8 * MM, side + 0.7 * MM
    middle = high - side + box / 2

    def draw(canvas: Any) -> None:
        canvas.setFillColor(look.colour(lk.INK))
        canvas.setFont(lk.FACES["body"], READ)
        canvas.drawString(0, middle - 3.8, label)
        canvas.setFillColor(look.colour(lk.QUIET))
        canvas.setFont(lk.FACES["body"], NOTE)
        if not label:
            canvas.drawRightString(lead - 4, middle - 3.1, str(boxes[0][0]))
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.6)
        for casting, x in boxes:
            canvas.rect(x, high - side, box, box)
            if 1 < count <= FEW:
                canvas.drawCentredString(x + box / 2, middle - 3.1, str(casting))

    return Room(lead, high, draw)


def two_columns(look: Look, items: Sequence[Any], gap: float = 6 * MM) -> list[Any]:
    """Items down the left half of the measure, then down the right, in blocks that fit on what is left of a page."""
    half = (look.measure - gap) / 2
    heights = [item.wrapOn(None, half, 1e6)[1] + item.getSpaceAfter() for item in items]
    blocks: list[Any] = []
    while items:
        count = len(items)
        while count > 2 and sum(heights[:count]) > 1.9 * look.depth:
            count -= 2
        total, left = 0.0, 0
        while left < count and total < sum(heights[:count]) / 2:
            total += heights[left]
            left += 1
        columns = [(0.0, half, list(items[:left])), (half + gap, half, list(items[left:count]))]
        blocks.append(Columns(columns, 0.0, least=24 * MM))
        items, heights = items[count:], heights[count:]
    return blocks


def tick(look: Look, side: float = 4 * MM) -> Room:
    """One box to tick, in line with a line of 11 points."""

    def draw(canvas: Any) -> None:
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.6)
        canvas.rect(0, 0, side, side)

    return Room(side, side, draw)
