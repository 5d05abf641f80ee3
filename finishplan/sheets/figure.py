"""The figure on paper: its parts side by side as large as they can be, with numbers, or as they stand after a pass."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import combinations, pairwise
from typing import Any

from finishplan.plan.plan import Painting
from finishplan.scheme.model import SchemePart
from finishplan.sheets import look as lk
from finishplan.sheets.look import NOTE, NUMBER, READ, Look
from finishplan.sheets.marks import plate
from finishplan.sheets.numbers import Numbered, Numerals, Room, Tag, lay_out, rooms
from finishplan.sheets.page import Block, beside, lowered, stack
from finishplan.sheets.pictures import PartMap, Strokes, closeup, mixed, painted, part_map, smaller, stroked
from finishplan.sheets.stored import Stored, place

MAIN_PX, STEP_PX = 760, 260
"""Longest side of a part's numbered picture, and of the picture of one pass on it."""
QUIET_SHARE, QUIET_PAPER, QUIET_LINE = 0.66, "#e9e6df", "#a8a49b"
"""How far what is not painted in a pass fades, towards which colour, and the line around it."""
SIZES = (NUMBER, READ, NOTE)
"""Of numbers, the best first (our layout)."""
SMALLER = {NUMBER: READ, READ: NOTE}
"""Size of a number that fits into its area so, and not in the usual one."""


@dataclass(frozen=True, eq=False)
class Pictures:
    """The pictures of one painting, each made once."""

    plan: Painting
    look: Look
    _maps: dict[str, PartMap] = field(default_factory=dict)
    _rooms: dict[str, dict[int, Room]] = field(default_factory=dict)
    _steps: dict[tuple[int, str], Stored] = field(default_factory=dict)
    _whole: set[tuple[int, str]] = field(default_factory=set)
    _done: dict[str, Stored] = field(default_factory=dict)

    def prepare(self) -> "Pictures":
        """Make all of them, so that nothing waits for them later."""
        for part in self.plan.scheme.parts:
            self._make_steps(part)
            self.done(part)
            self.rooms(part)
        return self

    def main(self, part: SchemePart) -> PartMap:
        """The part at full size."""
        if part.name not in self._maps:
            self._maps[part.name] = part_map(self.plan.drawing, part.areas, MAIN_PX)
        return self._maps[part.name]

    def rooms(self, part: SchemePart) -> dict[int, Room]:
        """Where the numbers of its areas may stand."""
        if part.name not in self._rooms:
            self._rooms[part.name] = rooms(self.main(part).labels, part.areas)
        return self._rooms[part.name]

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

    def done(self, part: SchemePart) -> Stored:
        """The part in its final colours."""
        if part.name not in self._done:
            line = self.plan.drawing.ink or lk.INK
            self._done[part.name] = Stored(painted(self.main(part), self.final(), line=line, grey=self.look.grey))
        return self._done[part.name]

    def step(self, no: int, part: SchemePart) -> Stored:
        """The part, or as much of it as is worked on, after a pass: what the pass lays in full colour, lines to cut, to
        lap, dots."""
        if (no, part.name) not in self._steps:
            self._make_steps(part)
        return self._steps[no, part.name]

    def shown(self, no: int, part: SchemePart, size: tuple[float, float]) -> Block:
        """That picture at this width and height, with a fine frame where it shows only some of the part."""
        inner = picture(self.step(no, part), size)
        if (no, part.name) in self._whole:
            return inner

        def draw(canvas: Any, left: float, top: float) -> None:
            inner.draw(canvas, left, top)
            canvas.setStrokeColor(self.look.colour(QUIET_LINE))
            canvas.setLineWidth(0.6)
            canvas.rect(left, top - size[1], *size)

        return Block(*size, draw)

    def _make_steps(self, part: SchemePart) -> None:
        """All passes of a part, in order: each is painted over what was there."""
        mixes = {m.id: m.hex for m in (*self.plan.mixes, *self.plan.order.extra_mixes)}
        colours = dict.fromkeys(part.areas, self.plan.order.primer.hex)
        main = {p.no: p.mix for p in self.plan.order.passes}
        for one in (p for p in self.plan.part_passes if p.part == part.name):
            now = {w.area: mixes[w.mix or main[one.pass_no]] for w in one.work}
            # Towards a warm grey: faded towards white, white paint would not be seen.
            quiet = {i: mixed(c, QUIET_PAPER, QUIET_SHARE) for i, c in colours.items()}
            dots = frozenset(w.area for w in one.work if w.kind == "dot")
            strokes = Strokes(frozenset(now), frozenset(one.cut), frozenset(one.lap), dots)
            # The map itself comes back where a close-up would show all of it.
            near = closeup(self.main(part), now)
            small = smaller(near, STEP_PX)
            if near is self.main(part):
                self._whole.add((one.pass_no, part.name))
            image = stroked(small, quiet | now, strokes, line=QUIET_LINE, grey=self.look.grey)
            self._steps[one.pass_no, part.name] = Stored(image)
            colours |= now


