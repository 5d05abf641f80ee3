"""The dark and the light part of softly shaded areas, for makers who paint the shades too.

An airbrushed shading has no border: its shadow is what lies darker than the area's mean by more than the spread of its
lightness, its highlight what lies lighter by more than that. What is left has about the mean and is the base.
"""

import cv2
import numpy as np

from finishplan.drawing.components import boxes, connected
from finishplan.drawing.filters import odd, thick
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
LEAST_SIDE = 8.0
"""In specks, of 0.3 mm each: side of the square that a shade must fill to be worth a glaze (our rule)."""


def soft_tones(labels: np.ndarray, rgb: np.ndarray, speck: int) -> tuple[np.ndarray, np.ndarray]:
    """((h, w) labels 1..m, the shades numbered after the areas; (m + 1,) the area each is a shade of, itself for an
    area) of (h, w) int labels 1..n in (h, w, 3) uint8 sRGB; speck: pixels of the least spot."""
    n, light = int(labels.max()), lightness99(rgb[..., 1]).astype(np.float32)
    side, code = odd(SMOOTHED * speck), np.zeros(labels.shape, np.int32)
    for area, box in enumerate(boxes(labels, n), 1):
        own = labels[box] == area
        off = _off_mean(light[box], own, side)
        # Measured on the smoothed lightness, so that grain does not make an even area a shaded one.
        spread = float(off[own].std())
        if spread > VARIED:
            step = max(FROM_MEAN * spread, LEAST_STEP)
            code[box] += own * (2 * area * (off < -step) + (2 * area + 1) * (off > step))
    pieces = connected(np.where(thick(code, side), code, 0))
    of_piece = np.zeros(int(pieces.max()) + 1, int)
    of_piece[pieces] = labels
    of_piece[0] = 0
    size, pixels = np.bincount(pieces.ravel()), np.bincount(labels.ravel(), minlength=n + 1)
    kept = (size >= LEAST_PART * pixels[of_piece]) & (size >= (LEAST_SIDE * speck) ** 2) & (of_piece > 0)
    number, _ = renumber(np.where(kept[pieces], pieces, 0))
    base = np.concatenate([np.arange(n + 1), of_piece[kept]])
    return np.where(number > 0, number + n, labels).astype(np.int32), base


def _off_mean(light: np.ndarray, own: np.ndarray, side: int) -> np.ndarray:
    """(h, w) float32: how far the lightness lies from the mean of the pixels that are its own, smoothed over squares of
    that side among these alone (normalised convolution)."""
    known = own.astype(np.float32)
    smoothed = cv2.blur(light * known, (side, side)) / np.maximum(cv2.blur(known, (side, side)), 1e-3)
    off: np.ndarray = smoothed - float(light[own].mean())
    return off
