"""Borders of areas as polygons, traced once at reading, so that a browser paints and is clicked on without asking."""

import cv2
import numpy as np
from numpy.typing import NDArray

from finishplan.drawing.model import Area, Drawing

TOLERANCE_PX = 0.5
"""How far a border may lie from the pixels' own, in working pixels (Douglas, Peucker, Cartographica 10, 112, 1973)."""
SMOOTHED = 5
"""Half pixels along a border over which it is averaged: the steps of the pixels go, corners keep their place within
TOLERANCE_PX."""


def area_paths(drawing: Drawing) -> dict[int, str]:
    """Area id -> an SVG path (SVG 2, section 9) in pixels of the drawing; holes by the even-odd rule."""
    found = {}
    for area in drawing.areas:
        # Only the area's own box is looked at: the whole map once for every area would take many times longer.
        part, corner = _window(area, area, drawing)
        found[area.id] = _path(part == area.id, corner, drawing)
    return found


def edge_paths(drawing: Drawing) -> dict[tuple[int, int], str]:
    """Two areas that meet -> the band of pixels along their border, as an SVG path."""
    by_id, near = {a.id: a for a in drawing.areas}, np.ones((3, 3), np.uint8)
    found = {}
    for edge in drawing.edges:
        one, two = (by_id[i] for i in edge.areas)
        part, corner = _window(one, two, drawing)
        sides = [(part == i).astype(np.uint8) for i in edge.areas]
        # A pixel of either side: the border itself has no width that could be clicked on.
        band = cv2.dilate(sides[0], near) & sides[1] | cv2.dilate(sides[1], near) & sides[0]
        found[edge.areas] = _path(band.astype(bool), corner, drawing)
    return found


def _window(one: Area, two: Area, drawing: Drawing) -> tuple[NDArray[np.int32], tuple[int, int]]:
    """The labels where the boxes of both areas overlap, with room around, and the corner of that window."""
    low = np.maximum(one.bbox[:2], two.bbox[:2])
    high = np.minimum(one.bbox[2:], two.bbox[2:])
    origin = np.array(drawing.origin)
    left, top = np.maximum(np.floor((low - origin) * drawing.scale).astype(int) - 2, 0).tolist()
    right, bottom = (np.ceil((high - origin) * drawing.scale).astype(int) + 2).tolist()
    return drawing.labels[top:bottom, left:right], (left, top)


def _path(mask: NDArray[np.bool_], corner: tuple[int, int], drawing: Drawing) -> str:
    """The SVG path of a mask with that corner in the labels, in pixels of the drawing; '' for an empty one.

    The mask is doubled, so that borders run between pixels and not through their middles.
    """
    doubled = np.pad(mask.astype(np.uint8).repeat(2, axis=0).repeat(2, axis=1), 1)
    rings, _ = cv2.findContours(doubled, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    return "".join(_ring(np.asarray(ring, np.float32), corner, drawing) for ring in rings)


def _ring(ring: NDArray[np.float32], corner: tuple[int, int], drawing: Drawing) -> str:
    """One closed ring; the doubled pixel k of the padded mask has its middle at (k - 0.5) / 2 pixels."""
    points = ring.reshape(-1, 2)
    # A speck's ring is all corners: averaged, it would shrink away.
    if len(points) > 4 * SMOOTHED:
        near = [np.roll(points, k, axis=0) for k in range(-(SMOOTHED // 2), SMOOTHED // 2 + 1)]
        points = np.mean(near, axis=0, dtype=np.float32)
    kept = cv2.approxPolyDP(points.reshape(-1, 1, 2), TOLERANCE_PX, True).reshape(-1, 2)
    if len(kept) < 3:
        return ""
    working = (kept - 0.5) / 2 + np.array(corner)
    return _closed((working / drawing.scale + np.array(drawing.origin)).round(1))


def _closed(points: NDArray[np.float64]) -> str:
    """A closed path with relative lines: short numbers."""
    # Differences of rounded points, rounded again only to drop the dust: the errors do not add up along the ring.
    steps = np.diff(points, axis=0).round(1)
    first = f"M{points[0][0]:g} {points[0][1]:g}l"
    return first + " ".join(f"{x:g} {y:g}" for x, y in steps.tolist()) + "z"