def picture(stored: Stored, size: tuple[float, float]) -> Block:
    """A stored picture at that width and height."""
    width, height = size
    return Block(width, height, lambda canvas, left, top: place(canvas, stored, (left, top - height), (width, height)))


def whole_figure(pictures: Pictures, frame: tuple[float, float], *, letters: bool = False) -> Block:
    """All parts with their numbers in columns of one or several, as large as the frame holds them. letters: instead of
    numbers the letters of the mixes, where they fit into their areas."""
    parts = pictures.plan.scheme.parts
    # Numbers may have to stand beside the parts, letters never do.
    lane = 0.0 if letters else min(4.2 * pictures.look.width("00", "strong", NUMBER), frame[0] / (2 * len(parts)))
    columns = columns_of([_size(pictures, p) for p in parts], frame, lane)
    cells = []
    for members, wide in columns:
        deep = sum(_size(pictures, parts[k])[1] for k in members)
        frames = [(parts[k], (wide, frame[1] * _size(pictures, parts[k])[1] / deep)) for k in members]
        shown = [(lettered(pictures, p, f) if letters else numbered(pictures, p, f, SIZES), f[1]) for p, f in frames]
        cells.append((wide, stack(_centred(block, high) for block, high in shown)))
    return _spread(cells, frame[0])


def columns_of(
    sizes: Sequence[tuple[float, float]], frame: tuple[float, float], lane: float
) -> list[tuple[range, float]]:
    """The columns, (indices, width), in which things in this order, each with a lane beside it, come out largest."""
    best: tuple[float, list[tuple[range, float]]] = (0.0, [])
    for starts in _cuts(len(sizes)):
        groups = [range(a, b) for a, b in pairwise((*starts, len(sizes)))]
        widths = [max(sizes[k][0] for k in g) for g in groups]
        deepest = max(sum(sizes[k][1] for k in g) for g in groups)
        scale = min((frame[0] - lane * len(groups)) / sum(widths), frame[1] / deepest)
        if scale > best[0]:
            # What a column could still grow until it is as deep as the frame: spare width goes there first, in
            # proportion; what is left goes to all alike.
            own = [frame[1] / sum(sizes[k][1] for k in g) - scale for g in groups]
            more = [w * s for w, s in zip(widths, own, strict=True)]
            spare = frame[0] - lane * len(groups) - scale * sum(widths)
            part = min(1.0, spare / sum(more)) if sum(more) > 1e-9 else 0.0
            rest = lane + (spare - part * sum(more)) / len(groups)
            best = scale, [(g, w * scale + part * m + rest) for g, w, m in zip(groups, widths, more, strict=True)]
    return best[1]


def _cuts(count: int) -> Iterable[tuple[int, ...]]:
    """Where columns may begin: all ways of few things, equal shares of many."""
    # There are 2^(n - 1) ways: too many to try for more.
    if count > 10:
        return [tuple(range(0, count, each)) for each in range(1, count + 1)]
    return [(0, *c) for n in range(count) for c in combinations(range(1, count), n)]


