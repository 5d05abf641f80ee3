"""Squares passed over a picture: the largest or smallest value in each, and where all of one is one value."""

import cv2
import numpy as np


def square_filter(values: np.ndarray, side: int, *, largest: bool) -> np.ndarray:
    """(h, w): the largest (or smallest) of the (h, w) values in the square of odd `side`, pixels, round each pixel."""
    result: np.ndarray = (cv2.dilate if largest else cv2.erode)(values, np.ones((side, side), np.uint8))
    return result


def even(values: np.ndarray, side: int) -> np.ndarray:
    """(h, w) bool: middles of squares of odd `side`, pixels, all of one of the (h, w) values and inside the picture."""
    height, width = values.shape
    corner = np.zeros(values.shape, bool)
    if side > min(height, width):
        return corner
    if side == 1:
        return ~corner
    # Squares of one value: even rows, side by side down the square, and one even column to tie them together.
    rows = _in_a_row(values[:, 1:] == values[:, :-1], side - 1, 1, np.logical_and)
    rows = _in_a_row(rows, side, 0, np.logical_and)
    columns = _in_a_row(values[1:] == values[:-1], side - 1, 0, np.logical_and)[:, : width - side + 1]
    half = side // 2
    corner[half : height - half, half : width - half] = rows & columns
    return corner


def thick(values: np.ndarray, side: int) -> np.ndarray:
    """(h, w) bool: pixels that some square of odd `side`, pixels, all of their own value in (h, w) values, covers."""
    half = side // 2
    # Each middle found stands for its whole square: spread back, what no square reaches is thin.
    middle = np.pad(even(values, side), half)
    rows = _in_a_row(middle, side, 1, np.logical_or)
    return _in_a_row(rows, side, 0, np.logical_or)


def _in_a_row(mask: np.ndarray, length: int, axis: int, both: np.ufunc) -> np.ndarray:
    """`both` of each `length` pixels in a row, by doubling; shorter than `mask` by length - 1 along the axis."""
    done = 1
    # By doubling: a span of n takes log2 n passes over the picture.
    while done < length:
        step = min(done, length - done)
        mask = both(mask[:-step], mask[step:]) if axis == 0 else both(mask[:, :-step], mask[:, step:])
        done += step
    return mask


def odd(length: float) -> int:
    """The odd whole number nearest to a length in pixels, at least 1."""
    return max(1, 2 * round((length - 1) / 2) + 1)
