"""The colour of each region from its own pixels, and the palette these colours make."""

from dataclasses import dataclass

import numpy as np

from finishplan.colour.light import rgb8_from_lab
from finishplan.drawing.paper import from_linear, to_linear
from finishplan.drawing.tones import keys_of, lab_of, tone_of

NEAR = 3.0
STREAKED = 9.0
"""DIN99b from the commonest tone to what counts for a region's colour; the same where the streaks of a hand vary about
the colour that was laid (our rule)."""
LATTICE = 4
SAMPLE = 300
"""Pixels on the lattice that are enough to tell a colour by (our numerical step)."""
INDISTINCT = 1.0
FULLER = 0.4
"""Of what a hand laid, how much tells its colour: the part with the least paper in it, since flecks of bare paper too
fine to see make the rest paler (our rule)."""
GLOSS, GREY = 0.92, 6.0
"""Of the chroma of an area, less than which a lighter place is a gloss on it, and the chroma in Lab from which on that
can be told (our rules)."""


@dataclass(frozen=True, eq=False)
class Laid:
    """How a drawing's colours were laid. near: DIN99b from the commonest tone of a region to what counts for its
    colour. paper: (3,) linear light of the paper that shows through in flecks, None where none does."""

    near: float = NEAR
    paper: np.ndarray | None = None


def region_colours(rgb: np.ndarray, labels: np.ndarray, inner: np.ndarray, n: int, how: Laid = Laid()) -> np.ndarray:
    """(n + 1, 3) sRGB 0-255: the mean, in linear light, of each region's inner pixels close to its commonest tone.

    rgb: (h, w, 3) uint8 sRGB; labels: (h, w) int, 1..n; inner: (h, w) bool; how: they were laid. The commonest tone is
    the colour that was laid; shading, glints and grain on top of it are left out.
    """
    at = _sample(labels, inner, n)
    chosen, pixels = labels.ravel()[at], rgb.reshape(-1, 3)[at]
    keys = keys_of(pixels[:, None])[:, 0].astype(np.int64)
    code = chosen.astype(np.int64) * 32768 + keys
    codes, where, count = np.unique(code, return_inverse=True, return_counts=True)
    light = to_linear(np.arange(256))
    sums = np.stack([np.bincount(where, light[pixels[:, k]]) for k in range(3)], -1)
    owner = codes // 32768
    tones = tone_of(from_linear(sums / count[:, None]))
    out = np.zeros((n + 1, 3))
    starts = np.searchsorted(owner, np.arange(n + 2))
    for i in range(1, n + 1):
        span = slice(starts[i], starts[i + 1])
        if starts[i] == starts[i + 1]:
            continue
        laid = _commonest(tones[span], count[span], how.near)
        light, weight = sums[span][laid] / count[span][laid][:, None], count[span][laid]
        mean = np.average(light, axis=0, weights=weight)
        out[i] = from_linear(mean if how.paper is None else mean + _to_fuller(light - mean, weight, how.paper - mean))
    return out


def _to_fuller(off: np.ndarray, weight: np.ndarray, way: np.ndarray) -> np.ndarray:
    """(3,) linear light from the mean of bins to that of the fuller part of them. off: (k, 3) from the mean, of
    (k,) weight; way: (3,) from the mean to the paper. As far as they vary along that way: streaks that were pressed on
    harder vary along another, and their mean is the colour."""
    way = way / max(float(np.linalg.norm(way)), 1e-9)
    along, total = off @ way, float(weight @ (off**2).sum(1))
    order = np.argsort(along, kind="stable")
    fuller = order[np.cumsum(weight[order]) - weight[order] < FULLER * weight.sum()]
    share = float(weight @ along**2) / max(total, 1e-12)
    moved: np.ndarray = share * np.average(off[fuller], axis=0, weights=weight[fuller])
    return moved


