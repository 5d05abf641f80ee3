"""Pictures of the drawing: parts as they look at one moment, the numbered drawing, the palette."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from finishplan.drawing.components import boxes
from finishplan.drawing.model import Drawing
from finishplan.sheets import look as lk
from finishplan.sheets.letters import Face, font_file
from finishplan.sheets.numbers import Numbered, Numerals, lay_out, rooms
from finishplan.sheets.rim import Rim, draw_rim

if TYPE_CHECKING:
    from PIL.Image import Image

    from finishplan.paint.model import Mix
    from finishplan.scheme.model import Scheme

SUPER = 2
"""Each pixel of a picture is the mean of SUPER x SUPER drawn ones."""

ROUND_ABOUT = 40
"""A picture has one such part of its longer side as room around the areas (our layout)."""

LEAST_SHOWN = 0.5
"""Share of a part's height and width that a picture of the work on it shows at least."""

RGB = tuple[int, int, int]


@dataclass(frozen=True, eq=False)
class PartMap:
    """Areas of one part, cropped, at SUPER times the pixels of its pictures.

    labels: (H, W) unsigned, of the fewest bytes that hold twice the areas (these maps are large), 0 outside; ink:
    (H, W) bool.
    """

    labels: np.ndarray
    ink: np.ndarray

    @cached_property
    def boxes(self) -> list[tuple[slice, slice]]:
        """Rows and columns of each area from 1 on; an area that is not there ends at 0."""
        return boxes(self.labels, int(self.labels.max(initial=0)))

    @property
    def ratio(self) -> float:
        """Width over height."""
        return float(self.labels.shape[1] / self.labels.shape[0])

    @cached_property
    def meets(self) -> tuple[np.ndarray, np.ndarray]:
        """(n,) pixels, row by row, whose left or upper neighbour has another label, and the (n, 2) two labels."""
        flat, wide = self.labels.ravel(), self.labels.shape[1]
        along, down = np.zeros(self.labels.shape, bool), np.zeros(self.labels.shape, bool)
        np.not_equal(self.labels[:, 1:], self.labels[:, :-1], out=along[:, 1:])
        np.not_equal(self.labels[1:], self.labels[:-1], out=down[1:])
        here = [np.flatnonzero(differ) for differ in (along, down)]
        pairs = [np.stack([flat[at], flat[at - back]], 1) for at, back in zip(here, (1, wide), strict=True)]
        return np.concatenate(here), np.concatenate(pairs)


def rgb(hex_colour: str) -> RGB:
    """'#rrggbb' as three numbers 0-255."""
    return int(hex_colour[1:3], 16), int(hex_colour[3:5], 16), int(hex_colour[5:7], 16)


def mixed(hex_colour: str, other: str, share: float) -> str:
    """`share` of the way from one screen colour to another, for quiet tints."""
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in zip(rgb(hex_colour), rgb(other), strict=True))


def _twice(grid: np.ndarray) -> np.ndarray:
    """The map at twice the size, stair-steps filled: a corner takes its two neighbours' value where they agree."""
    p = np.pad(grid, 1, mode="edge")
    up, down, left, right = p[:-2, 1:-1], p[2:, 1:-1], p[1:-1, :-2], p[1:-1, 2:]
    # Scale2x: needs no colours between two labels, which there are not.
    big = grid.repeat(2, 1).repeat(2, 0)
    for row, col, v, h, v2, h2 in (
        (0, 0, up, left, down, right),
        (0, 1, up, right, down, left),
        (1, 0, down, left, up, right),
        (1, 1, down, right, up, left),
    ):
        np.copyto(big[row::2, col::2], v, where=(v == h) & (v != h2) & (h != v2))
    return big


def _sampled(grid: np.ndarray, longest: int) -> np.ndarray:
    """The map at `longest` pixels, each the value of the nearest one."""
    scale = longest / max(grid.shape)
    rows, cols = (
        np.minimum(((np.arange(max(SUPER, round(n * scale))) + 0.5) / scale).astype(np.intp), n - 1) for n in grid.shape
    )
    sampled: np.ndarray = grid[rows].take(cols, 1)
    return sampled


