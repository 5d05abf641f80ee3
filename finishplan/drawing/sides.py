"""Straight edges in a photograph that may be the sides of a sheet of paper.

Edges are sought on a small copy in two ways: by the line segment detector of Grompone von Gioi et al. (IPOL 2012, as in
OpenCV), and as the hulls of what is even all over, as paper is.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from PIL import Image

CONTRAST = 2.2
"""Logarithm of light below the brightest that is looked at: all darker is dark table, and the less there is to see, the
plainer stands white paper on a white desk (our rule)."""
LEAST_SIDE, LEAST_BIT = 0.12, 0.024
"""Of the longer side of the picture: shorter edges are none of a sheet's, nor shorter bits of them (our limit on the
search: a side has a fifth of the picture and shows along half of that)."""
SMOOTH, MOST_PIECES = 0.06, 4
"""Logarithm of light from pixel to pixel below which a piece is even; the largest of these are looked at (our rule)."""
MOST_MERGED, MOST_LINES = 80, 16
"""Edges of one direction that are looked at, and those that are kept (our limit on the search: a cloth has dozens)."""
STEP = 0.09
"""Of the logarithm of light, from inside to outside, that shows as a side."""
EVEN_STEP = 0.12
"""Logarithm of light by which one paper, unprinted, may differ close by (our rule)."""
ROUGH = 0.008
"""Of the longer side, by which a hull may stray from a straight side (our rule)."""
NEAR = 0.009
"""Of the longer side: how far beside a line it is looked at."""

Line = np.ndarray
"""(3,) a x + b y + c = 0, a2 + b2 = 1."""


@dataclass(frozen=True, eq=False)
class Small:
    """log: (h, w, 3) float32 logarithm of linear light, a little smoothed."""

    log: np.ndarray

    @classmethod
    def of(cls, rgb: np.ndarray, longer: int) -> "Small":
        """A copy of (h, w, 3) uint8 sRGB whose longer side has that many pixels at most."""
        shrunk = min(1.0, longer / max(rgb.shape[:2]))
        size = (max(8, round(rgb.shape[1] * shrunk)), max(8, round(rgb.shape[0] * shrunk)))
        small = np.asarray(Image.fromarray(rgb).resize(size, Image.Resampling.BOX))
        # A table: no power for each of a million pixels.
        light = np.maximum((np.arange(256, dtype=np.float32) / 255) ** 2.2, 4e-3)
        return cls(cv2.GaussianBlur(np.log(light)[small], (0, 0), 1.0))

    @property
    def size(self) -> tuple[int, int]:
        return self.log.shape[1], self.log.shape[0]

    def at(self, points: np.ndarray) -> np.ndarray:
        """(n, 3) values at (n, 2) points x, y; nan outside."""
        found: np.ndarray = cv2.remap(
            self.log,
            points[None, :, 0].astype(np.float32),
            points[None, :, 1].astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=(np.nan,) * 3,
        )
        values: np.ndarray = found[0]
        return values


def edges(small: Small) -> tuple[list[Line], list[Line]]:
    """The strongest straight edges: those near the horizontal, downwards, and those near the vertical, to the right;
    the rim of the picture first and last."""
    longer, (width, height) = max(small.size), small.size
    segments = []
    # Two channels: a sheet on a table as light as itself may show by colour alone.
    for channel in (1, 2):
        scaled = _stretched(small.log[..., channel])
        found = cv2.createLineSegmentDetector(cv2.LSD_REFINE_NONE).detect(scaled)[0]
        segments += [] if found is None else list(found.reshape(-1, 4))
    grouped: dict[bool, list[tuple[float, Line]]] = {True: [], False: []}
    for x1, y1, x2, y2 in [*map(tuple, segments), *_sides_of_even(small.log)]:
        length = float(np.hypot(x2 - x1, y2 - y1))
        if length > LEAST_BIT * longer:
            line = np.array([y2 - y1, x1 - x2, x2 * y1 - x1 * y2]) / length
            flat = abs(x2 - x1) > abs(y2 - y1)
            grouped[flat].append((length, line if line[int(flat)] > 0 else -line))
    middle = np.array([width / 2, height / 2, 1])
    flat, steep = (
        sorted(_bordering(small, _merged(grouped[k], middle)), key=lambda line: -float(line @ middle))
        for k in (True, False)
    )
    rims = [np.array(rim, float) for rim in ((0, 1, 0), (0, 1, -height), (1, 0, 0), (1, 0, -width))]
    return [rims[0], *flat, rims[1]], [rims[2], *steep, rims[3]]


def _sides_of_even(log: np.ndarray) -> list[tuple[float, float, float, float]]:
    """(x1, y1, x2, y2) of the sides of the hulls round the largest pieces of (h, w, 3) logarithms of light that are
    even all over: paper shows so on a striped cloth, where its sides are broken."""
    steps = cv2.morphologyEx(log, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8)).max(2)
    even, sides = (steps < SMOOTH).view(np.uint8), []
    # Closed as well: a ruling cuts the paper into strips.
    for mask in (even, cv2.morphologyEx(even, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8))):
        _, pieces, boxes, _ = cv2.connectedComponentsWithStats(mask)
        largest = np.argsort(-boxes[1:, cv2.CC_STAT_AREA])[:MOST_PIECES] + 1
        for piece in largest.tolist():
            # Grown by what the steps at its rim took from it.
            grown = cv2.dilate((pieces == piece).view(np.uint8), np.ones((7, 7), np.uint8))
            hull = cv2.convexHull(cv2.findNonZero(grown))
            corners = cv2.approxPolyDP(hull, ROUGH * max(log.shape), True)[:, 0].astype(float)
            sides += [tuple(side) for side in np.hstack([corners, np.roll(corners, -1, 0)]).tolist()]
    return sides


def _stretched(values: np.ndarray) -> np.ndarray:
    """(h, w) uint8 over the range of a sheet and its shadows, from dark to bright."""
    high = values.max()
    low = max(values.min(), high - CONTRAST)
    stretched: np.ndarray = (np.maximum(values - low, 0) * (255 / max(high - low, 1e-6))).astype(np.uint8)
    return stretched


def _merged(found: list[tuple[float, Line]], middle: np.ndarray) -> list[Line]:
    """The lines that most segments are part of, at most MOST_MERGED."""
    longer, lines, kept = 2 * middle.max(), np.zeros((len(found), 3)), list[tuple[float, Line]]()
    for length, line in sorted(found, key=lambda pair: -pair[0]):
        others = lines[: len(kept)]
        # The same edge found in pieces: one line, as strong as all of them.
        same = (abs((line - others) @ middle) < 0.008 * longer) & (others[:, :2] @ line[:2] > 0.9994)
        if same.any():
            k = int(same.argmax())
            kept[k] = (kept[k][0] + length, kept[k][1])
        else:
            lines[len(kept)] = line
            kept.append((length, line))
    kept = [pair for pair in kept if pair[0] > LEAST_SIDE * longer]
    return [line for _, line in sorted(kept, key=lambda pair: -pair[0])[:MOST_MERGED]]


def _bordering(small: Small, lines: list[Line]) -> list[Line]:
    """Of the lines those at most MOST_LINES along which, on one side, most of an even strip lies that is lighter than
    the other side: a cloth has many edges, but strips of it on both sides."""

    def strip(line: Line) -> int:
        along, near = points_along(small, line)
        beside = {k: small.at(along + k * near * line[:2]) for k in (-4, -2.5, -1, 1, 2.5, 4)}
        return max(
            int((paper_beside(beside[k] - beside[-k]) & even(beside[k], beside[2.5 * k], beside[4 * k])).sum())
            for k in (1, -1)
        )

    return sorted(lines, key=strip, reverse=True)[:MOST_LINES]


def even(*light: np.ndarray) -> np.ndarray:
    """(n,) bool: where all of the (n, 3) logarithms of light are nearly the same."""
    alike: np.ndarray = _most(np.ptp(np.stack(light), axis=0)) < EVEN_STEP
    return alike


def _most(light: np.ndarray) -> np.ndarray:
    """(n,) the largest of each row of (n, 3), three times as quick as along so short an axis."""
    most: np.ndarray = np.maximum(np.maximum(light[:, 0], light[:, 1]), light[:, 2])
    return most


def points_along(small: Small, line: Line) -> tuple[np.ndarray, float]:
    """((k, 2) points along a line, two pixels apart, from beyond one rim of the picture to beyond the other; how far
    beside it light is compared, pixels)."""
    reach, way = round(1.5 * max(small.size)), np.array([line[1], -line[0]])
    foot = np.array(small.size) / 2
    foot = foot - (line[:2] @ foot + line[2]) * line[:2]
    along: np.ndarray = foot + np.arange(-reach, reach, 2)[:, None] * way
    return along, NEAR * max(small.size)


def paper_beside(step: np.ndarray) -> np.ndarray:
    """(n,) bool of steps (n, 3) in the logarithm of light from table to paper."""
    light = (step[:, 0] + step[:, 1] + step[:, 2]) / 3
    # As light, but of another colour: wood under cream paper.
    shown: np.ndarray = (light > STEP) | ((_most(step) + _most(-step) > STEP) & (light > -0.5 * STEP))
    return shown
