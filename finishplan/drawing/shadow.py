"""Soft shadows on the paper of a photograph: of the hand, of the phone, of the gutter of a book.

Bare paper is what can be walked to from the rim of the picture in small steps of light without a change of hue: a
shadow has soft edges, paint and lines have hard ones. Between the paper the light is filled in smoothly, from ever
wider surroundings (normalised convolution, Knutsson and Westin 1993).
"""

import cv2
import numpy as np
from PIL import Image

SEEN = 320
"""Pixels of the longer side of the copy on which paper is sought."""
STEP = 0.055
"""Of the logarithm of light from pixel to pixel of that copy: more is the edge of something."""
LIT = -0.35
"""Logarithm of light of the rim from which the walk may begin."""
DARKEST, TINGED = -1.0, 0.14
"""Logarithm of the light in the deepest shadow; of the ratios of red and blue to green that light may change by."""
LEAST_PAPER, LEAST_SHADOW = 0.08, 0.03
"""Of the picture, that must be bare paper; logarithm of light below which nothing is a shadow."""
SCALES = (2.0, 5.0, 12.0, 30.0, 80.0)


def without_shadows(rgb: np.ndarray, own: np.ndarray | None = None) -> np.ndarray:
    """(h, w, 3) uint8 sRGB, whose paper is white but for shadows, with these lit up; itself where there are none. own:
    the same picture with its paper as it is, to be lit instead."""
    own = rgb if own is None else own
    shrunk = min(1.0, SEEN / max(rgb.shape[:2]))
    size = (max(8, round(rgb.shape[1] * shrunk)), max(8, round(rgb.shape[0] * shrunk)))
    small = np.asarray(Image.fromarray(rgb).resize(size, Image.Resampling.BOX))
    log = cv2.GaussianBlur(2.2 * np.log(np.maximum(small, 8).astype(np.float32) / 255), (0, 0), 0.8)
    paper = bare(log)
    if paper.mean() < LEAST_PAPER or np.quantile(log[paper].mean(1), 0.02) > -LEAST_SHADOW:
        return own
    # sRGB is close to a power of 2.2: dividing light is dividing code values by its root
    gain = np.exp(np.maximum(-_filled(log, paper), 0) / 2.2)
    whole = cv2.resize(gain, rgb.shape[1::-1], interpolation=cv2.INTER_LINEAR)
    brightened: np.ndarray = cv2.multiply(own, whole, dtype=cv2.CV_8U)
    return brightened


def bare(log: np.ndarray) -> np.ndarray:
    """(h, w) bool: bare paper in (h, w, 3) float32 logarithms of light."""
    height, width = log.shape[:2]
    reached = np.zeros((height + 2, width + 2), np.uint8)
    flags = 4 | cv2.FLOODFILL_MASK_ONLY | (1 << 8)
    red, green, blue = (log[..., k] for k in range(3))
    tinge, least = np.maximum(abs(red - green), abs(blue - green)), np.minimum(np.minimum(red, green), blue)
    start = (tinge < TINGED) & (least > LIT)
    start[1:-1, 1:-1] = False
    for y, x in zip(*np.nonzero(start), strict=True):
        # Most of the rim is one paper: what an earlier fill reached need not be filled again.
        if not reached[y + 1, x + 1]:
            cv2.floodFill(log, reached, (int(x), int(y)), 0, (STEP,) * 3, (STEP,) * 3, flags)
    # A pixel in from the rim, where colour and paper blend.
    inside = cv2.erode(reached[1:-1, 1:-1], np.ones((3, 3), np.uint8)) > 0
    paper: np.ndarray = inside & (tinge < TINGED) & (least > DARKEST)
    return paper


def _blurred(values: np.ndarray, scale: float) -> np.ndarray:
    """(h, w, ...) float32 blurred by a Gaussian of that standard deviation, pixels; a wide one on a smaller copy."""
    shrunk = max(1, int(scale / 4))
    size = values.shape[1::-1]
    small = cv2.resize(values, [max(1, side // shrunk) for side in size], interpolation=cv2.INTER_AREA)
    blurred: np.ndarray = cv2.resize(cv2.GaussianBlur(small, (0, 0), scale / shrunk), size)
    return blurred


def _filled(log: np.ndarray, paper: np.ndarray) -> np.ndarray:
    """(h, w, 3) the light of the paper, filled in where there is none to be seen."""
    known = paper.astype(np.float32)
    out, share = np.zeros_like(log), np.zeros(paper.shape, np.float32)
    for scale in SCALES:
        weight = _blurred(known, scale)
        mean = _blurred(log * known[..., None], scale) / np.maximum(weight, 1e-6)[..., None]
        # The finest scale that has paper counts; wider ones fill only what it left open.
        take = np.minimum(4 * weight, 1) * (1 - share)
        out += take[..., None] * mean
        share += take
    filled: np.ndarray = out + (1 - share)[..., None] * log[paper].mean(0)
    return filled
