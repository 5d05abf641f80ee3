"""A chart of 24 published patches lying in the picture: told by its corners, it makes the camera surer."""

import re

import cv2
import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.basics.text_files import shipped_toml
from finishplan.photo.marks import Picture

Array = NDArray[np.float64]

ROWS, COLUMNS = 4, 6
INNER = 0.4
"""Share of a patch's side that is read (our rule: its rim may lie in shadow)."""


def corners_of(text: str) -> Array:
    """(4, 2) pixels of '120,80 900,95 890,610 110,600': the chart's corners, clockwise from the dark skin patch's.

    Raises InputError for anything else.
    """
    found = re.findall(r"(-?\d+(?:\.\d+)?)\s*,\s*(-?\d+(?:\.\d+)?)", text)
    if len(found) != 4 or not cv2.isContourConvex(np.array(found, np.float32)):
        raise InputError(
            f"'{text[:60]}' are not four corners",
            where="--chart",
            cure="write them as x,y in pixels, clockwise from the dark skin patch: '120,80 900,95 890,610 110,600'",
        )
    return np.array(found, np.float64)


def read_chart(picture: Picture, corners: Array, where: str = "") -> tuple[Array, Array, Array]:
    """Coded sRGB (24, 3) 0-1, places in pixels (24, 2) and published XYZ (24, 3) of the patches.

    Raises InputError where a corner lies outside the picture.
    """
    h, w = picture.shape[:2]
    if (corners < 0).any() or (corners > [w - 1, h - 1]).any():
        raise InputError("a corner of the chart lies outside the picture", where=where, cure=f"it has {w} x {h} pixels")
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
