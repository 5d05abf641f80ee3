"""White paper that shows between parts of a figure: between an arm and the body, between two legs."""

import numpy as np

from finishplan.drawing.contacts import Contacts
from finishplan.drawing.filters import square_filter
from finishplan.drawing.regions import GROUND, UNKNOWN, absorb
from finishplan.drawing.tones import tone_of
from finishplan.drawing.view import View

VERY_COLOUR, MOST_SPREAD = 1.0, 4.0
"""DIN99b from the paper, within which a region has its very colour, beyond what the paper itself varies by; the most
that it is taken to vary by (our rule)."""
BLOCK, NEARLY_ALL = 16, 0.95
"""Working pixels of a block whose mean tells how the paper varies, grain apart; share of the blocks that do not vary
more (our numerical step)."""
MOST_TOLD = 3
"""Gaps told with their places (our layout)."""


def paper_spread(rgb: np.ndarray, ground: np.ndarray) -> float:
    """DIN99b by which the paper, (h, w) bool ground, of (h, w, 3) uint8 sRGB varies about its median."""
    height, width = (side // BLOCK * BLOCK for side in ground.shape)

    def blocks(values: np.ndarray) -> np.ndarray:
        tiled = values[:height, :width].reshape(height // BLOCK, BLOCK, width // BLOCK, BLOCK, -1)
        mean: np.ndarray = tiled.mean((1, 3))
        return mean

    bare = blocks(ground)[..., 0] == 1
    if not bare.any():
        return 0.0
    tones = tone_of(blocks(rgb)[bare])
    off = np.linalg.norm(tones - np.median(tones, axis=0), axis=1)
    return min(float(np.quantile(off, NEARLY_ALL)), MOST_SPREAD)


def gaps(labels: np.ndarray, own: np.ndarray, met: Contacts, paper: np.ndarray, spread: float = 0.0) -> np.ndarray:
    """(n + 1,) bool: regions 1..n of (h, w) int labels that are paper, by their (n + 1, 3) sRGB, the paper's (3,)
    DIN99b and its spread, DIN99b.

    Such have the very colour of the paper and several areas round them. Where one alone lies round a region of that
    colour, as round the white of an eye, or the background beside it, the figure has white paint, and none is a gap.
    """
    n = len(own) - 1
    pale: np.ndarray = np.linalg.norm(tone_of(own) - paper, axis=1) < VERY_COLOUR + spread
    pale[0] = False
    if not pale.any():
        return pale
    figure = (labels > 0).view(np.uint8)
    open_rim = np.zeros(n + 1, bool)
    open_rim[labels[(figure > 0) & (square_filter(figure, 3, largest=False) == 0)]] = True
    beside = np.bincount(met.pairs.ravel(), minlength=n + 1)
    # What has one neighbour and no background beside it lies inside that one, and does not surround it.
    surrounds = open_rim | (beside > 1)
    around = np.zeros(n + 1, int)
    for one, two in (met.pairs.T, met.pairs.T[::-1]):
        around += np.bincount(one, surrounds[two], minlength=n + 1).astype(int)
    painted = bool((pale & (open_rim | (around < 2))).any())
    return np.zeros(n + 1, bool) if painted else pale


def opened(labels: np.ndarray, gap: np.ndarray, lines: np.ndarray, reach: float) -> np.ndarray:
    """(h, w) int labels with the gaps (n + 1,) given to the background, and the ends of the (h, w) bool lines in them
    to the nearest area within `reach` pixels."""
    free = gap[labels]
    marked = np.where(free & lines, UNKNOWN, np.where(free | (labels == 0), GROUND, labels))
    return absorb(marked, lines, reach)


def gap_note(labels: np.ndarray, gap: np.ndarray, view: View) -> str:
    """What to say of the gaps (n + 1,) in (h, w) int labels."""
    (across, down), (left, top), scale = view.size, view.corner, view.picture.scale
    places = []
    for number in np.flatnonzero(gap).tolist():
        inside = np.flatnonzero(labels == number)
        y, x = divmod(int(inside[len(inside) // 2]), labels.shape[1])
        places.append(f"[{(x + left) / scale / across:.3f}, {(y + top) / scale / down:.3f}]")
    more = f" and {len(places) - MOST_TOLD} more" if len(places) > MOST_TOLD else ""
    what = f"white between areas, taken for gaps where the paper shows: {', '.join(places[:MOST_TOLD])}{more}"
    return f"{what}. If one is paint, write its place under [figure]: details = [[x, y]]"