def _parted(both: np.ndarray) -> PartMap:
    """The map of twice the label, plus one on drawn lines, cut to whole pixels of a picture."""
    both = both[: both.shape[0] // SUPER * SUPER, : both.shape[1] // SUPER * SUPER]
    return PartMap(both >> 1, (both & 1).astype(bool))


def part_map(drawing: Drawing, areas: Iterable[int], longest_px: int) -> PartMap:
    """The areas cropped out of the drawing with a little room around, for pictures `longest_px` long."""
    inside = _kept(drawing, areas)
    box = _box(inside)
    if box is None:
        # A part of which the drawing shows nothing still has a picture.
        return PartMap(np.zeros((8, 8), np.uint8), np.zeros((8, 8), bool))
    # Labels and lines in one map, so that both are enlarged and cut alike.
    both = np.where(inside[box], drawing.labels[box] * 2 + drawing.ink_mask[box], 0)
    both = both.astype(np.min_scalar_type(2 * (int(drawing.labels.max()) + 1)))
    # Doubling rounds the corners of pixels; sampling alone would only enlarge their steps.
    while 1.5 * max(both.shape) < longest_px * SUPER:
        both = _twice(both)
    both = np.pad(_sampled(both, longest_px * SUPER), longest_px * SUPER // ROUND_ABOUT)
    return _parted(both)


def _kept(drawing: Drawing, areas: Iterable[int]) -> np.ndarray:
    kept = np.zeros(int(drawing.labels.max()) + 1, bool)
    kept[[i for i in areas if 0 < i < len(kept)]] = True
    inside: np.ndarray = kept[drawing.labels]
    return inside


def _box(inside: np.ndarray) -> tuple[slice, slice] | None:
    """Rows and columns of what is inside, None for nothing."""
    rows, cols = np.nonzero(inside.any(1))[0], np.nonzero(inside.any(0))[0]
    return np.s_[rows[0] : rows[-1] + 1, cols[0] : cols[-1] + 1] if len(rows) else None


def smaller(part: PartMap, longest_px: int) -> PartMap:
    """The same part for pictures `longest_px` long."""
    both = _sampled(part.labels * 2 + part.ink, longest_px * SUPER)
    return _parted(both)


def _grown(mask: np.ndarray, radius: int) -> np.ndarray:
    """`mask` dilated by about `radius` pixels, crosses and squares in turn so that corners stay round."""
    import cv2

    grown: np.ndarray = mask.astype(np.uint8)
    for k in range(radius if mask.any() else 0):
        grown = cv2.dilate(grown, cv2.getStructuringElement(cv2.MORPH_RECT if k % 2 else cv2.MORPH_CROSS, (3, 3)))
    return grown.astype(bool)


@dataclass(frozen=True)
class Strokes:
    """What one pass does to a part. areas: laid now; cut, lap: (lower, higher) ids of the areas whose edge is cut, is
    lapped over; dots: areas that are dotted on."""

    areas: frozenset[int]
    cut: frozenset[tuple[int, int]]
    lap: frozenset[tuple[int, int]]
    dots: frozenset[int] = frozenset()


def painted(part: PartMap, colours: Mapping[int, str], *, line: str = lk.INK, grey: bool = False) -> "Image":
    """The part with each area in its colour ('#rrggbb'), on white, drawn lines in `line`."""
    marks = (part.ink | _borders(part)).astype(np.uint8)
    return _image(part, marks, colours, [line], grey)


def stroked(
    part: PartMap, colours: Mapping[int, str], strokes: Strokes, *, line: str = lk.INK, grey: bool = False
) -> "Image":
    """The part as painted in one pass: the drawing's lines thin and quiet, a soft dashed band where it laps over, a
    firm line with white along both sides, to be seen on any colour, where it is cut, a ringed dot where one is set."""
    unit = max(part.labels.shape) / 100
    wanted = np.zeros(int(part.labels.max(initial=0)) + 1, bool)
    wanted[[i for i in strokes.areas if i < len(wanted)]] = True
    laid = wanted[part.labels]
    marks = (part.ink | _borders(part)).astype(np.uint8)
    dash = max(2, round(3 * unit))
    # Only outside what is laid: there the paint runs over the line.
    soft = _grown(_edge(part, strokes.lap), max(2, round(2.2 * unit))) & ~laid & (part.labels > 0)
    y, x = _places(soft)
    # Slanting stripes, so that a border in any direction is dashed.
    marks[y, x] = np.where((x + y) // dash % 2 == 0, 3, 2)
    # White first, then the narrower dark line in its middle; both cover what was marked before.
    cut = _edge(part, strokes.cut)
    marks[_grown(cut, max(3, round(2.6 * unit)))] = 4
    marks[_grown(cut, max(2, round(1.5 * unit)))] = 5
    labels = part.labels
    for area in sorted(strokes.dots):
        labels, marks = _dotted(labels, marks, area, max(4, round(3 * unit)))
    seen = PartMap(labels, part.ink)
    return _image(seen, marks, colours, [line, "#f4f1ea", "#8a8479", lk.PAPER_WHITE, lk.INK], grey)


def closeup(part: PartMap, areas: Iterable[int]) -> PartMap:
    """The part around these areas, a fifth of them more on each side, never less than LEAST_SHOWN of the part each
    way, so that one sees where on it that is."""
    found = [part.boxes[i - 1] for i in areas if 0 < i <= len(part.boxes) and part.boxes[i - 1][0].stop]
    if not found:
        return part
    ends = ((min(s.start for s in side), max(s.stop for s in side)) for side in zip(*found, strict=True))
    box = tuple(_around(at, size) for at, size in zip(ends, part.labels.shape, strict=True))
    near = PartMap(part.labels[box], part.ink[box])
    return part if near.labels.shape == part.labels.shape else near


def _around(ends: tuple[int, int], size: int) -> slice:
    """The stretch of 0..size about what begins and ends there."""
    low, high = ends
    spare = max((high - low) / 5, (LEAST_SHOWN * size - (high - low)) / 2)
    start = max(0, min(round(low - spare), size - round(high - low + 2 * spare)))
    return slice(start, min(size, start + round(high - low + 2 * spare)))


def _dotted(labels: np.ndarray, marks: np.ndarray, area: int, radius: int) -> tuple[np.ndarray, np.ndarray]:
    """The area as a round dot of that radius at least, ringed, so that a small one is seen."""
    rows, cols = np.nonzero(labels == area)
    if not len(rows):
        return labels, marks
    # A pixel of the area itself: the middle of a bent one may lie outside it.
    middle = np.argmin((rows - rows.mean()) ** 2 + (cols - cols.mean()) ** 2)
    y, x = np.ogrid[: labels.shape[0], : labels.shape[1]]
    far = np.hypot(y - rows[middle], x - cols[middle])
    labels, marks = labels.copy(), marks.copy()
    marks[far <= radius + max(2, radius // 3)] = 5
    marks[(far <= radius) | (labels == area)] = 0
    labels[far <= radius] = area
    return labels, marks


def _image(part: PartMap, marks: np.ndarray, colours: Mapping[int, str], lines: Sequence[str], grey: bool) -> "Image":
    """Areas in their colours, marks 1, 2 ... in the colours of the lines, at the size of a picture."""
    from PIL import Image

    first = int(part.labels.max()) + 1
    table = np.full((first + len(lines), 3), rgb(lk.PAPER_WHITE), np.uint8)
    here = {i: c for i, c in colours.items() if i < first} | {first + k: c for k, c in enumerate(lines)}
    for i, colour in here.items():
        table[i] = (lk.grey_of(colour),) * 3 if grey else rgb(colour)
    small = np.min_scalar_type(len(table) - 1)
    # Marks come after the areas in one table of colours.
    index = np.where(marks, marks.astype(small) + small.type(first - 1), part.labels.astype(small, copy=False))
    corners = [index[y::SUPER, x::SUPER] for y in range(SUPER) for x in range(SUPER)]
    pixels = table.take(corners[0], axis=0)
    # Most pixels lie in one colour: the mean is taken of the others.
    several = _places(np.logical_or.reduce([corner != corners[0] for corner in corners[1:]]))
    total = sum(table[corner[several]].astype(np.uint16) for corner in corners)
    pixels[several] = (total + SUPER**2 // 2) // SUPER**2
    image = Image.fromarray(pixels)
    # Red, green and blue are the same.
    return image.getchannel("R") if grey else image


def _places(mask: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rows and columns of what is True: as `nonzero`, several times as quick where little is."""
    rows, cols = np.divmod(np.flatnonzero(mask), mask.shape[1])
    return rows, cols


def _edge(part: PartMap, pairs: Iterable[tuple[int, int]]) -> np.ndarray:
    """Where areas of these pairs, in ascending order, touch."""
    size = int(part.labels.max(initial=0)) + 1
    pixels, meet = part.meets
    wanted = np.zeros((size, size), bool)
    for pair in pairs:
        if max(pair) < size:
            wanted[pair] = wanted[pair[::-1]] = True
    edge = np.zeros(part.labels.shape, bool)
    edge.flat[pixels[wanted[meet[:, 0], meet[:, 1]]]] = True
    return edge


def _borders(part: PartMap) -> np.ndarray:
    """Thin lines where two areas, or an area and the paper, meet."""
    edge = np.zeros(part.labels.shape, bool)
    edge.flat[part.meets[0]] = True
    return edge


@cache
def _pil_font(face: Face, size: int) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(str(font_file(face)), size)


def _colours(drawing: Drawing, scheme: "Scheme | None") -> dict[int, str]:
    return {a.id: a.hex for a in (scheme.areas if scheme else drawing.areas)}


def numbered_drawing(drawing: Drawing, scheme: "Scheme | None" = None, longest_px: int = 2000) -> "Image":
    """The whole drawing with its areas numbered, on white; numbers stand in the areas or beside the drawing.

    Along its top and left the shares of the sheet are marked, in which places are told. scheme: its areas' colours are
    shown instead of the drawing's. Returns an RGB image about `longest_px` long.
    """
    from PIL import Image, ImageDraw

    ids = [a.id for a in drawing.areas]
    part = part_map(drawing, ids, longest_px)
    font = _pil_font("strong", longest_px // 52)
    high = longest_px / 52 * 0.72
    edge, room = longest_px // 100, longest_px // 36
    frame = (part.labels.shape[1] / SUPER, part.labels.shape[0] / SUPER)
    kind = Numerals(lambda i: font.getlength(str(i)), high, between=True)
    plan = lay_out(part.labels, rooms(part.labels, ids, part.ink), frame, kind)
    sheet = Image.new("RGB", (round(frame[0]) + edge + room, round(frame[1]) + edge + room), "white")
    x0, y0, width, height = plan.picture
    image = painted(part, _colours(drawing, scheme), line=drawing.ink or lk.INK)
    # Columns of numbers took some of its room.
    if plan.picture != (0, 0, *frame):
        image = image.resize((round(width), round(height)))
    sheet.paste(image, (round(x0) + room, round(y0) + room))
    draw = ImageDraw.Draw(sheet)
    if (rim := _rim(drawing, ids, plan.picture, room)) is not None:
        draw_rim(draw, rim, room, _pil_font("body", longest_px // 80))
    _write_numbers(draw, plan, font, room, high)
    return sheet


def _rim(drawing: Drawing, ids: Iterable[int], picture: tuple[float, float, float, float], room: int) -> Rim | None:
    """Where the numbered drawing shows the sheet; picture: left, top, width and height of the part's picture."""
    box = _box(_kept(drawing, ids))
    if box is None:
        return None
    left, top, width, height = picture
    rows, cols = (s.stop - s.start for s in box)
    # The part's picture is the areas' box with room all around it, which is told in parts of its longer side.
    around = max(rows, cols) / ROUND_ABOUT
    px = width / (cols + 2 * around), height / (rows + 2 * around)
    first = (s.start - around for s in box[::-1])
    # Seen from the picture's corner that of the sheet lies before it, hence the minus.
    x, y = (-(f + o * drawing.scale) * p for f, o, p in zip(first, drawing.origin, px, strict=True))
    across, high = (side * drawing.scale * p for side, p in zip(drawing.size, px, strict=True))
    return Rim(room + left + x, room + top + y, across, high)


def _write_numbers(draw: Any, plan: Numbered, font: Any, edge: int, high: float) -> None:
    stroke = max(2, round(high / 9))
    for tag in plan.tags:
        if tag.anchor:
            ends = (tag.x + edge, tag.y + edge, tag.anchor[0] + edge, tag.anchor[1] + edge)
            draw.line(ends, fill="white", width=3 * stroke)
            draw.line(ends, fill=lk.INK, width=stroke)
            x, y = ends[2:]
            draw.ellipse((x - 2 * stroke, y - 2 * stroke, x + 2 * stroke, y + 2 * stroke), fill=lk.INK, outline="white")
    for tag in plan.tags:
        at = (tag.x + edge, tag.y + edge)
        draw.text(at, str(tag.id), font=font, fill=lk.INK, anchor="mm", stroke_width=2 * stroke, stroke_fill="white")


def palette_picture(colours: "Drawing | Sequence[Mix]", width_px: int = 1600) -> "Image":
    """The palette as a picture: of a drawing its colours with shares and areas, of mixes letters, names and hex."""
    from PIL import Image, ImageDraw

    if isinstance(colours, Drawing):
        rows = [
            (c.hex, c.hex, f"{c.share:.1%} of the figure", "areas " + ", ".join(map(str, c.areas)))
            for c in colours.palette
            if c.areas
        ]
    else:
        rows = [(m.hex, f"{m.id}  {m.name}", m.hex, f"drawn {m.drawn_hex}") for m in colours]
    look = lk.Look()
    across, edge, gap = 4, 40, 24
    cell = (width_px - 2 * edge - (across - 1) * gap) // across
    high, size = round(cell * 0.62), 30
    lines = -(-max(len(rows), 1) // across)
    sheet = Image.new("RGB", (width_px, 2 * edge + lines * (high + 4 * size) + (lines - 1) * gap), "white")
    draw = ImageDraw.Draw(sheet)
    for k, (colour, *words) in enumerate(rows):
        x, y = edge + k % across * (cell + gap), edge + k // across * (high + 4 * size + gap)
        draw.rectangle((x, y, x + cell - 1, y + high - 1), fill=colour, outline=lk.RULE, width=2)
        for n, text in enumerate(words):
            face: Face = "strong" if n == 0 else "body"
            points = size if n == 0 else size - 4
            # the picture's pixels stand for points: the same measuring serves
            draw.text(
                (x, y + high + 8 + n * (size + 6)),
                look.fit(text, face, points, cell),
                font=_pil_font(face, points),
                fill=lk.INK if n == 0 else lk.QUIET,
            )
    return sheet
