"""The dark and the light part of softly shaded areas, for makers who paint the shades too.

An airbrushed shading has no border: its shadow is what lies darker than the area's mean by more than the spread of its
lightness, its highlight what lies lighter by more than that. What is left has about the mean and is the base.
"""

import cv2
import numpy as np

from finishplan.drawing.components import connected
from finishplan.drawing.linework import odd, thick
from finishplan.drawing.merging import VARIED, lightness99
from finishplan.drawing.regions import renumber

FROM_MEAN = 1.0
"""Standard deviations from the mean at which a shade begins, our rule: under even shading a fifth of the area
on either side."""
LEAST_STEP = 4.0
"""DIN99b from the mean, below which nobody mixes a shade (our rule)."""
LEAST_PART = 0.04
"""Of its area, that a shade takes at least (our rule)."""
SMOOTHED = 2.0
"""In specks: grain and dithering finer than this make no rim (our rule)."""


def soft_tones(labels: np.ndarray, rgb: np.ndarray, speck: int) -> tuple[np.ndarray, np.ndarray]:
    """((h, w) labels 1..m, the shades numbered after the areas; (m + 1,) the area each is a shade of, itself for an
    area) of (h, w) int labels 1..n in (h, w, 3) uint8 sRGB; speck: pixels of the least spot."""
    n = int(labels.max())
    side = odd(SMOOTHED * speck)
    light = cv2.blur(lightness99(rgb[..., 1]).astype(np.float32), (side, side))
    pixels = np.maximum(np.bincount(labels.ravel(), minlength=n + 1), 1)
    mean = np.bincount(labels.ravel(), light.ravel(), minlength=n + 1) / pixels
    off = light - mean.astype(np.float32)[labels]
    spread = np.sqrt(np.bincount(labels.ravel(), off.ravel() ** 2, minlength=n + 1) / pixels)
    step = np.where(spread > VARIED, np.maximum(FROM_MEAN * spread, LEAST_STEP), np.inf)[labels]
    code = np.where(labels > 0, 2 * labels * (off < -step) + (2 * labels + 1) * (off > step), 0).astype(np.int32)
    pieces = connected(np.where(thick(code, side), code, 0))
    area = np.zeros(int(pieces.max()) + 1, int)
    area[pieces] = labels
    area[0] = 0
    size = np.bincount(pieces.ravel())
    kept = (size >= LEAST_PART * pixels[area]) & (size >= (2 * speck) ** 2) & (area > 0)
    number, _ = renumber(np.where(kept[pieces], pieces, 0))
    base = np.concatenate([np.arange(n + 1), area[kept]])
    return np.where(number > 0, number + n, labels).astype(np.int32), base
