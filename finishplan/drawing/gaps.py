"""White paper that shows between parts of a figure: between an arm and the body, between two legs."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from finishplan.drawing.contacts import Contacts, Parting, contacts
from finishplan.drawing.filters import square_filter
from finishplan.drawing.palette import region_colours
from finishplan.drawing.regions import GROUND, UNKNOWN, absorb, renumber
from finishplan.drawing.tones import tone_of
from finishplan.drawing.view import View

VERY_COLOUR = 1.0
"""DIN99b from the paper, within which a region has its very colour (our rule)."""
MOST_TOLD = 3
"""Gaps told with their places (our layout)."""


def without_gaps(
    view: View, parting: Parting, paper: np.ndarray, painted: Iterable[tuple[float, float]]
) -> tuple[Parting, tuple[str, ...]]:
    """The parting without the paper, (3,) DIN99b, that shows between parts of the figure, and a note of it. painted:
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


def gaps(labels: np.ndarray, own: np.ndarray, met: Contacts, paper: np.ndarray) -> np.ndarray:
    """(n + 1,) bool: regions 1..n of (h, w) int labels that are paper, by their (n + 1, 3) sRGB and the paper's (3,)
    DIN99b.

    Such have the very colour of the paper and several areas round them. Where one alone lies round a region of that
    colour, as round the white of an eye, or the background beside it, the figure has white paint, and none is a gap.
    """
    n = len(own) - 1
    pale: np.ndarray = np.linalg.norm(tone_of(own) - paper, axis=1) < VERY_COLOUR
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
    places = []
    for number in np.flatnonzero(gap).tolist():
        inside = np.flatnonzero(labels == number)
        y, x = divmod(int(inside[len(inside) // 2]), labels.shape[1])
        places.append("[{:.3f}, {:.3f}]".format(*view.place(x, y)))
    more = f" and {len(places) - MOST_TOLD} more" if len(places) > MOST_TOLD else ""
    what = f"white between areas, taken for gaps where the paper shows: {', '.join(places[:MOST_TOLD])}{more}"
    return f"{what}. If one is paint, write its place under [figure]: details = [[x, y]]"
