"""Widths, label points, lengths of edges, what encloses what, and what the drawing suggests of an area."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from finishplan.colour.lab import Lab
from finishplan.drawing.components import boxes, depth
from finishplan.drawing.contacts import compact
from finishplan.drawing.filters import thick
from finishplan.drawing.model import Edge, Hint

FINE = 24.0
"""Areas narrower than this many pixels are measured at full size, others at half."""
COVERED = 0.9
UNIFORM = 0.97
"""Share covered by a square nearly as wide as the widest place: such an area is as wide everywhere."""
RECESS_DARK_L = 38.0
DOT_MM = 3.0
"""An enclosed spot no longer and no wider than this is dotted on rather than cut around: one or two touches of a
round 2, which is 2.2 mm in the belly (common practice)."""
LEAST_RECESS = 2.0
"""A hollow is at least this many dots long: a smaller dark spot is painted, not sunk."""


@dataclass(frozen=True, eq=False)
class Sizes:
    """Of each label 1..n (index 0 unused), in working pixels: pixels, narrow, wide (n + 1,); label_xy (n + 1, 2); bbox
    (n + 1, 4): left, top, right, bottom."""

    pixels: np.ndarray
    narrow: np.ndarray
    wide: np.ndarray
    label_xy: np.ndarray
    bbox: np.ndarray


def sizes(labels: np.ndarray, n: int) -> Sizes:
    """Of the areas 1..n of (h, w) int labels. narrow: side of the widest square that, moved about inside, still covers
    nine tenths of the area; wide: diameter of the largest circle that fits, whose centre is the label point."""
    pixels = np.bincount(labels.ravel(), minlength=n + 1)
    bbox = np.zeros((n + 1, 4))
    for i, box in enumerate(boxes(labels, n), 1):
        bbox[i] = box[1].start, box[0].start, box[1].stop, box[0].stop
    step = 2 if labels.size > 400_000 else 1
    coarse = compact(labels[step // 2 :: step, step // 2 :: step])
    wide, label_xy = _inner_circles(coarse, n)
    narrow, wide, label_xy = _narrow(coarse, n, wide) * step, wide * step, label_xy * step + step / 2
    # At half size a pixel is a good part of a narrow area: those are measured again in full.
    for i in (np.flatnonzero(wide[1:] < FINE) + 1).tolist() if step > 1 else []:
        wide[i], label_xy[i] = _inner_circle(labels, i, bbox[i].astype(int))
        narrow[i] = max(narrow[i], min(narrow[i] + step, wide[i]))
    return Sizes(pixels, np.minimum(narrow, wide), wide, label_xy, bbox)


def _inner_circle(labels: np.ndarray, i: int, box: np.ndarray) -> tuple[float, tuple[float, float]]:
    """(diameter, centre) of the largest circle in one area, at full size."""
    left, top, right, bottom = box
    inside = depth(np.pad(labels[top:bottom, left:right] == i, 1))
    row, column = np.unravel_index(int(inside.argmax()), inside.shape)
    return float(2 * inside.max() - 1), (left + float(column) - 0.5, top + float(row) - 0.5)


def _inner_circles(labels: np.ndarray, n: int) -> tuple[np.ndarray, np.ndarray]:
    framed = np.pad(labels, 1)
    inner = framed > 0
    for axis in (0, 1):
        for shift in (1, -1):
            inner &= framed == np.roll(framed, shift, axis)
    far, best, flat = depth(inner)[1:-1, 1:-1].ravel(), np.zeros(n + 1), labels.ravel()
    np.maximum.at(best, flat, far)
    at_best = np.flatnonzero(far >= best[flat])
    where = np.zeros(n + 1, int)
    # Backwards, so that of equally deep places the first in reading order is kept.
    where[flat[at_best[::-1]]] = at_best[::-1]
    row, column = np.divmod(where, labels.shape[1])
    return 2 * best + 1, np.stack([column, row], 1).astype(float)


def _narrow(labels: np.ndarray, n: int, wide: np.ndarray) -> np.ndarray:
    """Where the share covered by squares of growing side falls below COVERED, interpolated between the sides tried."""
    total = np.maximum(np.bincount(labels.ravel(), minlength=n + 1), 1)
    narrow, before, last_side = np.ones(n + 1), np.ones(n + 1), 1.0
    open_ = np.ones(n + 1, bool)
    side, step = 3, 1
    while open_[1:].any() and side * step <= wide.max() + 2 * step:
        covered = np.bincount(labels[thick(labels, side)], minlength=n + 1) / total
        falls = open_ & (covered < COVERED)
        part = (before - COVERED) / np.maximum(before - covered, 1e-9)
        here = float(side * step)
        # An area covered almost whole until then is as wide all along: its own circle tells it best.
        fallen = np.where((here > wide) & (before > UNIFORM), wide, last_side + part * (here - last_side))
        narrow = np.where(falls, fallen, np.where(open_, here, narrow))
        open_ &= ~falls
        before, last_side = covered, here
        side = max(side + 2, int(side * 1.15) | 1)
        # Large squares are tried on a copy of half the size: coarser by no more than the next step is.
        if side > 15 and step < 8:
            labels, step, side = np.ascontiguousarray(labels[::2, ::2]), 2 * step, (side // 2) | 1
            total = np.maximum(np.bincount(labels.ravel(), minlength=n + 1), 1)
    narrowest: np.ndarray = np.minimum(narrow, wide)
    return narrowest


@dataclass(frozen=True, eq=False)
class Lengths:
    """length: {(a, b): working pixels}, a < b, 0 the background or the rim. points: {(a, b): (k, 2) x, y}."""

    length: dict[tuple[int, int], float]
    points: dict[tuple[int, int], np.ndarray]


def lengths(labels: np.ndarray, n: int) -> Lengths:
    """Length of every border of (h, w) int labels 0..n by the Cauchy-Crofton formula over four directions: right within
    6 % at any slope."""
    # A frame of ground: the figure's rim is a border too where it touches the picture's.
    framed = np.pad(compact(labels), 1)
    height, width = framed.shape
    index = np.arange(height * width).reshape(height, width)
    length: dict[tuple[int, int], float] = defaultdict(float)
    places: dict[tuple[int, int], list[np.ndarray]] = defaultdict(list)
    for here, there, spacing, straight in (
        (np.s_[:, :-1], np.s_[:, 1:], 1.0, True),
        (np.s_[:-1], np.s_[1:], 1.0, True),
        (np.s_[:-1, :-1], np.s_[1:, 1:], 0.5**0.5, False),
        (np.s_[:-1, 1:], np.s_[1:, :-1], 0.5**0.5, False),
    ):
        differ = framed[here] != framed[there]
        one, two = framed[here][differ].astype(np.int64), framed[there][differ].astype(np.int64)
        code = np.minimum(one, two) * (n + 1) + np.maximum(one, two)
        at = index[here][differ]
        order = np.argsort(code, kind="stable")
        codes, starts = np.unique(code[order], return_index=True)
        for c, group in zip(codes.tolist(), np.split(at[order], starts[1:]), strict=True):
            pair = divmod(c, n + 1)
            # Cauchy-Crofton: half the sum, over directions pi / 4 apart, of pi / 4 x spacing x crossings.
            length[pair] += np.pi / 8 * spacing * len(group)
            # Slanting pairs would give the same places once more, half a pixel off.
            if straight:
                places[pair].append(group)
    points = {
        pair: np.stack(np.divmod(np.concatenate(groups), width)[::-1], 1) - 1.0 for pair, groups in places.items()
    }
    return Lengths(dict(length), points)


def straightness(points: np.ndarray, length: float) -> float:
    """0-1: how far a border reaches along its main direction, over its length. points: (k, 2) on it, x and y; all in
    pixels."""
    if len(points) < 3 or length <= 0:
        return 1.0
    centred = points - points.mean(0)
    _, axes = np.linalg.eigh(centred.T @ centred)
    along = centred @ axes[:, -1]
    return float(np.clip((along.max() - along.min() + 1) / length, 0, 1))


def enclosers(neighbours: dict[int, set[int]], roots: set[int]) -> dict[int, int]:
    """{area: the area that surrounds it}: the nearest of those every way out to the background passes through."""
    surrounded: dict[int, set[int]] = {area: set() for area in neighbours}
    for wall in sorted(neighbours):
        reached, queue = set(roots - {wall}), sorted(roots - {wall})
        while queue:
            for other in neighbours[queue.pop()] - reached - {wall}:
                reached.add(other)
                queue.append(other)
        for area in neighbours.keys() - reached - {wall}:
            surrounded[area].add(wall)
    # The nearest of those round it is itself surrounded by all the others.
    return {area: max(walls, key=lambda w: (len(surrounded[w]), -w)) for area, walls in surrounded.items() if walls}


@dataclass(frozen=True)
class Enclosed:
    """An area inside another. lab, around: of it and of the other; outer: the other's number; longer: side of its box,
    pixels; encloses: it surrounds another area, so it is no dot, and a dark one with a glint inside is an eye."""

    lab: Lab
    longer: float
    around: Lab
    outer: int
    encloses: bool = False


def recess_or_dot(area: Enclosed, mm: float) -> tuple[Hint, ...]:
    """What an enclosed area suggests: a dot when it is tiny, a recess when it is dark or red inside a lighter one. mm:
    pixels to a millimetre."""
    dot, lab = DOT_MM * mm, area.lab
    if area.longer <= dot and not area.encloses:
        return (Hint("dot", "small and enclosed: easier to dot on than to cut around", area.outer),)
    if area.longer < LEAST_RECESS * dot:
        return ()
    hue, chroma = np.degrees(np.arctan2(lab[2], lab[1])), float(np.hypot(lab[1], lab[2]))
    dark = lab[0] < RECESS_DARK_L and not area.encloses
    red = chroma > 15 and -25 < hue < 50 and lab[0] < 75
    if (dark or red) and area.around[0] > lab[0] + 8:
        kind = "dark" if dark else "red or pink"
        return (Hint("recess", f"{kind} and enclosed by a lighter area: it may be a hollow", area.outer),)
    return ()


def make_edge(pair: tuple[int, int], measured: Lengths, scale: float, soft: bool) -> Edge:
    """The edge in the drawing's own pixels. scale: working pixels to one of them."""
    length = measured.length[pair]
    return Edge(pair, round(length / scale, 2), round(straightness(measured.points[pair], length), 3), soft)
