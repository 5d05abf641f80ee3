"""Blocks and pages: a block is a drawn thing of a known size, a page is blocks at their places on the grid."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

from finishplan.sheets import look as lk
from finishplan.sheets.look import LINE, READ, Look


@dataclass(frozen=True, eq=False)
class Block:
    """A thing to print. draw: (canvas, left, top) paints it; y grows upwards."""

    width: float
    height: float
    draw: Callable[[Any, float, float], None]


@dataclass(frozen=True, eq=False)
class Placed:
    """A block and where its upper left corner stands on the page."""

    block: Block
    left: float
    top: float


@dataclass(frozen=True, eq=False)
class Page:
    """One page. sections: what begins or goes on here, the first for the running head; bare: no running head; cards:
    to be cut apart, so that no foot stands there either."""

    sections: tuple[str, ...]
    placed: tuple[Placed, ...]
    bare: bool = False
    cards: bool = False

    @property
    def lowest(self) -> float:
        """Height of the lowest thing's lower edge."""
        return min((p.top - p.block.height for p in self.placed), default=0.0)


CLOSER = (0.94, 0.89)
"""How much smaller a section may be drawn so as not to begin another page: notes of 8 points can still be read."""
LITTLE = 0.3
"""Share of a page's depth: a last page that holds no more is worth drawing the section smaller."""


def sparing(make: Callable[[Look], list[Page]], look: Look) -> list[Page]:
    """The pages of a section; drawn a little smaller where that spares a last page of a few lines."""
    pages = make(look)
    if len(pages) < 2 or look.top - pages[-1].lowest > LITTLE * look.depth:
        return pages
    for share in CLOSER:
        # Laid out anew, not shrunk as it is: lines are broken for the wider measure.
        closer = make(replace(look, closer=share))
        if len(closer) < len(pages):
            return [replace(p, placed=tuple(_smaller(one, share) for one in p.placed)) for p in closer]
    return pages


def smaller(block: Block, share: float) -> Block:
    """The block, all of it drawn so much smaller."""

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.saveState()
        canvas.translate(left, top)
        canvas.scale(share, share)
        block.draw(canvas, 0.0, 0.0)
        canvas.restoreState()

    return Block(share * block.width, share * block.height, draw)


def _smaller(one: Placed, share: float) -> Placed:
    """What is laid out for a look so much closer, as it stands on the paper."""
    block = smaller(one.block, share)
    return Placed(block, lk.MARGIN + share * (one.left - lk.MARGIN), lk.FOOT + share * (one.top - lk.FOOT))


def words(look: Look, text: str, width: float, size: float = READ, **more: Any) -> Block:
    """Text of one face, broken to the width. more: colour, face, and what a paragraph style takes."""
    return _set(look.para(text, size, **more), width)


def tight(look: Look, text: str, width: float, **more: Any) -> Block:
    """Text of 11 points on close lines, as in tiles."""
    return words(look, text, width, READ, leading=3.5 * LINE, **more)


def rich(look: Look, markup: str, width: float, size: float = READ, **more: Any) -> Block:
    """Text of several faces, as `Look.mark` makes them."""
    return _set(look.rich(markup, size, **more), width)


def _set(para: Any, width: float) -> Block:
    # As high as it comes: a block is never parted.
    _, height = para.wrap(width, 1e6)

    def draw(canvas: Any, left: float, top: float) -> None:
        para.drawOn(canvas, left, top - height)

    return Block(width, float(height), draw)


def gap(height: float) -> Block:
    """Empty paper."""
    return Block(0.0, height, lambda canvas, left, top: None)


def stack(blocks: Iterable[Block], pad: float = 0.0) -> Block:
    """Blocks under one another, `pad` between them."""
    all_ = list(blocks)
    height = sum(b.height for b in all_) + pad * max(len(all_) - 1, 0)

    def draw(canvas: Any, left: float, top: float) -> None:
        for b in all_:
            b.draw(canvas, left, top)
            top -= b.height + pad

    return Block(max((b.width for b in all_), default=0.0), height, draw)


