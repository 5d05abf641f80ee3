"""An area that was read as one, parted by a stroke of the maker's."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from finishplan.basics.errors import InputError
from finishplan.drawing.components import components
from finishplan.drawing.model import Area, Drawing
from finishplan.drawing.regions import GROUND, UNKNOWN, absorb
from finishplan.drawing.remeasure import remeasured

LEAST_PIECE = 9
"""Working pixels; what a stroke cuts off and is smaller is a slip of the hand."""
BORDER_TO_BORDER = (
    "draw it from border to border of one area, in shares of the width and height, as on the rim of areas.png"
)
Point = tuple[float, float]


@dataclass(frozen=True)
class Stroke:
    """points: as shares of the picture. area: the one that it parts, None: every one that it can. where: what to call
    it in messages."""

    points: tuple[Point, ...]
    area: int | None = None
    where: str = "[[cuts]]"


def parted(drawing: Drawing, strokes: Iterable[Stroke]) -> Drawing:
    """The drawing with its areas parted: the largest piece keeps the number, others get the next free ones. A stroke
    that ends inside an area runs on to the nearest border. Raises InputError for one that parts nothing."""
    for stroke in strokes:
        drawing = _parted(drawing, stroke)
    return drawing


def crossed(drawing: Drawing, points: tuple[Point, ...]) -> tuple[int, ...]:
    """The areas that a stroke crosses, that with the most of it first."""
    path = _path(drawing, points)
    ids, count = np.unique(drawing.labels[path[:, 1], path[:, 0]], return_counts=True)
    return tuple(int(i) for i in ids[np.argsort(-count, kind="stable")] if i > 0)


def _parted(drawing: Drawing, stroke: Stroke) -> Drawing:
    path, done = _path(drawing, stroke.points), False
    for id in crossed(drawing, stroke.points):
        if stroke.area in (None, id) and (after := _split(drawing, id, path)) is not None:
            done, drawing = True, after
    if not done:
        raise InputError("the stroke parts no area", where=stroke.where, cure=BORDER_TO_BORDER)
    return drawing


def _path(drawing: Drawing, points: tuple[Point, ...]) -> np.ndarray:
    """(k, 2) working pixels, x and y, along the stroke inside the window."""
    (width, height), (x, y) = drawing.size, drawing.origin
    at = [((px * width - x) * drawing.scale, (py * height - y) * drawing.scale) for px, py in points]
    runs = [_line(np.array(a), np.array(b)) for a, b in pairwise(at)]
    path = np.concatenate(runs).round().astype(int)
    high, wide = drawing.labels.shape
    inside = (path[:, 0] >= 0) & (path[:, 0] < wide) & (path[:, 1] >= 0) & (path[:, 1] < high)
    found: np.ndarray = path[inside]
    return found


def _line(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    steps = int(np.abs(b - a).max()) + 2
    along: np.ndarray = a + np.linspace(0, 1, steps)[:, None] * (b - a)
    return along


def _split(drawing: Drawing, id: int, path: np.ndarray) -> Drawing | None:
    """The drawing with one area parted along a path, None where it stays in one piece."""
    rows, columns = np.nonzero(drawing.labels == id)
    top, left = max(int(rows.min()) - 1, 0), max(int(columns.min()) - 1, 0)
    window = np.s_[top : rows.max() + 2, left : columns.max() + 2]
    area = np.pad(drawing.labels[window] == id, 1)
    path = path - (left - 1, top - 1)
    path = path[(path >= 0).all(1) & (path[:, 0] < area.shape[1]) & (path[:, 1] < area.shape[0])]
    if not len(path):
        return None
    pieces, n = components(area & ~_closed(area, path))
    count = np.bincount(pieces.ravel(), minlength=n + 1)
    kept = [k for k in range(1, n + 1) if count[k] >= LEAST_PIECE]
    if len(kept) < 2:
        return None
    kept.sort(key=lambda k: -count[k])
    free = int(max(a.id for a in drawing.areas)) + 1
    number = np.full(n + 1, UNKNOWN, np.int32)
    number[kept] = [id, *range(free, free + len(kept) - 1)]
    marked = np.where(area, number[pieces], GROUND).astype(np.int32)
    filled = absorb(marked, area & (marked == UNKNOWN), reach=1e9)[1:-1, 1:-1]
    labels = drawing.labels.copy()
    labels[window] = np.where(area[1:-1, 1:-1], filled, labels[window])
    new = [replace(_area(drawing, id), id=i, hints=()) for i in number[kept].tolist()]
    areas = [*(a for a in drawing.areas if a.id != id), *new]
    return remeasured(replace(drawing, labels=labels), areas, {a.id for a in new})


def _area(drawing: Drawing, id: int) -> Area:
    return next(a for a in drawing.areas if a.id == id)


def _closed(area: np.ndarray, path: np.ndarray) -> np.ndarray:
    """(h, w) bool: the path over the area, its ends run on to the nearest place outside, thick enough to part it."""
    cut = np.zeros(area.shape, bool)
    ends = [path[k] for k in (0, -1) if area[path[k, 1], path[k, 0]]]
    outside = np.argwhere(~area)[:, ::-1]
    runs = [path, *(_line(e, outside[((outside - e) ** 2).sum(1).argmin()]).round().astype(int) for e in ends)]
    for run in runs:
        cut[run[:, 1], run[:, 0]] = True
    thick = cut.copy()
    thick[1:] |= cut[:-1]
    return thick
