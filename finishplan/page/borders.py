"""Borders of areas as polygons, traced once at reading, so that a browser paints and is clicked on without asking."""

import cv2
import numpy as np
from numpy.typing import NDArray

from finishplan.drawing.model import Drawing

TOLERANCE_PX = 0.5
"""How far a border may lie from the pixels' own, in working pixels (Douglas, Peucker, Cartographica 10, 112, 1973)."""


def area_paths(drawing: Drawing) -> dict[int, str]:
    """Area id -> an SVG path (SVG 2, section 9) in pixels of the drawing; holes by the even-odd rule."""
    return {area.id: path_of(drawing.labels == area.id, drawing) for area in drawing.areas}


def path_of(mask: NDArray[np.bool_], drawing: Drawing) -> str:
    """The SVG path of a mask of the reading's window, in pixels of the drawing; '' for an empty one.

    The mask is doubled, so that borders run between pixels and not through their middles.
    """
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not rows.size:
        return ""
    top, left = int(rows[0]), int(columns[0])
    part = mask[top : rows[-1] + 1, left : columns[-1] + 1].astype(np.uint8)
    doubled = np.pad(part.repeat(2, axis=0).repeat(2, axis=1), 1)
    rings, _ = cv2.findContours(doubled, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    return "".join(_ring(np.asarray(ring, np.int32), (left, top), drawing) for ring in rings)


def _ring(ring: NDArray[np.int32], corner: tuple[int, int], drawing: Drawing) -> str:
    """One closed ring; the doubled pixel k of the padded mask has its middle at (k - 0.5) / 2 pixels."""
    kept = cv2.approxPolyDP(ring, 2 * TOLERANCE_PX, True).reshape(-1, 2)
    if len(kept) < 3:
        return ""
    working = (kept - 0.5) / 2 + np.array(corner)
    points = working / drawing.scale + np.array(drawing.origin)
    said = [f"{x:.1f} {y:.1f}".replace(".0 ", " ").removesuffix(".0") for x, y in points.tolist()]
    return f"M{said[0]}L{' '.join(said[1:])}Z"
