"""Pieces, boxes and depths beside SciPy's and scikit-image's, on random pictures."""

import numpy as np
import pytest
from scipy import ndimage
from skimage.measure import label

from finishplan.drawing.components import boxes, components, connected, depth, spread
from finishplan.drawing.filters import square_filter


def random_masks(count: int):
    """Masks of many sizes, from nearly empty to nearly full."""
    rnd = np.random.default_rng(7)
    for _ in range(count):
        yield rnd.random(tuple(rnd.integers(1, 60, 2))) < rnd.random()


@pytest.mark.parametrize("corners", [False, True])
def test_components_are_scipys_but_for_the_numbers(corners):
    for mask in random_masks(60):
        marked, n = components(mask, corners=corners)
        theirs, count = ndimage.label(mask, np.ones((3, 3)) if corners else None)
        assert n == count
        assert len(np.unique(np.stack([marked, theirs]).reshape(2, -1), axis=1).T) == n + (~mask).any()


def test_connected_numbers_as_scikit_image_does():
    rnd = np.random.default_rng(3)
    for _ in range(60):
        values = rnd.integers(0, 4, tuple(rnd.integers(1, 50, 2)))
        assert (connected(values) == label(values, connectivity=1, background=0)).all()


def test_boxes_are_scipys():
    rnd = np.random.default_rng(5)
    for _ in range(60):
        marked = rnd.integers(0, 30, tuple(rnd.integers(1, 12, 2)))
        nowhere = (slice(0, 0), slice(0, 0))
        assert boxes(marked, 32) == [box or nowhere for box in ndimage.find_objects(marked, 32)]


def test_depth_is_scipys_to_the_last_digit():
    for mask in random_masks(60):
        framed = np.pad(mask, 1)
        assert (depth(framed) == ndimage.distance_transform_edt(framed)).all()


@pytest.mark.parametrize("by", [1, 2, 5])
def test_spread_and_square_filter_are_scipys(by):
    for mask in random_masks(30):
        assert (spread(mask, by) == ndimage.binary_dilation(mask, np.ones((3, 3)), iterations=by)).all()
        grey = (mask * 200 + np.arange(mask.shape[1]) % 50).astype(np.uint8)
        side = 2 * by + 1
        assert (square_filter(grey, side, largest=True) == ndimage.maximum_filter(grey, side, mode="nearest")).all()
        assert (square_filter(grey, side, largest=False) == ndimage.minimum_filter(grey, side, mode="nearest")).all()


def test_an_empty_picture_has_no_pieces():
    assert components(np.zeros((0, 5), bool))[1] == 0
    assert connected(np.zeros((3, 4), int)).sum() == 0
