"""How places of an earlier reading lie in a later one: the page moved, scaled, turned or cropped, pieces moved apart.

A similarity is two complex numbers: z becomes a z + b. Places are complex, in parts of the picture's longer side.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finishplan.drawing.model import Drawing, Mark

Complex = NDArray[np.complex128]
Array = NDArray[np.float64]
SMALL_MAP = 512
"""Pixels of the longer side of the map that is kept of a reading."""
POINTS = 24
"""Places by which an area's ground is compared."""
PAIRS = 90
MOST_SCALE, MOST_TURN = 2.5, 0.35
"""A figure is hardly drawn again at another scale, or turned by more radians (20 degrees), and still the same sheet."""
MOVES = 5
"""So many groups of areas may have moved each in its own way."""
NEAR = 0.15
"""Parts of the picture over which a stroke goes with what lies beside it."""
ASTRAY = 0.01
"""The same, by which a place misses the common move: beyond, it goes its own way."""
FITS = 0.5
"""Of an area's points that must land on its like for it to have moved so."""


@dataclass(frozen=True, eq=False)
class SmallMap:
    """The areas of a reading, small. labels: (h, w) their numbers, 0 outside. box: left, top, right, bottom of it, and
    size: width and height of the picture, both in the drawing's pixels."""

    labels: np.ndarray
    box: tuple[float, float, float, float]
    size: tuple[int, int]


