"""Where regions touch: how long, how much of it runs along a drawn line, how far the colours step there."""

from dataclasses import dataclass

import numpy as np

from finishplan.drawing.linework import WIDEST_LINE, Lines
from finishplan.drawing.tones import tone_of

SOFT_STEP = 2
"""Pixels to either side of a border at which colours are compared: past its soft rim."""
SHORTEST_EDGE = 5 / 1600
"""Areas that meet over less than this part of the longer side meet in a corner, not at an edge."""
CORNER, BOLD_CORNER = 2.0, 0.8
"""The same in widths of the lines, which hide what happens in a corner; of bold ones, which hide whole edges."""
LEFT = 0.05
"""Share of a border that must be free of lines for its step to be known."""


@dataclass(frozen=True)
class Trace:
    """How a fine line shows that was taken for the darker area's own colour: within `reach` pixels to both sides it is
    lighter by more than `depth` steps of 0-255."""

    reach: int
    depth: float


SHARP, BLURRED = Trace(4, 12), Trace(5, 24)
"""In a clean drawing, and where a lens or compression blurred it (our rule)."""


def compact(labels: np.ndarray) -> np.ndarray:
    """The same (h, w) labels, 0 upwards, in the fewest bytes that hold them: neighbours are compared faster."""
    return labels.astype(np.min_scalar_type(int(labels.max())))


@dataclass(frozen=True, eq=False)
class Contacts:
    """Of m pairs of regions that touch; all but `pairs` are sums over the pixel sides between them, so that pairs can
    be put together. pairs: (m, 2) ascending labels; sides, drawn, dark: (m,) pixel sides, those along a line, those
    along the trace of one, facing: those that are no outer ink; free: (m,) sides clear of lines, and over these step:
    (m, 3) DIN99b from the first region to the second, size: (m,) its length."""

    pairs: np.ndarray
    sides: np.ndarray
    drawn: np.ndarray
    dark: np.ndarray
    facing: np.ndarray
    free: np.ndarray
    step: np.ndarray
    size: np.ndarray

    @property
    def drawn_share(self) -> np.ndarray:
        """(m,) 0-1 of each border that a line covers."""
        share: np.ndarray = self.drawn / np.maximum(self.sides, 1)
        return share

    @property
    def inked_share(self) -> np.ndarray:
        """(m,) 0-1 of each border that a line covers or left a trace of, blurred by a lens."""
        share: np.ndarray = self.dark / np.maximum(self.sides, 1)
        return share

    @property
    def contrast(self) -> np.ndarray:
        """(m,) DIN99b: the mean step across the border, in which grain cancels; endless where lines hide all of it."""
        mean = np.linalg.norm(self.step, axis=1) / np.maximum(self.free, 1)
        known = self.free >= np.maximum(LEFT * self.sides, 1)
        # Half the mean length as well: steps that point different ways along one border would cancel like grain.
        contrast: np.ndarray = np.where(known, np.maximum(mean, 0.5 * self.size / np.maximum(self.free, 1)), np.inf)
        return contrast

    def joined(self, table: np.ndarray) -> "Contacts":
        """The contacts after regions became those that `table` (n + 1,) names for them."""
        now = table[self.pairs]
        # The step is told from the smaller label to the larger, and the new numbers may have changed places.
        sign = np.where(now[:, 0] <= now[:, 1], 1.0, -1.0)
        kept = now[:, 0] != now[:, 1]
        steps = (self.step * sign[:, None])[kept]
        sides, drawn, dark, facing, free = (
            v[kept] for v in (self.sides, self.drawn, self.dark, self.facing, self.free)
        )
        pairs = np.sort(now, axis=1)[kept]
        return _summed(Contacts(pairs, sides, drawn, dark, facing, free, steps, self.size[kept]))


@dataclass(frozen=True, eq=False)
class Parting:
    """A figure parted into regions. labels: (h, w) int, 1..n, 0 the background; inner: (h, w) bool, pixels to judge
    their colours by; met: which of them touch."""

    labels: np.ndarray
    inner: np.ndarray
    lines: Lines
    met: Contacts

    @property
    def regions(self) -> int:
        """How many there are."""
        return int(self.labels.max())


def shortest_edge(lines: Lines, longest: int) -> float:
    """Pixels over which two areas must meet to share an edge, in a picture of that longer side."""
    thin = CORNER * min(lines.width, WIDEST_LINE * longest)
    return max(SHORTEST_EDGE * longest, thin, BOLD_CORNER * lines.width)


def shortest_fold(lines: Lines) -> float:
    """Pixels over which regions of one colour must face each other across a line to be one area with a fold in it."""
    return BOLD_CORNER * lines.width


