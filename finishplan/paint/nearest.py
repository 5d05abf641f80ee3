"""Exact search by CIEDE2000 among millions of colours: cells of L*a*b* space with a proven lower bound for each.

The bound. With ISO/CIE 11664-6's symbols, x = dC'/S_C and y = dH'/S_H:
  dE^2 = (dL/S_L)^2 + x^2 + y^2 + R_T x y >= (dL/S_L)^2 + (1 - |R_T|/2) (x^2 + y^2),
  dC'^2 + dH'^2 = (1 + G)^2 da^2 + db^2 >= da^2 + db^2   (law of cosines; dH' = 2 sqrt(C1' C2') sin(dh'/2)),
and S_L, S_C, S_H and |R_T| are bounded by their values at the largest |L - 50| and mean chroma of a cell
(T <= 1.93, so S_H <= S_C; |R_T| <= 2 sin(2 dTheta) sqrt(C^7/(C^7 + 25^7)), the angle taken at the mean hue of the
cell that lies nearest to 275 degrees, and |R_T| < 1e-6 where both colours have b* >= 0, since the mean hue then is 95
degrees or more from there).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.colour.light import rough_delta_e

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

STEPS_PER_UNIT = 200
"""L*a*b* is stored in steps of 1/200, as int16: a colour moves by less than 0.005 by it."""
ROUNDING = 0.02
"""More than storing and float32 can move a difference; candidates are kept with this margin."""
_CELL = (2 * STEPS_PER_UNIT, 3 * STEPS_PER_UNIT, 3 * STEPS_PER_UNIT)
_BLOCK_ROWS = 1 << 19
_ROWS_AT_ONCE = 1 << 15
_UNIT = np.float32(STEPS_PER_UNIT)
_PI, _BLUE, _MOST_STRETCH = np.float32(np.pi), np.float32(np.radians(275)), np.float32(1.5)


@dataclass(frozen=True, eq=False)
class ColourIndex:
    """Colours sorted into cells. steps: (n, 3) int16; row: (n,) uint32, the colour's place as it came;
    start: (c + 1,) where each cell begins; low, high: (c, 3) int16, the smallest box around its colours."""

    steps: NDArray[np.int16]
    row: NDArray[np.uint32]
    start: NDArray[np.int64]
    low: NDArray[np.int16]
    high: NDArray[np.int16]


def build_index(blocks: Iterator[Floats], count: int) -> ColourIndex:
    """Sort `count` L*a*b* colours, given a few thousand (n, 3) at a time, into cells.

    They are sorted by the million, so that memory holds one such block besides the result.
    """
    steps, row = np.empty((count, 3), np.int16), np.empty(count, np.uint32)
    starts, lows, highs, done = [np.zeros(1, np.int64)], [], [], 0
    for lab in _gathered(blocks):
        stored = np.rint(np.clip(lab * STEPS_PER_UNIT, -32768, 32767)).astype(np.int16)
        # int16 holds 110 cells of 3 units a side at most, so that 128 keeps the keys apart.
        light, green, blue = ((stored[:, k].astype(np.int32) + 32768) // size for k, size in enumerate(_CELL))
        key = (light * 128 + green) * 128 + blue
        del light, green, blue
        order = _order(key)
        stored, key = stored.take(order, axis=0), key[order]
        # prepend: the first colour always begins a cell.
        first = np.flatnonzero(np.diff(key, prepend=key[0] - 1))
        steps[done : done + len(key)] = stored
        row[done : done + len(key)] = order + done
        starts.append(np.append(first[1:], len(key)) + done)
        # The box round the colours is tighter than the cell, and so is the bound.
        lows.append(np.minimum.reduceat(stored, first, axis=0))
        highs.append(np.maximum.reduceat(stored, first, axis=0))
        done += len(key)
    return ColourIndex(steps, row, *(np.concatenate(v) for v in (starts, lows, highs)))


def _order(key: NDArray[np.int32]) -> NDArray[np.int64]:
    """The stable argsort of keys from 0 on. Of 16 bits NumPy counts them, which takes a quarter of the time."""
    low = np.argsort(key.astype(np.uint16), kind="stable")
    order: NDArray[np.int64] = low[np.argsort((key >> 16).astype(np.uint16)[low], kind="stable")]
    return order


def _gathered(blocks: Iterator[Floats]) -> Iterator[Floats]:
    held: list[Floats] = []
    for block in blocks:
        held.append(block)
        if sum(map(len, held)) >= _BLOCK_ROWS:
            yield np.concatenate(held)
            held = []
    if held:
        yield np.concatenate(held)


def lower_bound(target: ArrayLike, low: ArrayLike, high: ArrayLike) -> Array:
    """(n,) no colour in the box low..high (n, 3) is nearer to target (3,) than this, by CIEDE2000."""
    t, lo, hi = (np.asarray(v, np.float32) for v in (target, low, high))
    return _bound(_least_weights(t, lo, hi), t, lo, hi)


def _bound(weights: tuple[Floats, Floats], t: Floats, lo: Floats, hi: Floats) -> Array:
    light, chromatic = weights
    away = np.maximum(np.maximum(lo - t, t - hi), 0) ** 2
    bound: Array = np.sqrt(light * away[:, 0] + chromatic * (away[:, 1] + away[:, 2]))
    return bound


def _least_weights(t: Floats, lo: Floats, hi: Floats) -> tuple[Floats, Floats]:
    """(n,) the least of 1 / S_L^2 and of (1 - |R_T|/2) / S_C^2 between target and any colour of each box."""
    farthest = np.maximum(np.abs(lo), np.abs(hi))[:, 1:]
    # 0 where the box straddles an axis: the least |a| or |b| in it, not at its corners.
    closest = np.where(lo[:, 1:] * hi[:, 1:] > 0, np.minimum(np.abs(lo), np.abs(hi))[:, 1:], 0)
    chroma = np.hypot(t[1], t[2])
    most = (chroma + np.hypot(farthest[:, 0], farthest[:, 1])) / 2
    least = (chroma + np.hypot(closest[:, 0], closest[:, 1])) / 2
    # a' = (1 + G) a, and G falls as chroma rises: the least mean chroma gives the largest stretch.
    most *= 1.5 - 0.5 * np.sqrt(_seventh(least))
    turn = _most_turn(t, lo, hi) * np.sqrt(_seventh(most))
    turn[(t[2] >= 0) & (lo[:, 2] >= 0)] = 1e-6
    return _least_light(t, lo, hi), np.asarray((1 - turn) / (1 + 0.045 * most) ** 2, np.float32)


def _least_light(t: Floats, lo: Floats, hi: Floats) -> Floats:
    """(n,) the least of 1 / S_L^2 alone."""
    # S_L grows with |L - 50|, so over a box its largest is at one end.
    off = np.maximum(np.abs((t[0] + lo[:, 0]) / 2 - 50), np.abs((t[0] + hi[:, 0]) / 2 - 50)) ** 2
    return np.asarray(1 / (1 + 0.015 * off / np.sqrt(20 + off)) ** 2, np.float32)


def _most_turn(t: Floats, lo: Floats, hi: Floats) -> Floats:
    """(n,) the most that sin 2 dTheta, the blue term's, can be between target and any colour of each box.

    a' is a times 1 to 1.5; seen from the target's hue, the hues of a box that does not hold the grey axis lie between
    those of its corners, and the mean hue half as far.
    """
    a = lo[:, 1] * np.where(lo[:, 1] < 0, _MOST_STRETCH, 1), hi[:, 1] * np.where(hi[:, 1] > 0, _MOST_STRETCH, 1)
    b = lo[:, 2], hi[:, 2]
    own = np.arctan2(t[2], t[1] * np.array([1, _MOST_STRETCH], np.float32))
    middle, loose = own.mean(), np.abs(own[1] - own[0]) / 2
    corners = np.stack([np.arctan2(y, x) for x in a for y in b]) - middle
    corners = (corners + _PI) % (2 * _PI) - _PI
    first, last = corners.min(axis=0), corners.max(axis=0)
    apart = np.abs((middle + (first + last) / 4 - _BLUE + _PI) % (2 * _PI) - _PI) - (last - first) / 4 - loose / 2
    around = (a[0] <= 0) & (a[1] >= 0) & (b[0] <= 0) & (b[1] >= 0)
    # Round the axis, or past half a turn, hues lie anywhere: no bound on the turn but the largest.
    around |= (last - first >= _PI) | (np.maximum(last, -first) + loose >= _PI - np.float32(1e-3))
    apart = np.where(around, 0, np.maximum(apart - np.float32(1e-3), 0))
    result: Floats = np.sin(_PI / 3 * np.exp(-((apart / np.float32(np.radians(25))) ** 2)))
    return result


def _seventh(chroma: Floats) -> Floats:
    ratio = chroma / np.float32(25)
    squared = ratio * ratio
    power = squared * squared * squared * ratio
    result: Floats = power / (power + np.float32(1))
    return result


def within(
    index: ColourIndex, target: ArrayLike, step: float, best: float = np.inf
) -> tuple[NDArray[np.int64], Floats]:
    """Rows and CIEDE2000 of every colour within `allowed(best, step)` of the target (a margin of ROUNDING more).

    best: what is known to be as near, from elsewhere; 0 asks for what lies within a step. Cells are read in the order
    of their lower bounds until no cell can hold a colour that belongs to the answer.
    """
    aim = np.asarray(target, np.float64)
    best = min(best, _somewhere(index, aim)) if np.isinf(best) else best
    limit = allowed(best + ROUNDING, step) + ROUNDING
    cells = _light_enough(index, aim, limit)
    t, lo, hi = aim.astype(np.float32), _lab(index.low[cells]), _lab(index.high[cells])
    weights = _least_weights(t, lo, hi)
    bound = _bound(weights, t, lo, hi)
    inside = np.flatnonzero(bound <= limit)
    order = inside[np.argsort(bound[inside], kind="stable")]
    cells, bound, weights = cells[order], bound[order], (weights[0][order], weights[1][order])
    found, at, batch = [(np.zeros(0, np.int64), np.zeros(0, np.float32))], 0, 1
    # A batch ends with so many colours, however full the cells are, so that memory stays bounded.
    held = np.concatenate([[0], np.cumsum(index.start[cells + 1] - index.start[cells])])
    while at < len(cells) and bound[at] <= (limit := allowed(best + ROUNDING, step) + ROUNDING):
        full = max(at + 1, int(np.searchsorted(held, held[at] + _ROWS_AT_ONCE)))
        these = slice(at, min(at + batch, full, int(np.searchsorted(bound, limit, side="right"))))
        found.append(_in_cells(index, (cells[these], (weights[0][these], weights[1][these])), aim, limit))
        best = min(best, float(found[-1][1].min(initial=np.inf)))
        # Few cells at first, as the best may still sink; then more at a time, as calls cost more than colours.
        at, batch = these.stop, max(4, 2 * batch)
    row, difference = (np.concatenate(v) for v in zip(*found, strict=True))
    kept = difference <= allowed(best + ROUNDING, step) + ROUNDING
    return row[kept], difference[kept]


def allowed(best: float, step: float) -> float:
    """How far a recipe may lie from its target when the best lies `best` from it, all CIEDE2000: anything within a step
    of the target is as good to the eye; where nothing is, anything within a step of the best."""
    return step if best <= step else best + step


def _lab(steps: NDArray[np.int16]) -> Floats:
    return np.asarray(steps / _UNIT, np.float32)


def _somewhere(index: ColourIndex, aim: Array) -> float:
    """CIEDE2000 of the nearest colour of a cell that is near: no more than this need be looked for."""
    far = (_lab(index.low) + _lab(index.high)) / 2 - aim.astype(np.float32)
    cell = int((far * far).sum(axis=1).argmin())
    return float(rough_delta_e(_lab(index.steps[index.start[cell] : index.start[cell + 1]]), aim).min())


def _light_enough(index: ColourIndex, aim: Array, limit: float) -> NDArray[np.int64]:
    """The cells that lightness alone does not put beyond the limit: a tenth of them, at a tenth of the work of their
    bounds."""
    t, lo, hi = aim[:1].astype(np.float32), _lab(index.low[:, :1]), _lab(index.high[:, :1])
    away = np.maximum(np.maximum(lo - t, t - hi), 0)[:, 0]
    # A little more than the limit: the bound must not be the one to find a cell inside by its last digit.
    return np.flatnonzero(np.sqrt(_least_light(t, lo, hi)) * away <= 1.001 * limit)


def _in_cells(
    index: ColourIndex, among: tuple[NDArray[np.int64], tuple[Floats, Floats]], aim: Array, limit: float
) -> tuple[NDArray[np.int64], Floats]:
    """Rows and CIEDE2000 of the colours in these cells that can lie within the limit. among: the cells with their
    `_least_weights`."""
    cells, weights = among
    spans = [slice(index.start[c], index.start[c + 1]) for c in cells]
    lab = _lab(np.concatenate([index.steps[s] for s in spans]))
    row = np.concatenate([index.row[s] for s in spans])
    t = aim.astype(np.float32)
    held = [s.stop - s.start for s in spans]
    # The bound again, now of each colour: cheap, and most of a cell never gets to CIEDE2000.
    light, chromatic = (np.repeat(w, held) for w in weights)
    away = (lab - t) ** 2
    near = light * away[:, 0] + chromatic * (away[:, 1] + away[:, 2]) <= limit * limit
    return row[near].astype(np.int64), rough_delta_e(lab[near], aim)
