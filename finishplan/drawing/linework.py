"""Telling drawn lines from painted areas, by thickness.

A pixel is thick when a square of the given side, all of one colour, covers it (a morphological opening). Lines are
what a colour loses to the square of the widest line; a black area or a pupil survives it.
"""

from dataclasses import dataclass

import numpy as np

from finishplan.drawing.tones import Classes

WIDEST_LINE = 14 / 1600
"""Widest outline and its soft rim, in parts of the longer side of the picture."""
CONTRAST = 8.0
"""Least DIN99b difference between a line and what lies beside it."""


@dataclass(frozen=True, eq=False)
class Lines:
    """mask: (h, w) bool, pixels of drawn lines. classes: colours that are lines (and perhaps areas). width: usual
    width in pixels. rgb: (3,) sRGB 0-255 of the main line colour, None without lines."""

    mask: np.ndarray
    classes: tuple[int, ...]
    width: int
    rgb: np.ndarray | None


def square_filter(values: np.ndarray, side: int, *, largest: bool) -> np.ndarray:
    """The largest (or smallest) value in the square of odd `side` round each pixel."""
    from scipy.ndimage import maximum_filter1d, minimum_filter1d

    one = maximum_filter1d if largest else minimum_filter1d
    result: np.ndarray = one(one(values, side, axis=0, mode="nearest"), side, axis=1, mode="nearest")
    return result


def thick(values: np.ndarray, side: int) -> np.ndarray:
    """(h, w) bool: pixels that some square of odd `side`, all of the pixel's own value, covers."""
    if side <= 1:
        return np.ones(values.shape, bool)
    even = square_filter(values, side, largest=True) == square_filter(values, side, largest=False)
    marked = np.where(even, values + np.uint8(1), np.uint8(0))
    covered: np.ndarray = square_filter(marked, side, largest=True) == values + np.uint8(1)
    return covered


def odd(length: float) -> int:
    """The nearest odd whole number, at least 1."""
    return max(1, 2 * round((length - 1) / 2) + 1)


def find_lines(classes: Classes, ground: np.ndarray, speck: int) -> Lines:
    """The colours that are drawn as lines. ground: (h, w) bool, background. speck: least side of an area, pixels."""
    cls = classes.of_pixel
    widest = odd(max(cls.shape) * WIDEST_LINE)
    figure = ~ground
    thin = ~thick(cls, max(widest, 3)) & figure
    count = np.bincount(cls[thin], minlength=len(classes.rgb))
    total = np.bincount(cls[figure], minlength=len(classes.rgb))
    least = 2.5 * np.sqrt(figure.sum())
    mask, found, width = np.zeros(cls.shape, bool), [], 1
    for c in np.argsort(-count, kind="stable"):
        if count[c] < least:
            break
        own = cls == c
        if not _is_line(classes, int(c), own & thin, found_any=bool(found), share=count[c] / total[c]):
            continue
        side = _usual_width(own, own & thin, widest)
        mask |= own & ~_solid(own, side, speck)
        width = width if found else side
        found.append(int(c))
    return Lines(mask, tuple(found), width, classes.rgb[found[0]] if found else None)


def _is_line(classes: Classes, c: int, lines: np.ndarray, *, found_any: bool, share: float) -> bool:
    """Lines stand out against both sides, and are darker than most of what they border or part many colours."""
    flanks = _flanks(classes.of_pixel, lines, c)
    if flanks.sum() == 0:
        return False
    weight = flanks / flanks.sum()
    far = np.linalg.norm(classes.tone - classes.tone[c], axis=1)
    stands_out = weight[far >= CONTRAST].sum() >= 0.7
    darker = weight[classes.tone[:, 0] > classes.tone[c, 0] + 2].sum()
    parts_many = (weight >= 0.06).sum() >= 4
    if found_any and share < 0.8:
        return False
    return bool(stands_out and (darker >= 0.6 or (parts_many and share > 0.8)))


def _flanks(cls: np.ndarray, lines: np.ndarray, c: int, step: int = 3) -> np.ndarray:
    """How often each other class lies `step` pixels beside a line pixel."""
    counts = np.zeros(256, int)
    for axis in (0, 1):
        for sign in (step, -step):
            beside = np.roll(cls, sign, axis)[lines]
            counts += np.bincount(beside[beside != c], minlength=256)
    return counts[: int(cls.max()) + 1]


def _usual_width(own: np.ndarray, lines: np.ndarray, widest: int) -> int:
    """The odd side of the smallest square that fewer than a fifth of the line pixels survive, less one step."""
    total = lines.sum()
    for side in range(3, widest + 2, 2):
        if (thick(own.view(np.uint8), side) & lines).sum() < 0.2 * total:
            return side
    return widest


def _solid(own: np.ndarray, width: int, speck: int) -> np.ndarray:
    """(h, w) bool: what in a line's colour is an area: too thick for the line, or a compact piece by itself."""
    from scipy.ndimage import find_objects, label

    side = odd(max(1.35 * width, width + 2))
    opened = thick(own.view(np.uint8), side) & own
    pieces, n = label(opened)
    sizes = np.bincount(pieces.ravel(), minlength=n + 1)
    solid: np.ndarray = (sizes >= (1.5 * side) ** 2)[pieces] & opened
    alone, n = label(own, np.ones((3, 3)))
    sizes = np.bincount(alone.ravel(), minlength=n + 1)
    for number, box in enumerate(find_objects(alone), 1):
        height, wide = (s.stop - s.start for s in box)
        compact = sizes[number] >= 0.5 * height * wide and max(height, wide) <= 2.5 * min(height, wide)
        if compact and min(height, wide) >= speck:
            solid[box] |= alone[box] == number
    return solid


def faint_lines(rgb: np.ndarray, figure: np.ndarray) -> tuple[np.ndarray, np.ndarray | None]:
    """Lines too fine to hold a colour of their own: narrow and darker than both sides (a black-hat transform).

    Returns their (h, w) mask and (3,) sRGB colour, None when there are too few to be outlines.
    """
    light = rgb[..., 1]
    closed = square_filter(square_filter(light, 7, largest=True), 7, largest=False)
    depth = closed.astype(np.int16) - light
    mask = (depth > 40) & figure
    if mask.sum() < 1.2 * np.sqrt(figure.sum()):
        return np.zeros(mask.shape, bool), None
    deep = mask & (depth >= np.quantile(depth[mask], 0.7))
    return mask, np.median(rgb[deep], axis=0)
