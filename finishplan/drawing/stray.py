"""What lies on a sheet of paper and is no part of the figure: flecks and bare streaks in its colours, a table or a
finger at the sheet's edge, the ruling that is printed on it."""

from functools import reduce

import cv2
import numpy as np

from finishplan.drawing.components import components, spread

ROUND = 500
"""Pixels of the longer side to a round of the median over 5 by 5 (our rule: flecks grow with the paper)."""
MOST_ROUNDS, COARSE = 3, 2.0
"""Rounds at most; steps of 0-255 of streaks to a round (our rule)."""
DRAWN = 12
"""Steps of 0-255 by which what is thin and darker than its surroundings was drawn (our rule)."""
HAT = 14
"""Steps of 0-255 by which a line is darker than both sides of it (our rule: flecks of paint differ by less)."""
ALONG, SMALLER = 0.45, 0.15
"""A piece at the sheet's edge lies along it for this many times the root of its pixels, or it is a figure cut off
there; the largest piece well inside has this part of its pixels at least (our rule)."""
RULING, FRAME, RULED = 0.006, 0.05, 0.015
"""Of the longer side, the broadest line of a ruling; of the shorter side, the frame in which it is sought; of the
frame, that it takes: lines 8 mm apart take 3 % (our rule)."""
FAINT, PALE, PAPER = 9, 75, 215
"""Steps of 0-255 by which a ruling is darker than paper: more than the grain of paper, less than a pen (our rule); what
counts as paper beside it."""
BLOCK = 4
"""Pixels to one of the coarse copy on which pieces at the edge are found (our numerical step)."""


def calmed(rgb: np.ndarray, streaks: float) -> np.ndarray:
    """(h, w, 3) uint8 sRGB without its flecks and bare streaks, that differ by `streaks`, 0-255: the median of what is
    near, but where something thin and dark was drawn."""
    middle = rgb
    for _ in range(int(np.clip(max(round(max(rgb.shape) / ROUND), round(streaks / COARSE)), 1, MOST_ROUNDS))):
        middle = cv2.medianBlur(middle, 5)
    drawn = cv2.subtract(middle[..., 1], rgb[..., 1]) > DRAWN
    middle[drawn] = rgb[drawn]
    return middle


def thin_and_dark(rgb: np.ndarray, side: int) -> np.ndarray:
    """(h, w) bool: what is darker than all about it in (h, w, 3) uint8 sRGB and holds no square of `side` pixels (a
    black-hat transform)."""
    hat = cv2.morphologyEx(rgb[..., 1], cv2.MORPH_BLACKHAT, np.ones((side, side), np.uint8))
    dark: np.ndarray = hat > HAT
    return dark


def rim(mask: np.ndarray, width: float) -> np.ndarray:
    """(h, w) bool: what of an (h, w) bool mask is at most about `width` pixels from its outside."""
    side = 2 * round(width) + 1
    at_rim: np.ndarray = mask & (cv2.erode(mask.view(np.uint8), np.ones((side, side), np.uint8)) == 0)
    return at_rim


def unruled(rgb: np.ndarray) -> np.ndarray:
    """(h, w, 3) uint8 sRGB, its paper white, without the ruling printed on it: thin pale marks that have paper on both
    sides, where many of them run out of the picture; itself where there is no ruling."""
    side, rim = 2 * round(RULING * max(rgb.shape) / 2) + 1, max(1, round(FRAME * min(rgb.shape[:2])))
    frame = (rgb[:rim], rgb[-rim:], rgb[:, :rim], rgb[:, -rim:])
    if np.mean([_ruling(np.ascontiguousarray(strip), side)[0].mean() for strip in frame]) < RULED:
        return rgb
    pale, closed = _ruling(rgb, side)
    return np.where(pale[..., None], closed, rgb)


def _ruling(rgb: np.ndarray, side: int) -> tuple[np.ndarray, np.ndarray]:
    """((h, w) bool: pale marks on paper, thinner than `side` pixels; (h, w, 3) uint8 sRGB, the paper without them)."""
    closed = cv2.morphologyEx(rgb, cv2.MORPH_CLOSE, np.ones((side, side), np.uint8))
    deep, light = reduce(cv2.max, cv2.split(cv2.subtract(closed, rgb))), reduce(cv2.min, cv2.split(closed))
    return (deep > FAINT) & (deep < PALE) & (light > PAPER), closed


def at_edge(ground: np.ndarray) -> np.ndarray:
    """(h, w) bool: what lies along the rim of a sheet whose background is `ground`, (h, w) bool, as a table or a finger
    does, where a figure lies well inside."""
    coarse = ~ground[::BLOCK, ::BLOCK]
    pieces, n = components(coarse, corners=True)
    size = np.bincount(pieces.ravel(), minlength=n + 1).astype(float)
    rim = np.concatenate([pieces[0], pieces[-1], pieces[1:-1, 0], pieces[1:-1, -1]])
    beside = np.bincount(rim, minlength=n + 1)
    size[0] = beside[0] = 0
    inside = size[beside == 0].max(initial=0)
    stray = (beside > ALONG * np.sqrt(size)) & (size * SMALLER < inside)
    found = stray[pieces].repeat(BLOCK, 0).repeat(BLOCK, 1)[: ground.shape[0], : ground.shape[1]]
    # The coarse copy may have missed a pixel or three at the piece's own rim.
    left_out: np.ndarray = spread(found, BLOCK) & ~ground
    return left_out