def beside(*columns: tuple[float, Block]) -> Block:
    """Blocks side by side. columns: (left edge, block)."""
    width = max((x + b.width for x, b in columns), default=0.0)

    def draw(canvas: Any, left: float, top: float) -> None:
        for x, b in columns:
            b.draw(canvas, left + x, top)

    return Block(width, max((b.height for _, b in columns), default=0.0), draw)


def wrapped(items: Sequence[Block], width: float) -> Block:
    """Blocks in a line, in as many lines as they take."""
    lines: list[list[tuple[float, Block]]] = [[]]
    x = 0.0
    for item in items:
        if lines[-1] and x + item.width > width:
            lines.append([])
            x = 0.0
        lines[-1].append((x, item))
        x += item.width
    return stack((beside(*line) for line in lines), LINE)


def lowered(block: Block, by: float) -> Block:
    """The block with so much empty paper over it."""
    return Block(block.width, block.height + by, lambda canvas, left, top: block.draw(canvas, left, top - by))


def snapped(block: Block, pad: float = 0.0) -> Block:
    """The block with its height rounded up to the grid of lines, after `pad` below."""
    return Block(block.width, ceil((block.height + pad) / LINE - 1e-6) * LINE, block.draw)


def ruled(look: Look, block: Block, width: float, pad: float = LINE) -> Block:
    """The block under a thin line over the width."""

    def draw(canvas: Any, left: float, top: float) -> None:
        canvas.setStrokeColor(look.colour(lk.RULE))
        canvas.setLineWidth(0.6)
        canvas.line(left, top, left + width, top)
        block.draw(canvas, left, top - pad)

    return snapped(Block(width, block.height + pad, draw), pad)


def filled(blocks: Sequence[Block], depth: float, count: int) -> list[int]:
    """How many blocks stand up to the end of each of `count` columns that deep; a column takes one block at least."""
    ends, k = [], 0
    for _ in range(count):
        # 0.01: heights are sums of fractions, and what just fills a column must not fall out of it.
        room, first = depth + 0.01, k
        while k < len(blocks) and (blocks[k].height <= room or k == first):
            room -= blocks[k].height
            k += 1
        ends.append(k)
    return ends


def in_columns(blocks: Sequence[Block], count: int, width: float) -> Block:
    """A list read down one column before the next, balanced."""
    if not blocks:
        return gap(0.0)
    heights = [b.height for b in blocks]
    depth = max(max(heights), sum(heights) / count)
    while (ends := filled(blocks, depth, count))[-1] < len(blocks):
        # The next depth worth trying: the least at which some column takes one block more.
        depth = min(sum(heights[a : b + 1]) for a, b in zip([0, *ends], ends, strict=False) if b < len(blocks))
    step = (width + lk.GUTTER) / count
    return beside(*((n * step, stack(blocks[a:b])) for n, (a, b) in enumerate(zip([0, *ends], ends, strict=False))))


def pages_of(
    look: Look, section: str, blocks: Sequence[Block], count: int = 1, title: Block | None = None
) -> list[Page]:
    """Blocks in `count` columns down the pages of a section, under its title; the last page's columns are balanced."""
    pages, left = list[Page](), list(blocks)
    top = look.top
    while left or not pages:
        head = [Placed(title, lk.MARGIN, top)] if title and not pages else []
        start = top - (title.height if head and title else 0.0)
        depth = start - look.bottom
        ends = filled(left, depth, count)
        # Only the last page is balanced: those before it are full, column by column.
        if ends[-1] == len(left):
            body = [Placed(in_columns(left, count, look.measure), lk.MARGIN, start)]
        else:
            step = (look.measure + lk.GUTTER) / count
            cuts = zip([0, *ends], ends, strict=False)
            body = [Placed(stack(left[a:b]), lk.MARGIN + n * step, start) for n, (a, b) in enumerate(cuts)]
        pages.append(Page((section,), (*head, *body)))
        left = left[ends[-1] :]
    return pages
