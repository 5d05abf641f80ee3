"""Building blocks of the sheets: columns side by side, tick boxes, swatches, numbered pictures, headings."""

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from reportlab.platypus import CondPageBreak, Spacer

from finishplan.paint.model import Ingredient
from finishplan.sheets import look as lk
from finishplan.sheets.columns import Columns
from finishplan.sheets.layout import FlowingSection, Room
from finishplan.sheets.look import MM, NAME, NOTE, READ, TITLE, Look
from finishplan.sheets.numbers import Tag, lay_out
from finishplan.sheets.stored import Stored, place
from finishplan.sheets.swatches import ingredient_name

if TYPE_CHECKING:
    from PIL.Image import Image


def heading(look: Look, text: str, size: float = NAME, keep: float = 32 * MM) -> list[Any]:
    """A heading that never stands at the foot of a page by itself."""
    return [CondPageBreak(keep), look.para(text, size, face="strong", spaceBefore=4 * MM), Spacer(1, 1.5 * MM)]


def title_here(look: Look, name: str, keep: float = 45 * MM) -> list[Any]:
    """A section with its title on the page at hand, where its first lines fit under it."""
    title = look.para(name, TITLE, face="heavy", spaceBefore=8 * MM)
    return [CondPageBreak(keep), FlowingSection(name), title, Spacer(1, 2 * MM)]


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


def ingredient_line(look: Look, ingredient: Ingredient) -> Any:
    """The ingredient's name with its Colour Index name, smaller, after it."""
    ci = "" if ingredient.premix or not ingredient.ci else ingredient.ci
    small = f' <font size="{NOTE:g}">{look.mark(ci)}</font>' if ci else ""
    return look.rich(look.mark(ingredient_name(ingredient)) + small)


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
    paint: "Callable[[], Image]",
    labels: np.ndarray,
    ids: Iterable[int],
    frame: tuple[float, float],
    size: float = NOTE,
) -> Room:
    """A picture with its areas' numbers as text, in a frame of that width and height at most."""
    stored = Stored(paint())
    plan = lay_out(labels, ids, frame, lambda i: look.width(str(i), "strong", size), size * 0.8)
    x0, y0, width, height = plan.picture
    top = min([y0, *(t.y - size * 0.6 for t in plan.tags)])
    low = max([y0 + height, *(t.y + size * 0.6 for t in plan.tags)])
    high = low - top

    def draw(canvas: Any) -> None:
        place(canvas, stored, x0, high - (y0 - top) - height, width, height)
        for tag in plan.tags:
            if tag.anchor:
                _leader(canvas, look, tag, high + top)
        for tag in plan.tags:
            plate(canvas, look, str(tag.id), tag.x, high + top - tag.y, size)

    return Room(frame[0], high, draw)


FEW = 30
"""Up to so many castings have a numbered box each; more have small boxes in tens."""


_BOX, _TENS = 5.2 * MM, 3.5 * MM
"""From box to box where each is numbered, and where they are many."""


def _lead(look: Look, labels: Sequence[str]) -> float:
    return max(look.width(label, "body", READ) for label in labels) + 2 * MM


def tick_rows(look: Look, label: str, count: int, width: float) -> list[Room]:
    """Boxes to tick, one for each casting, in rows `width` wide: numbered, or small and in tens where they are many."""
    few = count <= FEW
    side, group, gap = (_BOX, 5, 1 * MM) if few else (_TENS, 10, 2 * MM)
    lead = _lead(look, [label])
    groups = max(1, int((width - lead + gap) // (group * side + gap)))
    if lead + count * side + (count - 1) // group * gap <= width:
        groups = count
    starts = range(1, count + 1, groups * group)

    def row(start: int) -> Room:
        castings = range(start, min(start + groups * group, count + 1))
        lefts = [lead + (c - start) * side + (c - start) // group * gap for c in castings]
        return _tick_row(look, label if start == 1 else "", list(zip(castings, lefts, strict=True)), side, lead, count)

    return [row(s) for s in starts]


def coat_rows(look: Look, coats: Sequence[str], count: int, width: float) -> list[Any]:
    """Numbered boxes for each coat of each casting, coats side by side where they fit; for one casting one row."""
    if count == 1:
        return list(tick_rows(look, "coats" if len(coats) > 1 else coats[0], len(coats), width))
    cell = _lead(look, coats) + count * _BOX + (count - 1) // 5 * MM
    across = max(1, min(3, int(width // (cell + 4 * MM))))
    if across == 1:
        return [row for coat in coats for row in tick_rows(look, coat, count, width)]
    step = width / across
    rows = [coats[k : k + across] for k in range(0, len(coats), across)]
    cells = [[(n * step, step, list(tick_rows(look, c, count, step))) for n, c in enumerate(row)] for row in rows]
    return [Columns(row, 1e6) for row in cells]


def _tick_row(look: Look, label: str, boxes: Sequence[tuple[int, float]], side: float, lead: float, count: int) -> Room:
    box, high = side - 0.8 * MM, side + 0.7 * MM
    middle = high - side + box / 2

    def draw(canvas: Any) -> None:
        canvas.setFillColor(look.colour(lk.INK))
        canvas.setFont(lk.FACES["body"], READ)
        canvas.drawString(0, middle - 3.8, label)
        canvas.setFillColor(look.colour(lk.QUIET))
        canvas.setFont(lk.FACES["body"], NOTE)
        if not label and count > FEW:
            canvas.drawRightString(lead - 4, middle - 3.1, str(boxes[0][0]))
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.6)
        for casting, x in boxes:
            canvas.rect(x, high - side, box, box)
            if 1 < count <= FEW:
                canvas.drawCentredString(x + box / 2, middle - 3.1, str(casting))

    return Room(lead, high, draw)


def tick(look: Look, side: float = 4 * MM) -> Room:
    """One box to tick, in line with a line of 11 points."""

    def draw(canvas: Any) -> None:
        canvas.setStrokeColor(look.colour(lk.QUIET))
        canvas.setLineWidth(0.6)
        canvas.rect(0, 0, side, side)

    return Room(side, side, draw)
