"""What bold lines hide: a strip of a colour between two lines that run together."""

import numpy as np
import pytest

from finishplan.drawing.hidden import hidden
from finishplan.drawing.linework import Lines
from finishplan.drawing.tones import FAR, Classes

LEFT, RIGHT, ABOVE, BELOW, PEN = 1, 2, 3, 4, 10


def waist(ink: int, *, alike: bool = True) -> tuple[np.ndarray, Lines]:
    """Two areas, of one colour where `alike`, that a waist under `ink` pixels of line joins or parts, between one above
    and one below: the seeds after what the lines hide is known, and the lines, elsewhere PEN pixels broad."""
    marked = np.zeros((140, 200), np.int32)
    marked[50:90, :60], marked[50:90, 130:] = LEFT, RIGHT
    top = 70 - ink // 2
    marked[:40], marked[100:] = ABOVE, BELOW
    marked[:top, 70:120], marked[top + ink :, 70:120] = ABOVE, BELOW
    tone = np.array([[80.0, 20 * k, 0] for k in (0, 0, 0 if alike else 1, 2, 3)] + [[FAR] * 3])
    classes = Classes(marked.astype(np.uint8), marked > 0, np.zeros((5, 3)), tone)
    return hidden(marked, Lines(marked == 0, PEN, np.zeros(3)), classes, 200, 2.2)


@pytest.mark.parametrize(("ink", "alike", "one"), [(16, True, True), (11, True, False), (16, False, False)])
def test_a_waist_under_a_line_broader_than_others(ink: int, alike: bool, one: bool) -> None:
    marked, _ = waist(ink, alike=alike)
    assert (marked[70, 20] == marked[70, 180]) == one
    assert (marked[70, 95] == marked[70, 20]) == one  # the waist itself


@pytest.mark.parametrize(("ink", "apart"), [(16, True), (11, False)])
def test_what_lies_on_both_sides_of_it_does_not_touch(ink: int, apart: bool) -> None:
    assert waist(ink)[1].deep[70, 95] == apart


def test_fine_lines_hide_nothing() -> None:
    marked = np.zeros((9, 9), np.int32)
    marked[:3], marked[6:] = 1, 2
    classes = Classes(marked.astype(np.uint8), marked > 0, np.zeros((3, 3)), np.zeros((4, 3)))
    fine = Lines(marked == 0, 3.0, np.zeros(3))
    assert hidden(marked, fine, classes, 200, 2.2)[1].apart is None
