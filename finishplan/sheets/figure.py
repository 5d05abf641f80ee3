"""The figure on paper: its parts side by side as large as they can be, with numbers, or as they stand after a pass."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from finishplan.plan.plan import Painting
from finishplan.scheme.model import SchemePart
from finishplan.sheets import look as lk
from finishplan.sheets.look import NOTE, NUMBER, READ, Look
from finishplan.sheets.marks import plate
from finishplan.sheets.numbers import Tag, lay_out
from finishplan.sheets.page import Block, beside, lowered, stack
from finishplan.sheets.pictures import PartMap, Strokes, mixed, painted, part_map, smaller, stroked
from finishplan.sheets.stored import Stored, place

MAIN_PX, STEP_PX = 760, 260
"""Longest side of a part's numbered picture, and of the picture of one pass on it."""
QUIET_SHARE, QUIET_PAPER, QUIET_LINE = 0.66, "#e9e6df", "#a8a49b"
"""How far what is not painted in a pass fades, towards which colour, and the line around it."""


@dataclass(frozen=True, eq=False)
class Pictures:
    """The pictures of one painting, each made once."""

    plan: Painting
    look: Look
    _maps: dict[str, PartMap] = field(default_factory=dict)
    _steps: dict[tuple[int, str], Stored] = field(default_factory=dict)

    def prepare(self) -> "Pictures":
        """Make all of them, so that nothing waits for them later."""
        for part in self.plan.scheme.parts:
            self._make_steps(part)
        return self

    def main(self, part: SchemePart) -> PartMap:
        """The part at full size."""
        if part.name not in self._maps:
            self._maps[part.name] = part_map(self.plan.drawing, part.areas, MAIN_PX)
        return self._maps[part.name]

    def ratio(self, part: SchemePart) -> float:
        """Width over height of the part's pictures."""
        return self.main(part).ratio

    def longest(self, part: SchemePart) -> float:
        """The part's longer side, in pixels of the drawing."""
        left, top, right, bottom = self._box(part)
        return max(right - left, bottom - top)

    def _box(self, part: SchemePart) -> tuple[float, float, float, float]:
        boxes = [a.bbox for a in self.plan.drawing.areas if a.id in part.areas] or [(0.0, 0.0, 1.0, 1.0)]
        lefts, tops, rights, bottoms = zip(*boxes, strict=True)
        return min(lefts), min(tops), max(rights), max(bottoms)

    def final(self) -> dict[int, str]:
        """The colour of each area when all is done; bare ones show what lies under them."""
        colours = dict.fromkeys((a.id for a in self.plan.scheme.areas), self.plan.order.primer.hex)
        return colours | {i: self.plan.mixes[k].hex for i, k in self.plan.mix_of}

    def step(self, no: int, part: SchemePart) -> Stored:
        """The part as it stands after a pass: what the pass lays in full colour, lines to cut, to lap, dots."""
        if (no, part.name) not in self._steps:
            self._make_steps(part)
        return self._steps[no, part.name]

    def _make_steps(self, part: SchemePart) -> None:
        """All passes of a part, in order: each is painted over what was there."""
        small = smaller(self.main(part), STEP_PX)
        mixes = {m.id: m.hex for m in (*self.plan.mixes, *self.plan.order.extra_mixes)}
        colours = dict.fromkeys(part.areas, self.plan.order.primer.hex)
        main = {p.no: p.mix for p in self.plan.order.passes}
        for one in (p for p in self.plan.part_passes if p.part == part.name):
            now = {w.area: mixes[w.mix or main[one.pass_no]] for w in one.work}
            quiet = {i: mixed(c, QUIET_PAPER, QUIET_SHARE) for i, c in colours.items()}
            dots = frozenset(w.area for w in one.work if w.kind == "dot")
            strokes = Strokes(frozenset(now), frozenset(one.cut), frozenset(one.lap), dots)
            image = stroked(small, quiet | now, strokes, line=QUIET_LINE, grey=self.look.grey)
            self._steps[one.pass_no, part.name] = Stored(image)
            colours |= now


def picture(stored: Stored, size: tuple[float, float]) -> Block:
    """A stored picture at that width and height."""
    width, height = size
    return Block(width, height, lambda canvas, left, top: place(canvas, stored, left, top - height, width, height))


def shelves(sizes: Sequence[tuple[float, float]], frame: tuple[float, float]) -> list[list[tuple[int, float, float]]]:
    """Rows of (index, width, height): the things in order, all at the one scale at which they fit into the frame."""
    low, high = 0.0, max(frame[0] / max(w for w, _ in sizes), frame[1] / max(h for _, h in sizes))
    found = _rows(sizes, frame[0], low)
    for _ in range(24):
        scale = (low + high) / 2
        rows = _rows(sizes, frame[0], scale)
        fits = sum(max(h for _, _, h in row) for row in rows) <= frame[1]
        if fits and all(sum(w for _, w, _ in row) <= frame[0] + 1e-6 for row in rows):
            low, found = scale, rows
        else:
            high = scale
    return found


def _rows(sizes: Sequence[tuple[float, float]], width: float, scale: float) -> list[list[tuple[int, float, float]]]:
    rows: list[list[tuple[int, float, float]]] = []
    used = 0.0
    for k, (w, h) in enumerate(sizes):
        if not rows or used + w * scale > width + 1e-9:
            rows.append([])
            used = 0.0
        rows[-1].append((k, w * scale, h * scale))
        used += w * scale
    return rows


