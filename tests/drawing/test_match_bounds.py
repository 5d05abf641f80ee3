"""How alike an area must be to be the same again, just on either side of each rule: squares on a sheet, redrawn.

Bounds are our rules (see beside each constant). Four squares of 60 pixels stand apart; of each case the first is
redrawn and three stay.
"""

from collections.abc import Sequence

import numpy as np
import pytest

from finishplan.drawing.registration import carried, moves

from .small_drawings import Box, matched, reading

RED, BLUE, GREEN, YELLOW = "#c03030", "#3050c0", "#309040", "#d0b030"
SQUARES = [
    ((20, 20, 80, 80), RED),
    ((120, 20, 180, 80), BLUE),
    ((20, 120, 80, 180), GREEN),
    ((120, 120, 180, 180), YELLOW),
]


def square(x: int, y: int, w: int, h: int, colour: str) -> tuple[Box, str]:
    return (x, y, x + w, y + h), colour


def between(one: str, other: str, share: float) -> str:
    a, b = (np.array([int(c[i : i + 2], 16) for i in (1, 3, 5)]) for c in (one, other))
    return "#" + "".join(f"{v:02x}" for v in np.rint(a * (1 - share) + b * share).astype(int))


def first_is(*now: tuple[Box, str]) -> str:
    """What is said of the first square, drawn as that now: 'sure', 'doubtful' or 'gone'."""
    found = matched(reading(SQUARES), reading([*now, *SQUARES[1:]]))
    if 1 not in dict(found.found):
        return "gone"
    return "doubtful" if 1 in found.doubtful else "sure"


@pytest.mark.parametrize(
    ("how", "now", "said"),
    [
        ("as it was", [square(20, 20, 60, 60, RED)], "sure"),
        ("a third of its width away", [square(41, 20, 60, 60, RED)], "sure"),
        ("half of its width away", [square(52, 20, 60, 60, RED)], "doubtful"),
        ("in another colour", [square(20, 20, 60, 60, GREEN)], "sure"),
        ("in another colour, a sixth of its width away", [square(30, 20, 60, 60, "#104060")], "doubtful"),
        ("browner, not half of it where it was", [square(45, 20, 60, 60, between(RED, GREEN, 0.3))], "doubtful"),
        ("of half the colour of another, the same", [square(45, 20, 60, 60, between(RED, GREEN, 0.6))], "gone"),
        ("something dark over half of where it was", [square(50, 20, 60, 60, "#104060")], "gone"),
        ("cut in two, the larger three fifths", [square(20, 20, 36, 60, RED), square(56, 20, 24, 60, RED)], "doubtful"),
        ("cut in two, the larger two thirds", [square(20, 20, 42, 60, RED), square(62, 20, 18, 60, RED)], "sure"),
    ],
)
def test_whether_an_area_is_the_same(how: str, now: list[tuple[Box, str]], said: str) -> None:
    assert first_is(*now) == said


BESIDE = [((20, 20, 60, 80), RED), ((60, 20, 140, 80), BLUE), *SQUARES[2:]]


@pytest.mark.parametrize(
    ("left", "colour", "kept"),
    [
        (44, RED, 2),  # two fifths of its ground
        (34, RED, 1),
        (20, between(RED, BLUE, 0.1), 1),
        (20, between(RED, BLUE, 0.2), 2),  # of a colour of its own
    ],
)
def test_an_area_swallowed_by_its_neighbour(left: int, colour: str, kept: int) -> None:
    """What has the ground of two now, from `left` on, is the one whose colour it has."""
    found = dict(matched(reading(BESIDE), reading([((left, 20, 140, 80), colour), *BESIDE[2:]])).found)
    assert [k for k, v in found.items() if v == 1] == [kept]


def group(at: Sequence[complex], a: complex, b: complex) -> np.ndarray:
    """Whether moves finds a z + b of six squares that were moved so; at: their middles now."""
    rows = [square(round(z.real * 200) - 10, round(z.imag * 200) - 10, 20, 20, RED) for z in at]
    now, new = reading(rows), np.array(at)
    centres = (new - b) / a
    disc = np.array([x + 1j * y for x in np.linspace(-0.04, 0.04, 6) for y in np.linspace(-0.04, 0.04, 4)])
    points = (new[:, None] + disc[None] - b) / a
    return moves(points, centres, now, np.eye(len(at)), new)


SIX = [0.2 + 0.2j, 0.5 + 0.15j, 0.8 + 0.25j, 0.25 + 0.7j, 0.55 + 0.8j, 0.75 + 0.6j]


@pytest.mark.parametrize(
    ("scale", "degrees", "found"), [(2.0, 8.0, True), (3.2, 8.0, False), (1.0, 15.0, True), (1.0, 26.0, False)]
)
def test_a_figure_drawn_again_larger_or_turned(scale: float, degrees: float, found: bool) -> None:
    """Up to two and a half times as large and turned by 20 degrees it is the same sheet."""
    a = scale * np.exp(1j * np.radians(degrees))
    told = group(SIX, a, 0.05 - 0.3j)
    assert bool((np.abs(told[:, 0] - a) < 0.02).all()) == found


def test_squares_that_went_their_own_way() -> None:
    """Two of six by half of their width, so that less than half of either lies where the common move puts it."""
    rows = [square(round(z.real * 200) - 10, round(z.imag * 200) - 10, 20, 20, RED) for z in SIX]
    new = np.array(SIX)
    own = np.array([0, 0, 0, 0, 0.06, 0.06])
    disc = np.array([x + 1j * y for x in np.linspace(-0.045, 0.045, 6) for y in np.linspace(-0.045, 0.045, 4)])
    told = moves((new - own)[:, None] + disc[None], new - own, reading(rows), np.eye(6), new)
    assert np.abs(told[:, 1] - own).max() < 0.01


def test_a_stroke_goes_with_the_many_a_sixth_of_the_picture_away() -> None:
    """Not with the one beside it that alone was moved: by Cauchy's weights, and as far as that reaches."""
    place = 0.3 + 0.3j
    then = np.array([*(place + 0.17 * np.exp(1j * t) for t in (0.3, 1.9, 3.5, 5.1)), place + 0.06])
    now = then + np.array([0.05, 0.05, 0.05, 0.05, -0.05j])
    (found,) = carried(np.array([place]), then, now)
    assert abs(found - place - 0.05) < 0.01


def test_places_that_miss_by_a_hundredth_all_count() -> None:
    """Middles are found to about that: the mean of three moved by 0.012 and four that were not, nearly."""
    place = 0.3 + 0.3j
    then = place + 0.1 * np.exp(2j * np.pi * np.arange(7) / 7)
    now = then + 0.012 * np.isin(np.arange(7), (0, 2, 4))
    (found,) = carried(np.array([place]), then, now)
    assert 0.7 * 0.012 * 3 / 7 < (found - place).real < 1.1 * 0.012 * 3 / 7
