"""Lines that lie inside one area: eyebrows, whiskers, a mouth drawn as a stroke, and creases. The maker tells which."""

from dataclasses import dataclass, replace

import numpy as np

from finishplan.basics.words import counted
from finishplan.drawing.components import Box, boxes, components, spread
from finishplan.drawing.filters import even, odd
from finishplan.drawing.linework import Lines, stroke_widths
from finishplan.drawing.model import Detail
from finishplan.drawing.tones import tone_of

LONG = 3.0
"""A stroke is at least this many times as long as it is wide."""
LEAST = 12
"""Pixels of the least stroke."""
MOST_TOLD, CROWD = 4, 4
"""Areas named in one note; strokes in an area from which they are hatching or fur sooner than a brow, a mouth or
whiskers (our rule)."""
BROADER = 1.4
"""Times the width of the outlines that the maker told, from which a stroke that stands alone is paint (our rule)."""
NEAR = 0.02
"""A place tells a stroke that lies so near to it, in parts of the picture's longer side."""


@dataclass(frozen=True, eq=False)
class InnerLine:
    """One stroke. box: rows and columns; mask: its pixels in the box; area: the label it lies in; length, width:
    pixels; rgb: (3,) sRGB 0-255; alone: it joins no other line."""

    box: Box
    mask: np.ndarray
    area: int
    length: float
    width: float
    rgb: np.ndarray
    alone: bool

    @property
    def at(self) -> tuple[float, float]:
        """(x, y) of the pixel of the stroke nearest to the middle of all."""
        rows, columns = np.nonzero(self.mask)
        middle = ((rows - rows.mean()) ** 2 + (columns - columns.mean()) ** 2).argmin()
        return float(columns[middle] + self.box[1].start), float(rows[middle] + self.box[0].start)

    def distance(self, x: float, y: float) -> float:
        """Pixels from a place to the nearest of the stroke."""
        rows, columns = np.nonzero(self.mask)
        return float(np.hypot(columns + self.box[1].start - x, rows + self.box[0].start - y).min())


def inner_lines(labels: np.ndarray, lines: Lines, rgb: np.ndarray) -> tuple[InnerLine, ...]:
    """The lines inside one area of (h, w) int labels in (h, w, 3) uint8 sRGB: those with one area on both sides, a
    line's width away and more."""
    inside = even(labels, odd(2 * lines.width + 3)) & lines.mask & (labels > 0)
    pieces, n = components(inside, corners=True)
    others, found = lines.mask & ~inside, []
    for number, box in enumerate(boxes(pieces, n), 1):
        mask = pieces[box] == number
        pixels = int(mask.sum())
        if pixels < LEAST:
            continue
        framed = np.pad(mask, 1)
        sides = (framed[:, 1:] != framed[:, :-1]).sum() + (framed[1:] != framed[:-1]).sum()
        width = 2 * pixels / (np.pi / 4 * float(sides))
        if pixels >= LONG * width**2:
            area = int(labels[box][mask][0])
            around = tuple(slice(max(s.start - 2, 0), s.stop + 2) for s in box)
            alone = not (spread(pieces[around] == number, 2) & others[around]).any()
            found.append(InnerLine(box, mask, area, pixels / width, width, np.median(rgb[box][mask], axis=0), alone))
    return tuple(found)


def stroke_note(details: tuple[Detail, ...], size: tuple[int, int]) -> tuple[str, ...]:
    """What to say of the strokes that may be paint; size: (width, height) of the drawing in pixels."""
    of_area: dict[int, list[Detail]] = {}
    for stroke in sorted((d for d in details if d.alone), key=lambda d: -d.length_px):
        of_area.setdefault(stroke.area, []).append(stroke)
    if not of_area:
        return ()
    # The dictionary's order is that of the longest stroke of each; sorting keeps it.
    told = sorted(of_area.values(), key=lambda strokes: len(strokes) >= CROWD)
    said = [
        f"{len(s)} in area {s[0].area}{', the longest' if len(s) > 1 else ''} at {place_of(s[0], size)}"
        for s in told[:MOST_TOLD]
    ]
    rest = told[MOST_TOLD:]
    more = [f"{sum(map(len, rest))} in {counted(len(rest), 'other area')}"] if rest else []
    what = f"strokes that stand alone inside an area, read as lines and not painted: {'; '.join([*said, *more])}"
    return (f"{what}. Eyebrow, stripe or whisker? Write its place under [figure]: details = [[x, y]]",)


def place_of(detail: Detail, size: tuple[int, int]) -> str:
    """'[0.31, 0.42]', a place on it in shares of the picture's width and height."""
    x, y = (round(at / side, 3) for at, side in zip(detail.at, size, strict=True))
    return f"[{x:g}, {y:g}]"


def told(found: tuple[InnerLine, ...], places: list[tuple[float, float]], longest: int) -> tuple[InnerLine, ...]:
    """Those strokes that lie nearest to one of the places, (x, y) in pixels; longest: the picture's longer side."""
    chosen = []
    for x, y in places:
        far = [stroke.distance(x, y) for stroke in found]
        if far and min(far) <= NEAR * longest:
            chosen.append(found[int(np.argmin(far))])
    return tuple(dict.fromkeys(chosen))


def broader(found: tuple[InnerLine, ...], width: float) -> tuple[InnerLine, ...]:
    """Those strokes that stand alone and are clearly broader than the outlines, of a width that the maker told, pixels:
    a stripe, a brow, a bar of paint in the ink's colour."""
    return tuple(s for s in found if s.alone and np.median(stroke_widths(s.mask)) > BROADER * width)


def painted(
    labels: np.ndarray, lines: Lines, chosen: tuple[InnerLine, ...], first: int
) -> tuple[np.ndarray, Lines, np.ndarray]:
    """((h, w) labels in which the chosen strokes are areas, numbered from `first`; the lines without them; their (h, w)
    bool mask)."""
    labels, mask = labels.copy(), np.zeros(labels.shape, bool)
    for number, stroke in enumerate(chosen, first):
        labels[stroke.box][stroke.mask] = number
        mask[stroke.box] |= stroke.mask
    return labels, replace(lines, mask=lines.mask & ~mask), mask


def same_colour(rgb: np.ndarray, others: np.ndarray, same: float) -> int | None:
    """Index of the nearest of the sRGB colours (n, 3) within `same` DIN99b of one, (3,); None for none."""
    gap = np.linalg.norm(tone_of(others) - tone_of(rgb), axis=1)
    return int(gap.argmin()) if len(gap) and gap.min() < same else None