def contacts(
    labels: np.ndarray, rgb: np.ndarray, lines: Lines, trace: Trace = SHARP, step: int = SOFT_STEP
) -> Contacts:
    """The contacts of all pairs of regions that touch, other than deep in the ink. labels: (h, w) int, 0 the
    background; rgb: (h, w, 3) uint8 sRGB; trace: of fine lines; step: pixels to either side at which colours are
    compared."""
    height, width = labels.shape
    first, second, pair = border_sides(labels)
    # Deep in the ink two areas are nearest to each other by chance only.
    faces = ~lines.deep.ravel()[first]
    first, second, pair = first[faces], second[faces], pair[faces]
    stride = second - first
    # Past the soft rim on both sides, so that anti-aliasing does not make every step small.
    here = _shifted(first, -stride * step, height, width)
    there = _shifted(second, stride * step, height, width)
    pixels, inked = rgb.reshape(-1, 3), lines.mask.ravel()
    move = tone_of(pixels[there]) - tone_of(pixels[here])
    flat = labels.ravel()
    move[flat[first] > flat[second]] *= -1
    on_line = inked[first] | inked[second]
    dark = on_line | (_dip(first, second, stride, rgb, trace.reach) > trace.depth)
    free = ~(on_line | inked[here] | inked[there])
    # On a line the colours tell of the ink; such sides count for length alone.
    move[~free] = 0
    every = np.ones(len(first), bool)
    facing = every if lines.outer is None else ~lines.outer.ravel()[first]
    sides, drawn, dim, near, clear = (along.astype(float) for along in (every, on_line, dark, facing, free))
    return _summed(Contacts(pair, sides, drawn, dim, near, clear, move, np.linalg.norm(move, axis=1)))


def _dip(first: np.ndarray, second: np.ndarray, stride: np.ndarray, rgb: np.ndarray, reach: int) -> np.ndarray:
    """(k,) how much darker it is at each border than `reach` pixels to either side of it, 0-255: a fine line, blurred
    by a lens, that was taken for the darker area's own colour."""
    brightest, (height, width) = np.maximum(np.maximum(rgb[..., 0], rgb[..., 1]), rgb[..., 2]).ravel(), rgb.shape[:2]

    def light(at: np.ndarray, by: int) -> np.ndarray:
        found: np.ndarray = brightest[_shifted(at, stride * by, height, width)].astype(int)
        return found

    # Darker than both sides: an edge between light and dark is darker than one side only.
    beside = np.minimum(light(first, -reach), light(second, reach))
    at = np.minimum(np.minimum(light(first, 0), light(second, 0)), np.minimum(light(first, -1), light(second, 1)))
    dip: np.ndarray = beside - at
    return dip


def border_sides(labels: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """((k,) flat index of the first pixel, (k,) of the second, (k, 2) ascending labels) of every pixel side between
    regions of (h, w) labels."""
    width = labels.shape[1]
    small, figure = compact(labels), labels > 0
    across = np.zeros(labels.shape, bool)
    down = np.zeros(labels.shape, bool)
    across[:, :-1] = (small[:, 1:] != small[:, :-1]) & figure[:, 1:] & figure[:, :-1]
    down[:-1] = (small[1:] != small[:-1]) & figure[1:] & figure[:-1]
    right, below = np.flatnonzero(across), np.flatnonzero(down)
    first, second = np.concatenate([right, below]), np.concatenate([right + 1, below + width])
    flat = labels.ravel()
    return first, second, np.sort(np.stack([flat[first], flat[second]], 1), axis=1)


def _summed(found: Contacts) -> Contacts:
    """The contacts, in which a pair may stand more than once, with one row for each pair."""
    pairs = found.pairs
    span = int(pairs.max(initial=0)) + 1
    codes, group = np.unique(pairs[:, 0].astype(np.int64) * span + pairs[:, 1], return_inverse=True)
    m = len(codes)

    def total(values: np.ndarray) -> np.ndarray:
        return np.bincount(group, values, minlength=m)

    return Contacts(
        np.stack([codes // span, codes % span], 1),
        total(found.sides),
        total(found.drawn),
        total(found.dark),
        total(found.facing),
        total(found.free),
        np.stack([total(found.step[:, k]) for k in range(3)], -1),
        total(found.size),
    )


def _shifted(flat: np.ndarray, by: np.ndarray, height: int, width: int) -> np.ndarray:
    """Flat indices moved along their row or column, stopped at the picture's rim."""
    row, column = np.divmod(flat, width)
    vertical = np.abs(by) >= width
    rows = np.clip(row + np.where(vertical, np.sign(by) * (np.abs(by) // width), 0), 0, height - 1)
    columns = np.clip(column + np.where(vertical, 0, by), 0, width - 1)
    shifted: np.ndarray = rows * width + columns
    return shifted
