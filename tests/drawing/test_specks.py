"""Dots too small to hold a colour of their own among the picture's: what is one, and what is not."""

from collections.abc import Sequence

import numpy as np
import pytest

from finishplan.drawing.specks import MOST_IN_AREA, SpeckRules, find_specks
from finishplan.drawing.tones import tone_of

from .small_drawings import classes_of

SKIN, SPOT = (200, 150, 120), (60, 40, 90)
RULES = SpeckRules(least=2.9, most=20.0)
Box = tuple[int, int, int, int]


def specks(
    *boxes: Box, tone: tuple[int, int, int] = SPOT, second: Box | None = None
) -> tuple[int, int, dict[int, int]]:
    """(Regions that specks became; how many were folded in; crowds) of boxes left, top, right, bottom of a tone on
    skin. second: where another region lies."""
    rgb, labels = np.full((80, 120, 3), SKIN, np.uint8), np.ones((80, 120), np.int32)
    cls = np.zeros(labels.shape, int)
    for left, top, right, low in boxes:
        rgb[top:low, left:right], cls[top:low, left:right] = tone, 1
    mode = tone_of(np.array([(0, 0, 0), SKIN]))
    if second is not None:
        left, top, right, low = second
        labels[top:low, left:right] = 2
        mode = np.vstack([mode, mode[1]])
    classes = classes_of(cls, [tuple(tone_of(np.array([c]))[0]) for c in (SKIN, tone)])  # type: ignore[misc]
    found = find_specks(labels, mode, classes, rgb, RULES)
    assert all((rgb[s.box][s.core] == tone).all() for s in found.found)
    return len(found.found), found.folded, [len(crowd) for crowd in found.crowds]


@pytest.mark.parametrize(
    ("boxes", "found", "folded"),
    [
        ([(30, 30, 33, 33)], 1, 0),
        ([(30, 30, 32, 32)], 0, 1),  # too small across
        ([(30, 30, 31, 40)], 0, 0),  # a hair
        ([(30, 30, 34, 44)], 0, 0),  # a stroke
        ([(30, 30, 36, 36), (37, 30, 43, 36)], 0, 0),  # side by side, as the pieces of a broken line are
        ([(30, 30, 36, 36), (40, 30, 46, 36)], 2, 0),
        ([(30, 30, 53, 53)], 0, 0),  # larger than a dot
    ],
)
def test_what_a_speck_is(boxes: Sequence[Box], found: int, folded: int) -> None:
    assert specks(*boxes)[:2] == (found, folded)


def test_a_speck_lies_inside_one_area() -> None:
    assert specks((30, 30, 36, 36), second=(60, 0, 120, 80))[0] == 1
    assert specks((30, 30, 36, 36), second=(37, 0, 120, 80))[0] == 0


def test_a_speck_differs_from_what_lies_round_it() -> None:
    near = tone_of(np.array([SKIN, (176, 128, 100), (152, 106, 80)]))
    assert [np.linalg.norm(near[0] - t) > 10 for t in near[1:]] == [False, True]
    assert specks((30, 30, 36, 36), tone=(176, 128, 100))[0] == 0
    assert specks((30, 30, 36, 36), tone=(152, 106, 80))[0] == 1


def test_a_crowd_of_specks_is_told_and_not_numbered() -> None:
    places = [(5 + 9 * (k % 12), 5 + 9 * (k // 12)) for k in range(MOST_IN_AREA + 1)]
    boxes = [(x, y, x + 4, y + 4) for x, y in places]
    assert specks(*boxes) == (0, 0, [MOST_IN_AREA + 1])
    assert specks(*boxes[1:]) == (MOST_IN_AREA, 0, [])
