"""White paper that shows between parts of a figure: between an arm and the body, between two legs."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from finishplan.drawing.contacts import Contacts, Parting, contacts
from finishplan.drawing.palette import region_colours
from finishplan.drawing.regions import GROUND, UNKNOWN, absorb, renumber
from finishplan.drawing.tones import tone_of
from finishplan.drawing.view import View

VERY_COLOUR, MOST_SPREAD = 1.0, 4.0
"""DIN99b from the paper, within which a region has its very colour, beyond what the paper itself varies by; the most
that it is taken to vary by (our rule)."""
SHADED = 6.0
"""DIN99b by which a shadow that was not found may darken the paper of a photograph (our rule)."""
OPENING = 0.12
"""Of the outline of a gap, that may lie open to the background in a scan or photograph, where blurred lines nearly
close it (our rule)."""
BLOCK, NEARLY_ALL = 16, 0.95
"""Working pixels of a block whose mean tells how the paper varies, grain apart; share of the blocks that do not vary
more (our numerical step)."""
WHITE, TINTED = np.full(3, 255.0), 2.0
"""sRGB; DIN99b from white, from which paper has a colour that nobody paints with by chance (our rule)."""
LARGEST, BETWEEN_LIMBS = 0.06, 0.75
"""Of the figure, that a gap takes at most; share of its rim along areas that have an outer side. Of 25 gaps between
limbs in figures made by chance 92 % keep to both, of 588 inner areas 26 % (our rule)."""
MOST_TOLD = 3
"""Gaps told with their places (our layout)."""


@dataclass(frozen=True, eq=False)
class Bare:
    """The paper as a picture shows it. tone: (3,) DIN99b; spread: DIN99b by which it varies; shaded: by which
    a shadow darkens it; opening: 0-1 of a gap's outline that may be open."""

    tone: np.ndarray
    spread: float = 0.0
    shaded: float = 0.0
    opening: float = 0.0

    @classmethod
    def seen(cls, tone: np.ndarray, rgb: np.ndarray, ground: np.ndarray, *, photo: bool) -> "Bare":
        """The paper of that tone, (h, w) bool ground, of a scan or photograph (h, w, 3) uint8 sRGB."""
        height, width = (side // BLOCK * BLOCK for side in ground.shape)

        def blocks(values: np.ndarray) -> np.ndarray:
            tiled = values[:height, :width].reshape(height // BLOCK, BLOCK, width // BLOCK, BLOCK, -1)
            mean: np.ndarray = tiled.mean((1, 3))
            return mean

        tones = tone_of(blocks(rgb)[blocks(ground)[..., 0] == 1])
        off = np.linalg.norm(tones - tone, axis=1)
        spread = float(np.quantile(off, NEARLY_ALL)) if len(off) else 0.0
        return cls(tone, min(spread, MOST_SPREAD), SHADED if photo else 0.0, OPENING)

    def holds(self, tones: np.ndarray) -> np.ndarray:
        """(n,) bool: which of the (n, 3) tones, DIN99b, are its very colour, in its own light or in shadow."""
        off = tones - self.tone
        # In shadow: darker, but not of another hue.
        off[:, 0] = np.maximum(off[:, 0], np.minimum(off[:, 0] + self.shaded, 0))
        held: np.ndarray = np.linalg.norm(off, axis=1) < VERY_COLOUR + self.spread
        return held


def without_gaps(
    view: View, parting: Parting, paper: Bare, painted: Iterable[tuple[float, float]]
) -> tuple[Parting, tuple[str, ...]]:
    """The parting without the paper that shows between parts of the figure, and a note of it. painted:
    places, x and y in the window, where the maker told that it is paint."""
    labels, lines, rgb, n = parting.labels, parting.lines, view.picture.rgb, parting.regions
    gap = gaps(labels, region_colours(rgb, labels, parting.inner & (labels > 0), n), parting.met, paper)
    places = [(round(x), round(y)) for x, y in painted]
    gap[[labels[y, x] for x, y in places if 0 <= y < labels.shape[0] and 0 <= x < labels.shape[1]]] = False
    if not gap.any():
        return parting, ()
    note = gap_note(labels, gap, view)
    labels = renumber(opened(labels, gap, lines.mask, 2.5 * lines.width + 4))[0]
    return replace(parting, labels=labels, met=contacts(labels, rgb, lines, view.trace)), (note,)


def gaps(labels: np.ndarray, own: np.ndarray, met: Contacts, paper: Bare) -> np.ndarray:
    """(n + 1,) bool: regions 1..n of (h, w) int labels that are paper, by their (n + 1, 3) sRGB.

    Such have the very colour of the paper and several areas round them. Where one alone lies round a region of that
    colour, as round the white of an eye, or the background beside it, the figure has white paint, and none is a gap.
    On white paper, which white paint is as white as, a gap is small, too, and lies between limbs: what is round it has
    an outer side. A belly is larger, or has a collar, a belt or buttons beside it that lie inside the figure.
    """
    n = len(own) - 1
    pale = paper.holds(tone_of(own))
    pale[0] = False
    if not pale.any():
        return pale
    open_share = _open_share(labels, met, n)
    open_rim = open_share > paper.opening
    beside = np.bincount(met.pairs.ravel(), minlength=n + 1)
    # What has one neighbour and no background beside it lies inside that one, and does not surround it.
    surrounds = open_rim | (beside > 1)
    around = _beside(met, surrounds)
    painted = bool((pale & (open_rim | (around < 2))).any())
    if painted:
        return np.zeros(n + 1, bool)
    if np.linalg.norm(paper.tone - tone_of(WHITE)) < TINTED:
        share = np.bincount(labels.ravel(), minlength=n + 1) / max(int((labels > 0).sum()), 1)
        pale &= share < LARGEST
        # A rung has gaps on both sides, and no other outside.
        outer = (open_share > 0) | (_beside(met, pale) > 1)
        pale &= _along(met, outer) > BETWEEN_LIMBS
    return pale


def _beside(met: Contacts, which: np.ndarray) -> np.ndarray:
    """(n + 1,) how many neighbours of each region are among those (n + 1,) bool."""
    return _summed(met, which, np.ones(len(met.pairs)))


def _along(met: Contacts, which: np.ndarray) -> np.ndarray:
    """(n + 1,) share 0-1 of each region's borders that runs along those (n + 1,) bool."""
    share: np.ndarray = _summed(met, which, met.sides) / np.maximum(_summed(met, np.ones_like(which), met.sides), 1)
    return share


def _summed(met: Contacts, which: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """(n + 1,) sums of the pairs' weights (m,) over those neighbours of each region that are among `which`."""
    total = np.zeros(len(which))
    for one, two in (met.pairs.T, met.pairs.T[::-1]):
        total += np.bincount(one, weight * which[two], minlength=len(which))
    return total


def _open_share(labels: np.ndarray, met: Contacts, n: int) -> np.ndarray:
    """(n + 1,) 0-1 of the outline of each region 1..n of (h, w) int labels that meets the background."""
    open_sides = np.zeros(n + 1)
    for one, two in ((labels[:, 1:], labels[:, :-1]), (labels[1:], labels[:-1])):
        for here, there in ((one, two), (two, one)):
            open_sides += np.bincount(here[(there == 0) & (here > 0)], minlength=n + 1)
    share: np.ndarray = open_sides / np.maximum(
        open_sides + np.bincount(met.pairs.ravel(), np.repeat(met.sides, 2), n + 1), 1
    )
    return share


def opened(labels: np.ndarray, gap: np.ndarray, lines: np.ndarray, reach: float) -> np.ndarray:
    """(h, w) int labels with the gaps (n + 1,) given to the background, and the ends of the (h, w) bool lines in them
    to the nearest area within `reach` pixels."""
    free = gap[labels]
    marked = np.where(free & lines, UNKNOWN, np.where(free | (labels == 0), GROUND, labels))
    return absorb(marked, lines, reach)


def gap_note(labels: np.ndarray, gap: np.ndarray, view: View) -> str:
    """What to say of the gaps (n + 1,) in (h, w) int labels."""
    places = []
    for number in np.flatnonzero(gap).tolist():
        inside = np.flatnonzero(labels == number)
        y, x = divmod(int(inside[len(inside) // 2]), labels.shape[1])
        places.append("[{:.3f}, {:.3f}]".format(*view.place(x, y)))
    more = f" and {len(places) - MOST_TOLD} more" if len(places) > MOST_TOLD else ""
    what = f"white between areas, taken for gaps where the paper shows: {', '.join(places[:MOST_TOLD])}{more}"
    return f"{what}. If one is paint, write its place under [figure]: details = [[x, y]]"