def shaded_colours(rgb: np.ndarray, labels: np.ndarray, inner: np.ndarray, n: int) -> np.ndarray:
    """(n + 1, 3) sRGB 0-255 of softly shaded regions: the mean of each one's inner pixels in CIE Lab, a gloss left out.

    rgb, labels, inner, n: as of region_colours. A shading lies to both sides of the colour that was laid, a gloss,
    which is lighter and duller, to one side alone.
    """
    at = _sample(labels, inner, n)
    owner, lab = labels.ravel()[at], lab_of(rgb.reshape(-1, 3)[at])
    mean = _means(lab, owner, np.ones(len(owner)), n)
    for _ in range(2):  # the first mean holds the gloss that it is to find
        chroma = np.hypot(mean[:, 1], mean[:, 2])
        along = (lab[:, 1:] * (mean[:, 1:] / np.maximum(chroma, 1e-9)[:, None])[owner]).sum(1)
        gloss = (lab[:, 0] > mean[owner, 0]) & (along < GLOSS * chroma[owner]) & (chroma[owner] > GREY)
        mean = _means(lab, owner, np.where(gloss, 1e-6, 1.0), n)
    return rgb8_from_lab(mean).astype(float)


def _means(values: np.ndarray, owner: np.ndarray, weight: np.ndarray, n: int) -> np.ndarray:
    """(n + 1, 3) weighted mean of the values (m, 3) of each owner; 0 where there are none."""
    total = np.maximum(np.bincount(owner, weight, minlength=n + 1), 1e-9)
    return np.stack([np.bincount(owner, weight * column, minlength=n + 1) / total for column in values.T], -1)


def _sample(labels: np.ndarray, inner: np.ndarray, n: int) -> np.ndarray:
    """Flat indices of enough inner pixels: all of a small region, those on a lattice of a large one."""
    coarse = np.bincount(labels[::LATTICE, ::LATTICE][inner[::LATTICE, ::LATTICE]], minlength=n + 1)
    kept = (coarse < SAMPLE)[labels] & inner
    kept[::LATTICE, ::LATTICE] = inner[::LATTICE, ::LATTICE]
    return np.flatnonzero(kept)


def _commonest(tones: np.ndarray, count: np.ndarray, reach: float) -> np.ndarray:
    """Mask of the bins within `reach` of the densest place."""
    # A cap on the candidates: the densest place lies among the commonest keys.
    top = np.argsort(-count, kind="stable")[:200]
    squared = ((tones[top][:, None] - tones[None]) ** 2).sum(-1)
    density = np.exp(-squared / (2 * (reach / 2) ** 2)) @ count
    near: np.ndarray = squared[density.argmax()] <= reach**2
    return near


def group_colours(
    colours: np.ndarray, weight: np.ndarray, same: float, wanted: int | None, light: float = 1.0
) -> np.ndarray:
    """(n,) group of each sRGB colour (n, 3), 0-255: the nearest two groups are joined, weighted (n,), until all are
    `same` apart (DIN99b), or until at most `wanted` are left. light: what a difference of lightness counts for. Groups
    are numbered by falling weight."""
    centre, mass = tone_of(colours) * [light, 1, 1], weight.astype(float).copy()
    n = len(centre)
    group, live = np.arange(n), np.ones(n, bool)
    distance = np.linalg.norm(centre[:, None] - centre[None], axis=-1)
    np.fill_diagonal(distance, np.inf)
    while live.sum() > 1:
        a, b = divmod(int(distance.argmin()), n)
        if distance[a, b] >= (same if wanted is None else INDISTINCT) and live.sum() <= (wanted or n):
            break
        centre[a] = (mass[a] * centre[a] + mass[b] * centre[b]) / (mass[a] + mass[b])
        mass[a] += mass[b]
        group[group == b] = a
        live[b] = False
        fresh = np.where(live, np.linalg.norm(centre - centre[a], axis=1), np.inf)
        fresh[a] = np.inf
        distance[a], distance[:, a] = fresh, fresh
        distance[b], distance[:, b] = np.inf, np.inf
    names = np.unique(group)
    total = np.bincount(group, weight, minlength=n)[names]
    rank = np.empty(len(names), int)
    rank[np.argsort(-total, kind="stable")] = np.arange(len(names))
    numbered: np.ndarray = rank[np.searchsorted(names, group)]
    return numbered