def after_pass(pictures: Pictures, no: int, frame: tuple[float, float]) -> Block:
    """The parts that a pass paints, as they stand after it, as large as the frame holds them."""
    parts = _painted_in(pictures, no)
    rows = []
    for row in shelves([_size(pictures, p) for p in parts], frame) if parts else []:
        deepest = max(h for _, _, h in row)
        cells = [(w, lowered(picture(pictures.step(no, parts[k]), (w, h)), (deepest - h) / 2)) for k, w, h in row]
        rows.append(_spread(cells, frame[0]))
    return stack(rows)


def inked(pictures: Pictures, no: int, frame: tuple[float, float]) -> float:
    """How much of a frame the pictures of a pass would fill."""
    sizes = [_size(pictures, p) for p in _painted_in(pictures, no)]
    return sum(w * h for row in (shelves(sizes, frame) if sizes and min(frame) > 0 else []) for _, w, h in row)


def _painted_in(pictures: Pictures, no: int) -> list[SchemePart]:
    names = {p.part for p in pictures.plan.part_passes if p.pass_no == no}
    return [p for p in pictures.plan.scheme.parts if p.name in names]


ABREAST = 4
"""Parts in one row of the numbered figure."""


def whole_figure(pictures: Pictures, frame: tuple[float, float]) -> Block:
    """All parts with their numbers in rows of up to ABREAST, as large as the frame holds them."""
    parts = pictures.plan.scheme.parts
    count = max(1, -(-len(parts) // ABREAST))
    each = -(-len(parts) // count)
    rows = [parts[k : k + each] for k in range(0, len(parts), each)]
    return stack(_numbered_row(pictures, row, (frame[0], frame[1] / len(rows))) for row in rows)


def _numbered_row(pictures: Pictures, parts: Sequence[SchemePart], frame: tuple[float, float]) -> Block:
    sizes = [_size(pictures, p) for p in parts]
    lanes = min(3.4 * pictures.look.width("00", "strong", NUMBER), frame[0] / (2 * len(parts)))
    scale = min((frame[0] - lanes * len(parts)) / sum(w for w, _ in sizes), frame[1] / max(h for _, h in sizes))
    widths = [w * scale + lanes for w, _ in sizes]
    blocks = [
        numbered(pictures, part, (w, frame[1]), (NUMBER, READ, NOTE)) for part, w in zip(parts, widths, strict=True)
    ]
    cells = [(w, lowered(b, (frame[1] - b.height) / 2)) for w, b in zip(widths, blocks, strict=True)]
    return _spread(cells, frame[0])


def _size(pictures: Pictures, part: SchemePart) -> tuple[float, float]:
    """Width and height of a part in a picture of several: small ones are shown larger than they are, to be seen."""
    ratio, longest = pictures.ratio(part), pictures.longest(part) ** 0.6
    return longest * min(1.0, ratio), longest * min(1.0, 1 / ratio)


def _spread(cells: Sequence[tuple[float, Block]], width: float) -> Block:
    """Blocks of these widths in a row, with equal room between them."""
    spare = (width - sum(w for w, _ in cells)) / (len(cells) + 1)
    x, row = spare, []
    for w, block in cells:
        row.append((x, block))
        x += w + spare
    return beside(*row)


def numbered(pictures: Pictures, part: SchemePart, frame: tuple[float, float], sizes: Iterable[float]) -> Block:
    """A part in its final colours with its areas' numbers, in the largest of these sizes that leaves it large."""
    look, main = pictures.look, pictures.main(part)
    final = pictures.final()
    ink = pictures.plan.drawing.ink or lk.INK
    ways = []
    for size in sizes:
        plan = lay_out(main.labels, part.areas, frame, partial(_wide, look, size), size * 0.8)
        ways.append((size, plan))
        if plan.picture[2] >= 0.38 * min(frame[0], frame[1] * main.ratio):
            break
    size, plan = max(ways, key=lambda way: way[1].picture[2])
    stored = Stored(painted(main, final, line=ink, grey=look.grey))
    x0, y0, width, height = plan.picture
    low = max([y0 + height, *(t.y + size * 0.6 for t in plan.tags)])
    high = min([y0, *(t.y - size * 0.6 for t in plan.tags)])

    def draw(canvas: Any, left: float, top: float) -> None:
        up = top + high
        place(canvas, stored, left + x0, up - y0 - height, width, height)
        for tag in plan.tags:
            if tag.anchor:
                _leader(canvas, look, tag, (left, up))
        for tag in plan.tags:
            plate(canvas, look, str(tag.id), (left + tag.x, up - tag.y), size)

    return Block(frame[0], low - high, draw)


def _wide(look: Look, size: float, area: int) -> float:
    return look.width(str(area), "strong", size)


def _leader(canvas: Any, look: Look, tag: Tag, origin: tuple[float, float]) -> None:
    assert tag.anchor is not None
    ends = (origin[0] + tag.x, origin[1] - tag.y, origin[0] + tag.anchor[0], origin[1] - tag.anchor[1])
    for colour, width in ((lk.PAPER_WHITE, 1.7), (lk.INK, 0.6)):
        canvas.setStrokeColor(look.colour(colour))
        canvas.setLineWidth(width)
        canvas.line(*ends)
    canvas.setFillColor(look.colour(lk.INK))
    canvas.setStrokeColor(look.colour(lk.PAPER_WHITE))
    canvas.setLineWidth(0.5)
    canvas.circle(*ends[2:], 1.5, fill=1)
