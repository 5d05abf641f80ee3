"""Placing the areas' numbers: all there, none overlapping, each in or pointing at its area."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_plans import Size, make_drawing

from finishplan.sheets.numbers import Numbered, Numerals, lay_out, rooms

PLATE = 1.02 / 0.8
"""Height of the plate a number stands on over that of its text, as sheets/blocks.py draws it."""


def width(i: int) -> float:
    return 5.0 * len(str(i))


SMALL = 0.8


def crossed(a: tuple[np.ndarray, np.ndarray], b: tuple[np.ndarray, np.ndarray]) -> bool:
    """Whether two lines cross: each has the ends of the other on its two sides (sign of the cross product)."""

    def side(line: tuple[np.ndarray, np.ndarray], point: np.ndarray) -> float:
        (dx, dy), (ex, ey) = line[1] - line[0], point - line[0]
        return float(dx * ey - dy * ex)

    return side(a, b[0]) * side(a, b[1]) < -1e-6 and side(b, a[0]) * side(b, a[1]) < -1e-6


def check(labels: np.ndarray, frame: tuple[float, float], high: float = 7.2, between: bool = False) -> Numbered:
    kind = Numerals(width, high, 1.0 if between else SMALL, between)
    plan = lay_out(labels, rooms(labels, [int(i) for i in np.unique(labels) if i]), frame, kind)
    assert [t.id for t in plan.tags] == [int(i) for i in np.unique(labels) if i]
    halves = [np.array([width(t.id), high]) / 2 * (SMALL if t.small else 1) for t in plan.tags]
    boxes = [(t.x - w, t.y - h, t.x + w, t.y + h) for t, (w, h) in zip(plan.tags, halves, strict=True)]
    leaders = [(np.array([t.x, t.y]), np.array(t.anchor)) for t in plan.tags if t.anchor and not between]
    assert not any(crossed(a, b) for a, b in itertools.combinations(leaders, 2))
    for k, a in enumerate(boxes):
        for b in boxes[k + 1 :]:
            assert min(a[2], b[2]) <= max(a[0], b[0]) + 1e-6 or min(a[3], b[3]) <= max(a[1], b[1]) + 1e-6
    beside = [t for t in plan.tags if t.anchor and not between]
    assert all(abs(a.y - b.y) >= PLATE * high - 1e-6 for a in beside for b in beside if a is not b and a.x == b.x)
    x0, y0, wide, deep = plan.picture
    scale = wide / labels.shape[1]
    assert deep / labels.shape[0] == pytest.approx(scale)
    assert x0 >= -1e-6 and x0 + wide <= frame[0] + 1e-6
    for tag, box in zip(plan.tags, boxes, strict=True):
        x, y = tag.anchor or (tag.x, tag.y)
        row, col = int((y - y0) / scale), int((x - x0) / scale)
        assert labels[min(row, labels.shape[0] - 1), min(col, labels.shape[1] - 1)] == tag.id
        if tag.anchor is None:
            rows = slice(int((box[1] - y0) / scale), int(np.ceil((box[3] - y0) / scale)))
            cols = slice(int((box[0] - x0) / scale), int(np.ceil((box[2] - x0) / scale)))
            assert (labels[rows, cols] == tag.id).mean() > 0.9
        elif not between:
            assert box[2] <= x0 + 1e-6 or box[0] >= x0 + wide - 1e-6
    return plan


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 10_000), st.integers(1, 45), st.tuples(st.floats(120, 500), st.floats(120, 500)))
def test_random_patches(seed: int, count: int, frame: tuple[float, float]) -> None:
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 90, (count, 2))
    yx = np.mgrid[:90, :110].transpose(1, 2, 0)
    labels = np.argmin(((yx[:, :, None] - points) ** 2).sum(-1), axis=2).astype(np.int32) + 1
    labels[np.hypot(yx[..., 0] - 45, yx[..., 1] - 55) > 44] = 0
    if labels.any():
        check(labels, frame)
        check(labels, frame, between=True)


def test_sixty_areas_in_a_frame_of_a_part() -> None:
    drawing, _ = make_drawing(np.random.default_rng(3), Size(1, 60, 20))
    check(drawing.labels, (510.0, 280.0))


def test_a_speck_has_a_line_to_it() -> None:
    labels = np.ones((200, 200), np.int32)
    labels[50:53, 120:123] = 2
    speck = check(labels, (200.0, 200.0)).tags[1]
    assert speck.anchor is not None


def test_a_speck_lost_in_the_reduced_map_is_still_found() -> None:
    labels = np.ones((2000, 2000), np.int32)
    labels[1001, 1003] = 2
    assert [t.id for t in check(labels, (400.0, 400.0)).tags] == [1, 2]


def test_more_specks_than_two_columns_hold() -> None:
    labels = np.zeros((300, 300), np.int32)
    for k in range(100):
        labels[3 * k, (7 * k) % 300] = k + 1
    check(labels, (400.0, 200.0))


def crossing(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    def side(p: tuple[float, ...], x: float, y: float) -> float:
        return (p[2] - p[0]) * (y - p[1]) - (p[3] - p[1]) * (x - p[0])

    return side(a, *b[:2]) * side(a, *b[2:]) < 0 and side(b, *a[:2]) * side(b, *a[2:]) < 0


def test_between_the_parts_numbers_stand_on_paper_and_lines_do_not_cross() -> None:
    labels = np.zeros((300, 400), np.int32)
    labels[60:240, 60:180] = 1
    labels[60:240, 220:340] = 2
    for k in range(12):
        labels[70 + 14 * k : 72 + 14 * k, 100 + 5 * k : 102 + 5 * k] = 3 + k
        labels[70 + 14 * k : 72 + 14 * k, 300 - 5 * k : 302 - 5 * k] = 15 + k
    plan = check(labels, (400.0, 300.0), between=True)
    assert plan.picture == pytest.approx((0, 0, 400, 300))
    lines = [(t.x, t.y, *t.anchor) for t in plan.tags if t.anchor]
    assert len(lines) == 24
    assert all(labels[int(t.y), int(t.x)] == 0 for t in plan.tags if t.anchor)
    assert not any(crossing(a, b) for k, a in enumerate(lines) for b in lines[k + 1 :])


def test_a_number_stands_beside_the_lines_drawn_in_its_area() -> None:
    labels, ink = np.ones((200, 300), np.int32), np.zeros((200, 300), bool)
    ink[96:104, 20:280] = True  # through the middle, where the number would stand
    for between in (False, True):
        kind = Numerals(width, 12.0, between=between)
        (free,) = lay_out(labels, rooms(labels, [1]), (300.0, 200.0), kind).tags
        (tag,) = lay_out(labels, rooms(labels, [1], ink), (300.0, 200.0), kind).tags
        assert abs(free.y - 100) < 6 < abs(tag.y - 100) and tag.anchor is None
        assert not ink[int(tag.y - 6) : int(tag.y + 6), int(tag.x - 2.5) : int(tag.x + 2.5)].any()


def test_numbers_of_a_cluster_stand_about_it_and_none_is_in_their_lines_way() -> None:
    """Seven slips of areas inside a large one at the left: their numbers spread evenly up and down from them, and that
    of the large area, which stood in the lines' way, has moved."""
    labels = np.zeros((200, 200), int)
    labels[20:180, 20:180] = 1
    for k in range(7):
        labels[86 + 4 * k : 88 + 4 * k, 60:90] = k + 2
    found = lay_out(labels, rooms(labels, range(1, 9)), (300.0, 200.0), Numerals(width, 10.0))
    led = [t for t in found.tags if t.anchor]
    assert [t.id for t in led] == list(range(2, 9))
    left = [t for t in led if t.x < led[0].anchor[0]]
    middle = np.mean([t.anchor[1] for t in left])
    assert np.mean([t.y for t in left]) == pytest.approx(middle, abs=1.0)
    own = next(t for t in found.tags if t.id == 1)
    for t in led:
        x, y = (np.linspace(a, b, 50) for a, b in zip((t.x, t.y), t.anchor, strict=True))
        assert not ((abs(x - own.x) < width(1) / 2) & (abs(y - own.y) < 5.0)).any()
