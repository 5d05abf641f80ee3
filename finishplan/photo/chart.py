"""What lies beside the card, told by its corners in pixels: a chart of 24 published patches, which makes the camera
surer, or the dab of a pot."""

import re

import cv2
import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.basics.text_files import shipped_toml
from finishplan.photo.layout import READ
from finishplan.photo.marks import Picture
from finishplan.photo.patches import GLARE, GLARE_SHARE

Array = NDArray[np.float64]

ROWS, COLUMNS = 4, 6
INNER = 0.4
"""Share of a patch's side that is read (our rule: its rim may lie in shadow)."""
SPOTS = 24
"""Points a side that a dab beside the card is read at (our numerical step)."""


def corners_of(text: str, where: str = "--chart", first: str = "the dark skin patch") -> Array:
    """(4, 2) pixels of '120,80 900,95 890,610 110,600': corners clockwise, a chart's from the dark skin patch's.

    Raises InputError for anything else.
    """
    found = re.findall(r"(-?\d+(?:\.\d+)?)\s*,\s*(-?\d+(?:\.\d+)?)", text)
    # Corners told crosswise would still make a transform, only a twisted one.
    if len(found) != 4 or not cv2.isContourConvex(np.array(found, np.float32)):
        raise InputError(
            f"'{text[:60]}' are not four corners",
            where=where,
            cure=f"write them as x,y in pixels, clockwise from {first}: '120,80 900,95 890,610 110,600'",
        )
    return np.array(found, np.float64)


def read_chart(picture: Picture, corners: Array, where: str = "") -> tuple[Array, Array, Array]:
    """Coded sRGB (24, 3) 0-1, places in pixels (24, 2) and published XYZ (24, 3) of the patches.

    Raises InputError where a corner lies outside the picture.
    """
    _check_inside(picture, corners, "chart", where)
    square = np.array([[0, 0], [COLUMNS, 0], [COLUMNS, ROWS], [0, ROWS]], np.float32)
    H = cv2.getPerspectiveTransform(square, corners.astype(np.float32))
    spots = np.linspace(-INNER / 2, INNER / 2, 12)
    rgb, middles = list[Array](), list[Array]()
    for row in range(ROWS):
        for column in range(COLUMNS):
            xs, ys = np.meshgrid(column + 0.5 + spots, row + 0.5 + spots)
            px = cv2.perspectiveTransform(np.stack([xs, ys], axis=-1).astype(np.float32), H)
            rgb.append(
                np.median(cv2.remap(picture, px[..., 0], px[..., 1], cv2.INTER_LINEAR).reshape(-1, 3), axis=0) / 255
            )
            middles.append(px.reshape(-1, 2).mean(axis=0).astype(np.float64))
    return np.array(rgb), np.array(middles), np.array(shipped_toml("photo/data/chart.toml")["xyz"], np.float64)


def read_beside(picture: Picture, corners: Array, where: str = "") -> tuple[Array, Array]:
    """Coded sRGB (3,) 0-1 and place in pixels (2,) of the middle of a dab whose corners (4, 2) are told.

    Raises InputError where a corner lies outside the picture, and for a dab that glares.
    """
    _check_inside(picture, corners, "dab", where)
    H = cv2.getPerspectiveTransform(np.array([[0, 0], [1, 0], [1, 1], [0, 1]], np.float32), corners.astype(np.float32))
    xs, ys = np.meshgrid(*2 * [0.5 + READ * (np.arange(SPOTS) / (SPOTS - 1) - 0.5)])
    px = cv2.perspectiveTransform(np.stack([xs, ys], axis=-1).astype(np.float32), H)
    points = cv2.remap(picture, px[..., 0], px[..., 1], cv2.INTER_LINEAR).reshape(-1, 3) / 255
    level = points.mean(axis=1)
    if np.mean(level > np.median(level) + GLARE) > GLARE_SHARE:
        raise InputError("the dab beside the card glares", where=where, cure="let the light come from the side")
    middle = points[np.argsort(level)[len(level) // 10 : -len(level) // 10]]
    return middle.mean(axis=0), px.reshape(-1, 2).mean(axis=0).astype(np.float64)


def _check_inside(picture: Picture, corners: Array, what: str, where: str) -> None:
    h, w = picture.shape[:2]
    if (corners < 0).any() or (corners > [w - 1, h - 1]).any():
        cure = f"it has {w} x {h} pixels"
        raise InputError(f"a corner of the {what} lies outside the picture", where=where, cure=cure)
