"""Connected pieces of a picture, the boxes round them, how deep they are: OpenCV's, numbered alike on any machine."""

import cv2
import numpy as np

cv2.setNumThreads(1)  # copies of this process use it too, and a pool of threads would not be there in them

Box = tuple[slice, slice]
"""Rows and columns."""


def components(mask: np.ndarray, *, corners: bool = False) -> tuple[np.ndarray, int]:
    """((h, w) int32 number of the piece at each pixel of an (h, w) bool mask, 0 outside; how many there are).

    corners: pixels that meet at a corner only hang together too. The numbers come in no order to build on.
    """
    if not mask.size:  # OpenCV would crash
        return np.zeros(mask.shape, np.int32), 0
    count, marked = cv2.connectedComponents(mask.view(np.uint8), connectivity=8 if corners else 4)
    return marked, count - 1


def pieces_of(mask: np.ndarray, *, corners: bool = False) -> tuple[np.ndarray, list[Box], np.ndarray]:
    """(The numbers of `components`; the box of each piece; (n + 1,) pixels of each, nought for the outside)."""
    marked, n = components(mask, corners=corners)
    return marked, *_measured(marked, n)


def connected(values: np.ndarray) -> np.ndarray:
    """(h, w) int32: the pieces of equal value of an (h, w) array of small ints that hang together by their sides, from
    1 by their first pixel, row by row; 0 and less are 0."""
    marked, count = np.zeros(values.shape, np.int32), 0
    for value, box in enumerate(boxes(values, int(values.max(initial=0))), 1):
        here, n = components(values[box] == value)
        np.add(here, count, out=marked[box], where=here > 0)
        count += n
    return _in_order(marked, count)


def _in_order(marked: np.ndarray, n: int) -> np.ndarray:
    """The pieces numbered by their first pixel, row by row."""
    flat, first = marked.ravel(), np.zeros(n + 1, np.int64)
    # Written backwards, so that the first pixel of a number is the last one written.
    first[flat[::-1]] = np.arange(flat.size - 1, -1, -1)
    first[0] = -1
    table = np.empty(n + 1, np.int32)
    table[np.argsort(first)] = np.arange(n + 1, dtype=np.int32)
    ordered: np.ndarray = table.take(marked)
    return ordered


def boxes(marked: np.ndarray, n: int) -> list[Box]:
    """The box of each number from 1 to n in an (h, w) array of int, an empty one for a number that is nowhere."""
    return _measured(marked, n)[0]


def _measured(marked: np.ndarray, n: int) -> tuple[list[Box], np.ndarray]:
    """The boxes, and (n + 1,) pixels of each number, nought for 0."""
    starts = np.ones(marked.shape, bool)
    np.not_equal(marked[:, 1:], marked[:, :-1], out=starts[:, 1:])
    begin = np.flatnonzero(starts)  # runs of one number along a row
    number, (row, left) = marked.ravel()[begin], np.divmod(begin, marked.shape[1])
    right = np.append(begin[1:], marked.size) - row * marked.shape[1]
    low, high = np.full((2, n + 1), marked.size), np.zeros((2, n + 1), np.int64)
    kept = (number > 0) & (number <= n)
    number, row, left, right = number[kept], row[kept], left[kept], right[kept]
    run = right - left
    for k, first, last in ((0, row, row + 1), (1, left, right)):
        np.minimum.at(low[k], number, first)
        np.maximum.at(high[k], number, last)
    low[:, high[0] == 0] = 0
    found = zip(low[:, 1:].T.tolist(), high[:, 1:].T.tolist(), strict=True)
    sizes = np.bincount(number, run, minlength=n + 1).astype(int)
    return [(slice(top, bottom), slice(left, right)) for (top, left), (bottom, right) in found], sizes


def counted(values: np.ndarray, most: int, mask: np.ndarray | None = None) -> np.ndarray:
    """(most,) how often each value below `most` stands in an (h, w) array of uint8 or uint16, under a bool mask alone
    where one is given."""
    asked = values if mask is None else np.where(mask, values, values.dtype.type(most))
    # In floats, exact for as many pixels as a working copy has.
    found: np.ndarray = cv2.calcHist([asked], [0], None, [most], [0, most]).ravel().astype(int)
    return found


def depth(mask: np.ndarray) -> np.ndarray:
    """(h, w) float: from each pixel of an (h, w) bool mask to the nearest outside it, centre to centre in pixels.

    Squares of such lengths are whole numbers; OpenCV's differ from that in the last digit, and not always alike.
    """
    near = cv2.distanceTransform(mask.view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    exact: np.ndarray = np.sqrt(np.rint(np.square(near, dtype=float)))
    return exact


def spread(mask: np.ndarray, by: int) -> np.ndarray:
    """(h, w) bool: pixels with one of the mask at most `by` pixels away along rows and columns."""
    square = np.ones((2 * by + 1, 2 * by + 1), np.uint8)
    return cv2.dilate(mask.view(np.uint8), square).view(bool)
