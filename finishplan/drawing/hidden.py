"""What bold lines hide: strips of a colour too narrow to show between two lines that run together.

A line of width w lies over a border by w/2 to both sides. Ink between two areas that is clearly broader than its lines
mostly are holds more than one border, and what lies between is the colour that opens out at the ends of the strip.
The middle of the ink is the Voronoi diagram of what is seen round it (Aurenhammer, ACM Computing Surveys 23, 1991).
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from finishplan.drawing.components import spread
from finishplan.drawing.linework import WIDEST_LINE, Lines
from finishplan.drawing.regions import GROUND, UNKNOWN, renumber
from finishplan.drawing.tones import Classes

BROADER, SPREADS = 0.15, 2.5
"""Ink is clearly broader than the lines are from so much over their middle width, or so many times as far over it as
their lower quarter is under it: lines of a brush swell (our rule, drawings made by chance)."""
SWELLS = 0.3
"""Parts of their breadth by which lines round the figure vary where nothing can be told by it (our rule)."""
LONG, SHORT, MUCH, FACE = 0.8, 0.35, 1.25, 0.2
"""A strip is so many widths of the line long, as where four areas meet in a point there is a broad place, too; a short
one must be so many times too broad for a line; and what is seen along each side of it is so many widths long, as the
tip of an area lies deep in the ink that meets it (our rules)."""
LEAST = 6.0
"""Pixels of a line whose breadth can be told well enough (our rule)."""
NEAR = 3
"""Pixels by which the middle of the ink may be off where it was filled step by step (our rule)."""


@dataclass(frozen=True, eq=False)
class Middles:
    """The middle lines of the ink as k pixel sides: first, second (k,) flat index of the pixels; pair (k, 2) the
    seeds it lies between, ascending, 0 the background; thick (k,) breadth of the ink there, pixels; seen (k, 2) number
    of the nearest pixel of either seed; ends (k, 2) the corners it runs between, numbered row by row of a picture one
    pixel wider."""

    first: np.ndarray
    second: np.ndarray
    pair: np.ndarray
    thick: np.ndarray
    seen: np.ndarray
    ends: np.ndarray

    @property
    def code(self) -> np.ndarray:
        """(k,) a number for each pair."""
        code: np.ndarray = self.pair[:, 0] * (int(self.pair.max(initial=0)) + 1) + self.pair[:, 1]
        return code


def hidden(marked: np.ndarray, lines: Lines, classes: Classes, longest: int, same: float) -> tuple[np.ndarray, Lines]:
    """(The seeds (h, w) with the strips that join two of one colour or lie in one painted in; the lines, with where
    they part areas that do not touch). longest: side of the drawing, pixels; same: DIN99b within which two seeds have
    one colour."""
    if lines.rgb is None or lines.width < max(WIDEST_LINE / 2 * longest, LEAST):
        return marked, lines
    owner, far, nearest = _nearest(marked)
    middles = _middles(owner, far, nearest)
    usual, limit = _widths(middles, lines.width)
    apart, marked = np.zeros(marked.size, bool), marked.copy()
    tone, one = _tones(marked, classes), np.arange(int(marked.max()) + 1)
    for strip in _strips(middles, limit, usual):
        apart[middles.first[strip]] = apart[middles.second[strip]] = True
        opens = _opens(middles, strip, owner)
        if opens is not None and np.linalg.norm(tone[opens[0]] - tone[opens[1]]) < same:
            _paint(marked, middles, strip, usual, one[opens[0]])
            one[one == one[opens[1]]] = one[opens[0]]
    only_near = _only_near(middles, tone, (usual + limit) / 2, same)
    apart[middles.first[only_near]] = apart[middles.second[only_near]] = True
    marked = np.where(marked > 0, one[marked], marked)
    marked = np.where(marked == GROUND, GROUND, renumber(np.maximum(marked, 0))[0])
    return marked, replace(lines, apart=spread(apart.reshape(marked.shape), NEAR), outer=lines.mask & (owner == 0))


def _nearest(marked: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """((h, w) the nearest seed of each pixel, 0 the background; (h, w) pixels to it; (h, w) number of its nearest
    pixel.)"""
    unknown = marked == UNKNOWN
    far, nearest = cv2.distanceTransformWithLabels(
        unknown.view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
    )
    seed = np.zeros(int(nearest.max()) + 1, np.int32)
    seed[nearest[~unknown]] = np.maximum(marked[~unknown], 0)
    return seed[nearest], far, nearest


def _middles(owner: np.ndarray, far: np.ndarray, nearest: np.ndarray) -> Middles:
    across, below = owner[:, 1:] != owner[:, :-1], owner[1:] != owner[:-1]
    width = owner.shape[1]
    (row, column), (r, c) = np.nonzero(across), np.nonzero(below)
    first = np.concatenate([row * width + column, r * width + c])
    second = np.concatenate([row * width + column + 1, (r + 1) * width + c])
    wide = width + 1
    start = np.concatenate([row * wide + column + 1, (r + 1) * wide + c])
    ends = np.stack([start, start + np.concatenate([np.full(len(row), wide), np.ones(len(r), int)])], 1)
    one, two = owner.ravel()[first].astype(np.int64), owner.ravel()[second].astype(np.int64)
    near = nearest.ravel()
    one_way, other = (np.stack([near[a], near[b]], 1) for a, b in ((first, second), (second, first)))
    seen = np.where((one < two)[:, None], one_way, other)
    thick = far.ravel()[first] + far.ravel()[second]
    return Middles(first, second, np.sort(np.stack([one, two], 1), axis=1), thick, seen, ends)


def _widths(middles: Middles, width: float) -> tuple[float, np.ndarray]:
    """(Usual breadth of the ink between two areas; (k,) breadth at each of its middles that only a strip makes.) Lines
    round the figure may be broader than those inside it."""
    rim = middles.pair[:, 0] == 0
    inked, limit, usual = middles.thick > width / 3, np.full(len(middles.thick), np.inf), width
    for of_rim in (True, False):
        these = inked & (rim == of_rim)
        if these.any():
            low, middle = np.quantile(middles.thick[these], (0.25, 0.5))
            over = max(BROADER * middle, SPREADS * (middle - low))
            # A brush swells most round the figure.
            limit[rim == of_rim] = middle + over if not of_rim or over < SWELLS * middle else np.inf
            usual = usual if of_rim else float(middle)
    return usual, limit


def _strips(middles: Middles, limit: np.ndarray, usual: float) -> list[np.ndarray]:
    """Indices of the middles of each strip: between the same two colours, too broad for a line all along."""
    code = middles.code[:, None] * (int(middles.ends.max(initial=0)) + 1) + middles.ends
    corners, node = np.unique(code.ravel(), return_inverse=True)
    one, two = node.reshape(-1, 2).T
    joined = coo_array((np.ones(len(one)), (one, two)), shape=(len(corners), len(corners)))
    number = connected_components(joined, directed=False)[1][one]
    broad, much = (np.bincount(number, middles.thick <= by * limit) == 0 for by in (1, MUCH))
    # Four pixel sides go as far as pi of a line of chance slope.
    long = np.bincount(number) * np.pi / 4 / usual
    broad = broad & (long >= LONG) | much & (long >= SHORT)
    strips = [np.flatnonzero(number == i) for i in np.flatnonzero(broad)]
    return [s for s in strips if min(len(np.unique(side)) for side in middles.seen[s].T) >= FACE * usual]


def _only_near(middles: Middles, tone: np.ndarray, most: np.ndarray, same: float) -> np.ndarray:
    """(k,) bool: middles between two seeds of one colour that come nowhere as near to each other as a line is broad.
    most: (k,) breadth up to which ink may be one line."""
    one, two = middles.pair.T
    _, pair = np.unique(middles.code, return_inverse=True)
    alike = (one > 0) & (np.linalg.norm(tone[one] - tone[two], axis=1) < same)
    near: np.ndarray = alike & (np.bincount(pair, middles.thick <= most)[pair] == 0)
    return near


def _opens(middles: Middles, strip: np.ndarray, owner: np.ndarray) -> tuple[int, int] | None:
    """The two seeds at the ends of a strip, None where it has no two ends or one opens on the background."""
    corner, count = np.unique(middles.ends[strip], return_counts=True)
    width = owner.shape[1]
    sides = set(middles.pair[strip[0]].tolist())
    found = []
    for at in corner[count == 1].tolist():
        row, column = divmod(at, width + 1)
        around = owner[max(row - 1, 0) : row + 1, max(column - 1, 0) : column + 1]
        found += [int(i) for i in np.unique(around) if int(i) not in sides]
    return (found[0], found[1]) if len(found) == 2 and all(found) else None


def _tones(marked: np.ndarray, classes: Classes) -> np.ndarray:
    """(n + 1, 3) DIN99b of each seed."""
    of_seed = np.zeros(int(marked.max()) + 1, int)
    of_seed[marked[marked > 0]] = classes.of_pixel[marked > 0]
    tones: np.ndarray = classes.tone[of_seed]
    return tones


def _paint(marked: np.ndarray, middles: Middles, strip: np.ndarray, usual: float, seed: int) -> None:
    """Give the ink between the two lines of a strip to the seed. In place."""
    width = marked.shape[1]
    for at, thick in zip(middles.first[strip].tolist(), middles.thick[strip].tolist(), strict=True):
        row, column = divmod(at, width)
        by = max(round((thick - usual) / 2), 1)
        box = np.s_[max(row - by, 0) : row + by + 1, max(column - by, 0) : column + by + 1]
        marked[box][marked[box] == UNKNOWN] = seed