def small_map(drawing: Drawing, longest: int = SMALL_MAP) -> SmallMap:
    """The drawing's areas with no more than `longest` pixels a side."""
    height, width = drawing.labels.shape
    step = max(1, -(-max(height, width) // longest))
    labels = drawing.labels[step // 2 :: step, step // 2 :: step]
    left, top = drawing.origin
    span = step / drawing.scale
    box = (left, top, left + labels.shape[1] * span, top + labels.shape[0] * span)
    return SmallMap(labels.astype(np.uint16), box, drawing.size)


def complex_of(at: tuple[float, float], size: tuple[int, int]) -> complex:
    """A place in shares of the picture."""
    longer = max(size)
    return complex(at[0] * size[0] / longer, at[1] * size[1] / longer)


def sampled(marks: tuple[Mark, ...], small: SmallMap | None, size: tuple[int, int], figure: float) -> Complex:
    """(n, POINTS) places on each marked area, spread over the map, or over a disc of half its width where there is no
    map or too little of it. size: of the picture; figure: share of it that the figure fills."""
    found = np.empty((len(marks), POINTS), complex)
    inside = _by_area(small) if small is not None else {}
    golden = np.arange(POINTS) + 0.5
    # The golden angle: so few places cover the disc evenly, whatever their number.
    disc = np.sqrt(golden / POINTS) * np.exp(1j * np.pi * (1 + 5**0.5) * golden)
    for row, mark in enumerate(marks):
        places = inside.get(mark.id)
        if places is not None and len(places) >= POINTS // 4:
            found[row] = places[np.linspace(0, len(places) - 1, POINTS).astype(int)]
        else:
            radius = 0.5 * np.sqrt(mark.size * figure * size[0] * size[1] / np.pi) / max(size)
            found[row] = complex_of(mark.at, size) + radius * disc
    return found


def _by_area(small: SmallMap) -> dict[int, Complex]:
    """The places of each area's pixels, those well inside it alone where there are enough."""
    rows, columns = np.nonzero(small.labels)
    left, top, right, bottom = small.box
    height, width = small.labels.shape
    longer = max(small.size)
    x = (left + (columns + 0.5) * (right - left) / width) / longer
    y = (top + (rows + 0.5) * (bottom - top) / height) / longer
    ids = small.labels[rows, columns]
    order = np.argsort(ids, kind="stable")
    present, starts = np.unique(ids[order], return_index=True)
    places = (x + 1j * y)[order]
    return dict(zip(present.tolist(), np.split(places, starts[1:]), strict=True))


def looked_up(drawing: Drawing, places: Complex) -> NDArray[np.int64]:
    """The number of the area at each place, 0 outside."""
    longer, height, width = max(drawing.size), *drawing.labels.shape
    x = ((places.real * longer - drawing.origin[0]) * drawing.scale).astype(int)
    y = ((places.imag * longer - drawing.origin[1]) * drawing.scale).astype(int)
    inside = (x >= 0) & (x < width) & (y >= 0) & (y < height) & (places.real >= 0) & (places.imag >= 0)
    found = np.zeros(places.shape, np.int64)
    found[inside] = drawing.labels[y[inside], x[inside]]
    return found


def moves(points: Complex, centres: Complex, drawing: Drawing, like: Array, new: Complex) -> Complex:
    """(n, 2) the similarity of each earlier area. points (n, POINTS), centres (n,): where it was; new: (m,) centres
    now; like: (n, m) 0-1 how alike each earlier area and each later one are, but for their place.

    The move that most areas share is found first, then that of the most that it does not fit, and so on.
    """
    column = np.zeros(int(drawing.labels.max()) + 2, int)
    column[[a.id for a in drawing.areas]] = np.arange(1, len(drawing.areas) + 1)
    padded = np.concatenate([np.zeros((len(like), 1)), like], axis=1)

    def fit(many: Complex) -> Array:
        """(k, n) how much of each area's ground lies on its like under each of (k, 2) similarities."""
        some = points[:, :: max(1, POINTS // 8)]
        at = column[looked_up(drawing, many[:, 0, None, None] * some + many[:, 1, None, None])]
        found: Array = padded[np.arange(len(like))[:, None], at].mean(-1)
        return found

    offered = _offered(centres, new, like)
    fits = fit(offered)
    chosen = [int(fits.sum(1).argmax())]
    best = fits[chosen[0]]
    for _ in range(MOVES - 1):
        gain = np.where((fits > FITS) & (best < FITS), fits - best, 0)
        number = (gain > 0).sum(1)
        # Two areas at least: any single one can be taken anywhere by some move.
        more = int((gain.sum(1) * (number > 1)).argmax())
        if number[more] < 2:
            break
        chosen.append(more)
        best = np.maximum(best, fits[more])
    kept = fits[chosen]
    kept[0] += 0.1  # the common move, unless another fits clearly better
    result: Complex = offered[chosen][kept.argmax(0)]
    return result


def _offered(old: Complex, new: Complex, like: Array) -> Complex:
    """(k, 2) similarities: none, box upon box, and every one that takes two areas to two of their likes."""
    pairs = np.argwhere(like > 0.3)
    pairs = pairs[np.argsort(-like[tuple(pairs.T)], kind="stable")]
    _, rank = np.unique(pairs[:, 0], return_inverse=True)
    nth = np.array([int((rank[:k] == r).sum()) for k, r in enumerate(rank.ravel())])
    pairs = pairs[np.argsort(nth, kind="stable")][:PAIRS]
    one, two = np.triu_indices(len(pairs), 1)
    z, w = old[pairs[:, 0]], new[pairs[:, 1]]
    # Two centres that nearly coincide would give any scale and turn.
    apart = np.abs(z[one] - z[two]) > 0.02
    one, two = one[apart], two[apart]
    a = (w[one] - w[two]) / (z[one] - z[two])
    sane = (np.abs(a) < MOST_SCALE) & (np.abs(a) > 1 / MOST_SCALE) & (np.abs(np.angle(a)) < MOST_TURN)
    a, one = a[sane], one[sane]
    shifts = w - z
    fixed = [(1.0 + 0j, 0j), _box_upon_box(old, new), *((1.0 + 0j, complex(s)) for s in shifts)]
    return np.concatenate([np.array(fixed, complex), np.stack([a, w[one] - a * z[one]], 1)])


def _box_upon_box(old: Complex, new: Complex) -> tuple[complex, complex]:
    def box(z: Complex) -> tuple[complex, float]:
        low, high = complex(z.real.min(), z.imag.min()), complex(z.real.max(), z.imag.max())
        return (low + high) / 2, abs(high - low)

    (c, size), (d, now) = box(old), box(new)
    a = complex(now / size) if size > 0 and now > 0 else 1 + 0j
    return a, d - a * c


def looked_up_at(drawing: Drawing, at: tuple[float, float]) -> int:
    """The number of the area at a place in shares of the picture, 0 outside."""
    return int(looked_up(drawing, np.array([complex_of(at, drawing.size)]))[0])


def carried(points: Complex, then: Complex, now: Complex) -> Complex:
    """Places of an earlier reading where they lie now, by how places near them moved: then -> now, (n,) each. Those
    that go their own way count little."""
    weight = np.exp(-((np.abs(then - points.mean()) / NEAR) ** 2)) + 1e-6
    a, b = complex(1), complex((weight * (now - then)).sum() / weight.sum())
    for _ in range(8):
        # Cauchy's weights: what went its own way counts ever less, and no threshold decides.
        own = weight / (1 + (np.abs(a * then + b - now) / ASTRAY) ** 2)
        then_mean, now_mean = (complex((own * z).sum() / own.sum()) for z in (then, now))
        spread = float((own * np.abs(then - then_mean) ** 2).sum())
        turn = complex((own * (now - now_mean) * np.conj(then - then_mean)).sum())
        a = turn / spread if len(then) > 2 and spread > 1e-4 * own.sum() else complex(1)
        b = now_mean - a * then_mean
    return a * points + b