def _centred(block: Block, high: float) -> Block:
    return Block(block.width, high, lowered(block, (high - block.height) / 2).draw)


def _size(pictures: Pictures, part: SchemePart) -> tuple[float, float]:
    """Width and height of a part in a picture of several: small ones, and those of many areas, are shown larger than
    they are, to be seen."""
    ratio, longest = pictures.ratio(part), pictures.longest(part) ** 0.6 * (1 + len(part.areas)) ** 0.3
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
    ways = []
    for size in sizes:
        small = SMALLER.get(size, size)
        kind = Numerals(partial(_wide, look, size), size * 0.8, small / size)
        plan = lay_out(main.labels, pictures.rooms(part), frame, kind)
        ways.append((size, plan))
        if plan.picture[2] >= 0.38 * min(frame[0], frame[1] * main.ratio):
            break
    # If no size leaves it large, the one that leaves it largest.
    size, plan = max(ways, key=lambda way: way[1].picture[2])
    return _tagged(pictures, part, (frame[0], size), plan, {i: str(i) for i in part.areas})


def lettered(pictures: Pictures, part: SchemePart, frame: tuple[float, float]) -> Block:
    """A part in its final colours, with the letters of the mixes on the areas that are large enough for them."""
    look, mixes = pictures.look, pictures.plan.mixes
    texts = {i: mixes[k].id for i, k in pictures.plan.mix_of if i in part.areas}
    kind = Numerals(lambda i: look.width(texts[i], "strong", READ), READ * 0.8, NOTE / READ, leaders=False)
    shown = {i: room for i, room in pictures.rooms(part).items() if i in texts}
    plan = lay_out(pictures.main(part).labels, shown, frame, kind)
    return _tagged(pictures, part, (frame[0], READ), plan, texts)


def _tagged(
    pictures: Pictures, part: SchemePart, widths: tuple[float, float], plan: Numbered, texts: Mapping[int, str]
) -> Block:
    """The part's picture with its tags. widths: of the block, and the size of the letters."""
    (wide, size), look = widths, pictures.look
    stored = pictures.done(part)
    x0, y0, width, height = plan.picture
    # Columns of numbers may reach higher and lower than the part.
    low = max([y0 + height, *(t.y + size * 0.6 for t in plan.tags)])
    high = min([y0, *(t.y - size * 0.6 for t in plan.tags)])

    def draw(canvas: Any, left: float, top: float) -> None:
        up = top + high
        place(canvas, stored, (left + x0, up - y0 - height), (width, height))
        for tag in plan.tags:
            if tag.anchor:
                _leader(canvas, look, tag, (left, up))
        # Plates after all lines, whose ends they cover.
        for tag in plan.tags:
            plate(
                canvas, look, texts[tag.id], (left + tag.x, up - tag.y), SMALLER.get(size, size) if tag.small else size
            )

    return Block(wide, low - high, draw)


def _wide(look: Look, size: float, area: int) -> float:
    return look.width(str(area), "strong", size)


def _leader(canvas: Any, look: Look, tag: Tag, origin: tuple[float, float]) -> None:
    assert tag.anchor is not None
    ends = (origin[0] + tag.x, origin[1] - tag.y, origin[0] + tag.anchor[0], origin[1] - tag.anchor[1])
    # Dark on a wider white, to be seen on any colour.
    for colour, width in ((lk.PAPER_WHITE, 1.7), (lk.INK, 0.6)):
        canvas.setStrokeColor(look.colour(colour))
        canvas.setLineWidth(width)
        canvas.line(*ends)
    canvas.setFillColor(look.colour(lk.INK))
    canvas.setStrokeColor(look.colour(lk.PAPER_WHITE))
    canvas.setLineWidth(0.5)
    canvas.circle(*ends[2:], 1.5, fill=1)
