"""Readings set down by hand: a few flat areas on a sheet of 200 x 200 pixels."""

from collections.abc import Sequence

import numpy as np

from finishplan.colour.light import lab_from_hex
from finishplan.drawing.matching import Matching, match
from finishplan.drawing.model import Area, Drawing, Edge, marks_of
from finishplan.drawing.registration import small_map
from finishplan.drawing.tones import FAR, Classes

Box = tuple[int, int, int, int]
SIDE = 200


def reading(rows: Sequence[tuple[Box, str]], touching: Sequence[tuple[int, int]] = ()) -> Drawing:
    """Areas 1, 2 ... of those boxes (left, top, right, bottom) and colours, later ones over earlier ones."""
    labels = np.zeros((SIDE, SIDE), np.int32)
    for i, ((left, top, right, low), _) in enumerate(rows, 1):
        labels[top:low, left:right] = i
    total, areas = (labels > 0).sum(), []
    for i, (box, colour) in enumerate(rows, 1):
        y, x = np.nonzero(labels == i)
        lab = tuple(float(v) for v in lab_from_hex(colour))
        middle = (float(x.mean()) + 0.5, float(y.mean()) + 0.5)
        areas.append(Area(i, 0, 0, colour, lab, len(x) / total, len(x), 9.0, 9.0, middle, box))  # type: ignore[arg-type]
    edges = tuple(Edge(pair, 20.0, 1.0, False) for pair in touching)
    return Drawing(
        "a.png", (SIDE, SIDE), 1.0, "flat", None, None, (), tuple(areas), edges, (), labels, np.zeros_like(labels, bool)
    )


def matched(before: Drawing, after: Drawing) -> Matching:
    """What is found again of one reading in another."""
    return match(marks_of(before), small_map(before), after)


def moved(rows: Sequence[tuple[Box, str]], number: int, right: int, down: int) -> list[tuple[Box, str]]:
    """The same with one box elsewhere."""
    (a, b, c, d), colour = rows[number]
    return [*rows[:number], ((a + right, b + down, c + right, d + down), colour), *rows[number + 1 :]]


def classes_of(of_pixel: np.ndarray, colours: Sequence[tuple[float, float, float]]) -> Classes:
    """Classes of those DIN99b tones, (h, w) numbers of them."""
    tone = np.array([*colours, (FAR, FAR, FAR)], float)
    return Classes(of_pixel.astype(np.uint8), np.ones(of_pixel.shape, bool), np.zeros((len(colours), 3)), tone)
