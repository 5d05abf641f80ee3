"""The colours of a picture, found in a histogram of 15-bit colour keys instead of in its pixels.

Distances are taken in DIN99b coordinates (Cui, Luo, Rigg, Roesler, Witt, Color Res. Appl. 27, 2002, table 1), in
which a straight line is close to a visible difference: a cheap stand-in for CIEDE2000 where thousands are needed.
"""

from dataclasses import dataclass

import numpy as np

from finishplan.drawing.components import counted

KEYS = 1 << 15
MAX_BINS = 2000
MAX_CLASSES = 64
UNSURE = 12.0
"""A pixel farther than this from every class belongs to none, DIN99b."""
FAR = 1000.0
RARE = 0.06


def din99(lab: np.ndarray) -> np.ndarray:
    """DIN99b coordinates (..., 3) of CIE Lab D65 (..., 3), see above; 1 is about one just visible difference."""
    # DIN99b of Cui and others, table 1: the axes turned by 26 degrees, the yellow-blue one times 0.83.
    turn = np.deg2rad(26)
    e = np.cos(turn) * lab[..., 1] + np.sin(turn) * lab[..., 2]
    f = 0.83 * (np.cos(turn) * lab[..., 2] - np.sin(turn) * lab[..., 1])
    chroma = np.hypot(e, f)
    hue = np.arctan2(f, e) + turn
    c99 = 23.0 * np.log1p(0.075 * chroma)
    lightness = 303.67 * np.log1p(0.0039 * lab[..., 0])
    return np.stack([lightness, c99 * np.cos(hue), c99 * np.sin(hue)], axis=-1)


def lab_of(rgb: np.ndarray) -> np.ndarray:
    """CIE Lab D65 (..., 3) of sRGB 0-255 (..., 3), rounded to whole values."""
    from finishplan.colour.light import lab_from_rgb8

    return lab_from_rgb8(np.rint(rgb))


def tone_of(rgb: np.ndarray) -> np.ndarray:
    """DIN99b coordinates (..., 3) of sRGB 0-255 (..., 3)."""
    return din99(lab_of(rgb))


def keys_of(rgb: np.ndarray) -> np.ndarray:
    """(h, w) uint16: five bits of each of red, green, blue of (h, w, 3) uint8 sRGB."""
    packed: np.ndarray = (rgb[..., 0] >> 3).astype(np.uint16)
    for k in (1, 2):
        packed <<= 5
        packed |= rgb[..., k] >> 3
    return packed


@dataclass(frozen=True, eq=False)
class Classes:
    """of_pixel: (h, w) uint8, the class of each pixel, `unsure` where it is like none of them. quiet: (h, w) bool,
    pixels away from any border. rgb: (n, 3) sRGB 0-255 of each class. tone: (n + 1, 3) DIN99b, the last row far from
    everything."""

    of_pixel: np.ndarray
    quiet: np.ndarray
    rgb: np.ndarray
    tone: np.ndarray

    @property
    def unsure(self) -> int:
        """The number, one past the classes, of pixels that belong to none: rims, fine lines, specks of dirt."""
        return len(self.rgb)


@dataclass(frozen=True)
class Fineness:
    """How finely colours are told apart. width: kernel of the density estimate; reach: distance within which a colour
    belongs to a more frequent one; faint: within which a much rarer colour than another is none (all DIN99b). least:
    quiet pixels a colour must have."""

    width: float
    reach: float
    least: float
    faint: float = 0.0


@dataclass(frozen=True, eq=False)
class Bins:
    """Of the k colour keys that a picture has: tones (k, 3) DIN99b; rgb (k, 3) mean sRGB 0-255; weights (k,) quiet
    pixels."""

    tones: np.ndarray
    rgb: np.ndarray
    weights: np.ndarray

    def mean(self, these: np.ndarray) -> np.ndarray:
        """(3,) mean sRGB of some of the keys."""
        mean: np.ndarray = np.average(self.rgb[these], axis=0, weights=self.weights[these])
        return mean


def classify(rgb: np.ndarray, quiet: np.ndarray, fine: Fineness) -> Classes:
    """Sort the pixels of (h, w, 3) uint8 sRGB into the colours that stand out in its quiet places (density peaks:
    Rodriguez, Laio, Science 344, 2014).

    quiet: (h, w) bool, pixels away from any border: only these make a colour, so that anti-aliasing and ringing do
    not.
    """
    keys = keys_of(rgb)
    every, calm = counted(keys, KEYS), counted(keys, KEYS, quiet)
    used = np.flatnonzero(every)
    means = _key_means(rgb, keys, quiet)[used]
    bins = Bins(tone_of(means), means, calm[used].astype(float))
    centres = _centres(bins, fine)
    # A long shading slopes up to one peak; both its ends would be given to other colours.
    ends = _uncovered(bins, tone_of(centres), max(1.5 * fine.reach, fine.faint), fine.least)
    centres = np.vstack([centres, *ends])[:MAX_CLASSES]
    centre_tones = tone_of(centres)
    # One axis after the other: all three at once would take three times the memory, and longer.
    distance = sum((bins.tones[:, k, None] - centre_tones[:, k]) ** 2 for k in range(3))
    table = np.zeros(KEYS, np.uint8)
    table[used] = np.where(distance.min(1) <= UNSURE**2, distance.argmin(1), len(centres))
    return Classes(table.take(keys), quiet, centres, np.vstack([centre_tones, np.full(3, FAR)]))


def _centres(bins: Bins, fine: Fineness) -> np.ndarray:
    """(k, 3) sRGB of the colours that stand out, the commonest first."""
    peaks, owner = _density_peaks(bins, fine.width, fine.reach)
    mass = np.bincount(owner[owner >= 0], bins.weights[owner >= 0], minlength=len(peaks))
    tones = bins.tones[peaks]
    apart = np.linalg.norm(tones[:, None] - tones[None], axis=-1)
    # Ripples of compression beside a much commoner colour are no colour of their own.
    ripple = ((apart < fine.faint) & (mass[:, None] < RARE * mass[None])).any(1)
    strong = np.flatnonzero((mass >= min(fine.least, mass.max())) & ~ripple)
    strong = strong[np.argsort(-mass[strong], kind="stable")][:MAX_CLASSES]
    near = (((bins.tones - tones[k]) ** 2).sum(1) <= fine.width**2 for k in strong)
    return np.array([bins.mean(these) for these in near])


def _key_means(rgb: np.ndarray, keys: np.ndarray, quiet: np.ndarray) -> np.ndarray:
    """(KEYS, 3) mean sRGB of the quiet pixels of each key; the middle of the key where it has none."""
    index = np.arange(KEYS)
    middle = np.stack([index >> 10, (index >> 5) & 31, index & 31], axis=-1) * 8 + 3.5
    # A mean of every other pixel is the same mean.
    every = 2 if keys.size > 400_000 else 1
    rgb, keys, quiet = rgb[::every, ::every], keys[::every, ::every], quiet[::every, ::every]
    chosen, pixels = keys[quiet], rgb[quiet]
    count = np.bincount(chosen, minlength=KEYS)
    for channel in range(3):
        total = np.bincount(chosen, pixels[:, channel], minlength=KEYS)
        np.divide(total, count, out=middle[:, channel], where=count > 0)
    return middle


def _density_peaks(bins: Bins, width: float, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """(indices of the peaks, peak number of each bin or -1): each bin belongs to the nearest denser one in reach.

    Clustering by density peaks (Rodriguez, Laio, Science 344, 2014), with a fixed reach.
    """
    tones, weights = bins.tones, bins.weights
    heavy = np.sort(np.argsort(-weights, kind="stable")[:MAX_BINS])
    heavy = heavy[weights[heavy] > 0]
    points, mass = tones[heavy], weights[heavy]
    # Expanded: differences of all bins from all would take three times the memory; below 0 by rounding alone.
    squared = np.maximum((points**2).sum(1)[:, None] + (points**2).sum(1)[None] - 2 * points @ points.T, 0)
    density = np.exp(-squared / (2 * width**2)) @ mass
    order = np.argsort(-density, kind="stable")
    rank = np.empty(len(order), int)
    rank[order] = np.arange(len(order))
    # Only denser bins can be a parent; the densest has none, so its distance is infinite and it is a peak.
    squared[rank[None, :] >= rank[:, None]] = np.inf
    parent = squared.argmin(1)
    is_peak = squared[np.arange(len(heavy)), parent] > reach**2
    number = np.full(len(heavy), -1)
    number[is_peak] = np.arange(is_peak.sum())
    # From dense to thin: every parent has its number before it is asked.
    for i in order:
        if number[i] < 0:
            number[i] = number[parent[i]]
    owner = np.full(len(weights), -1)
    owner[heavy] = number
    return heavy[is_peak], owner


def _uncovered(bins: Bins, centres: np.ndarray, far: float, least: float) -> list[np.ndarray]:
    """Colours of at least so many quiet pixels farther than `far` from every one of the centres (k, 3) DIN99b: the ends
    of long shadings, which have no peak."""
    tones, weights, found = bins.tones, bins.weights, list[np.ndarray]()
    left = np.flatnonzero((((tones[:, None] - centres[None]) ** 2).sum(-1).min(1) > far**2) & (weights > 0))
    while len(left) and len(centres) + len(found) < MAX_CLASSES:
        order = left[np.argsort(-weights[left], kind="stable")[:MAX_BINS]]
        near = ((tones[order[0]] - tones[left]) ** 2).sum(-1) <= far**2
        if weights[left[near]].sum() >= least:
            found.append(bins.mean(left[near]))
        left = left[~near]
    return found
