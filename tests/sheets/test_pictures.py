"""The pictures: colours where they belong, cuts firm, laps soft, specks seen, the same bytes again."""

import dataclasses

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt
from small_plans import Size, make_drawing, make_plan

from finishplan.drawing.model import Drawing
from finishplan.plan.plan import Plan
from finishplan.sheets import look as lk
from finishplan.sheets.pictures import (
    Strokes,
    closeup,
    numbered_drawing,
    painted,
    palette_picture,
    part_map,
    rgb,
    smaller,
    stroked,
)

RED, BLUE, BARE = "#c02020", "#2030c0", "#d0d0d0"


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    return make_drawing(np.random.default_rng(1), Size(1, 6, 3))[0]


def near(pixels: np.ndarray, colour: str) -> np.ndarray:
    return np.abs(pixels.astype(int) - rgb(colour)).max(-1) < 4


def test_each_area_has_its_colour_in_the_share_it_covers(drawing: Drawing) -> None:
    part = part_map(drawing, drawing.parts[0].areas, 400)
    colours = dict.fromkeys(drawing.parts[0].areas, BARE) | {1: RED, 2: BLUE}
    pixels = np.asarray(painted(part, colours))
    for i, colour in ((1, RED), (2, BLUE)):
        assert near(pixels, colour).mean() == pytest.approx((part.labels == i).mean(), rel=0.15)


def stroked_part(drawing: Drawing, strokes: Strokes, colours: dict[int, str] | None = None) -> np.ndarray:
    part = part_map(drawing, drawing.parts[0].areas, 400)
    shown = dict.fromkeys(drawing.parts[0].areas, BARE) | dict.fromkeys(strokes.areas, RED)
    return np.asarray(stroked(part, shown | (colours or {}), strokes, line=BARE))


def pairs_of(drawing: Drawing) -> list[tuple[int, int]]:
    """Edges by length, the longest first."""
    return [e.areas for e in sorted(drawing.edges, key=lambda e: -e.length_px)]


def test_a_cut_is_a_firm_line_where_the_two_areas_meet(drawing: Drawing) -> None:
    """Dark, all along the edge, and nowhere else."""
    low, high = pairs_of(drawing)[0]
    cut = stroked_part(drawing, Strokes(frozenset({high}), frozenset({(low, high)}), frozenset()))
    none = stroked_part(drawing, Strokes(frozenset({high}), frozenset(), frozenset()))
    firm = near(cut, lk.INK)
    assert near(none, lk.INK).sum() == 0 and firm.sum() > 100
    part = part_map(drawing, drawing.parts[0].areas, 400)
    meet = distance_transform_edt(~((part.labels == low)[::2, ::2])) + distance_transform_edt(
        ~((part.labels == high)[::2, ::2])
    )
    rows, cols = np.nonzero(firm)
    assert meet[rows.clip(max=meet.shape[0] - 1), cols.clip(max=meet.shape[1] - 1)].max() < 20
    edge = meet <= 2
    assert np.mean(distance_transform_edt(~firm)[: edge.shape[0], : edge.shape[1]][edge] < 4) > 0.9


def test_a_lap_is_a_soft_line_outside_what_is_laid(drawing: Drawing) -> None:
    low, high = pairs_of(drawing)[0]
    lapped = stroked_part(drawing, Strokes(frozenset({low}), frozenset(), frozenset({(low, high)})))
    plain = stroked_part(drawing, Strokes(frozenset({low}), frozenset(), frozenset()))
    changed = np.abs(lapped.astype(int) - plain).max(-1) > 20
    assert changed.sum() > 100 and near(lapped, lk.INK).sum() == 0
    assert near(lapped, RED).sum() > 0.97 * near(plain, RED).sum()


def test_a_speck_is_a_ringed_dot() -> None:
    drawing, _ = make_drawing(np.random.default_rng(1), Size(1, 3, 3))
    labels = drawing.labels.copy()
    labels[450:453, 450:453] = 2
    speck = dataclasses.replace(drawing, labels=np.where(drawing.labels == 2, 1, labels))
    pixels = stroked_part(speck, Strokes(frozenset({2}), frozenset(), frozenset(), frozenset({2})))
    assert near(pixels, RED).sum() > 40 and near(pixels, lk.INK).sum() > 40


def test_grey_is_one_channel_of_the_luminance(drawing: Drawing) -> None:
    part = part_map(drawing, drawing.parts[0].areas, 200)
    image = painted(part, dict.fromkeys(drawing.parts[0].areas, RED), grey=True)
    assert image.mode == "L"
    values, counts = np.unique(np.asarray(image), return_counts=True)
    assert lk.grey_of(RED) in values[np.argsort(counts)[-2:]]


@pytest.mark.parametrize(
    "colour", ["#000000", "#ffffff", "#808080", "#ff0000", "#00ff00", "#0000ff", "#c8742a", "#0a0502"]
)
def test_grey_level_is_the_luminance_by_colour_science(colour: str) -> None:
    """IEC 61966-2-1 as computed by colour-science 0.4."""
    import colour as science

    y = science.sRGB_to_XYZ(np.array(rgb(colour)) / 255)[1]
    expected = 255 * science.cctf_encoding(float(np.clip(y, 0, 1)), function="sRGB")
    assert lk.grey_of(colour) == pytest.approx(float(expected), abs=0.6)


def test_a_small_part_is_drawn_as_smoothly_as_a_large_one() -> None:
    """A disc of 40 pixels enlarged five times stays a disc: its area and its edge's roundness."""
    y, x = np.mgrid[:60, :60]
    drawing, _ = make_drawing(np.random.default_rng(1), Size(1, 1, 1))
    disc = (np.hypot(y - 30, x - 30) < 20).astype(np.int32)
    part = part_map(dataclasses.replace(drawing, labels=disc, ink_mask=np.zeros_like(disc, bool)), (1,), 200)
    inside = part.labels == 1
    rows, cols = np.nonzero(inside)
    radius = np.sqrt(inside.sum() / np.pi)
    edge = inside & ~(np.roll(inside, 1, 0) & np.roll(inside, -1, 0) & np.roll(inside, 1, 1) & np.roll(inside, -1, 1))
    away = np.hypot(*(c - m for c, m in zip(np.nonzero(edge), (rows.mean(), cols.mean()), strict=True)))
    assert np.abs(away / radius - 1).max() < 0.05


def test_smaller_map_shows_the_same_areas(drawing: Drawing) -> None:
    large = part_map(drawing, drawing.parts[0].areas, 600)
    small = smaller(large, 200)
    for i in drawing.parts[0].areas:
        assert (small.labels == i).mean() == pytest.approx((large.labels == i).mean(), abs=0.01)
    assert small.ratio == pytest.approx(large.ratio, rel=0.02)


def test_numbered_drawing_is_large_sharp_and_repeatable(plan: Plan) -> None:
    one, two = numbered_drawing(plan.drawing, plan.scheme), numbered_drawing(plan.drawing, plan.scheme)
    assert one.tobytes() == two.tobytes()
    assert max(one.size) >= 2000
    assert near(np.asarray(one), lk.INK).mean() > 0.001


def test_the_marks_on_the_rim_are_shares_of_the_whole_sheet(drawing: Drawing) -> None:
    """Of a page three times as wide and twice as high, on which the figure lies off the middle: every fiftieth of it is
    marked where the figure's own outline puts it, every tenth with a longer mark."""
    high, wide = drawing.labels.shape
    page = (3 * wide / drawing.scale, 2 * high / drawing.scale)
    drawing = dataclasses.replace(
        drawing, size=(round(page[0]), round(page[1])), origin=(page[0] * 0.37, page[1] * 0.21)
    )
    picture = np.asarray(numbered_drawing(drawing, longest_px=1000))
    shown = np.any([near(picture, a.hex) for a in drawing.areas], axis=0)
    room = 1000 // 36
    for axis, rim in ((1, picture[room - 2]), (0, picture[:, room - 2])):
        ends = np.nonzero((drawing.labels > 0).any(1 - axis))[0][[0, -1]] + (0, 1)
        shares = (ends / drawing.scale + drawing.origin[1 - axis]) / drawing.size[1 - axis]
        there = np.nonzero(shown[room:, room:].any(1 - axis))[0][[0, -1]] + (0, 1) + room
        marks = np.nonzero(near(rim[room:], lk.QUIET))[0] + room
        share = np.interp(marks + 0.5, there, shares)
        inside = (marks > there[0]) & (marks < there[1])
        assert inside.sum() >= 8
        assert np.abs(share[inside] * 50 - np.round(share[inside] * 50)).max() < 0.15
        long = near(picture[room - 7] if axis else picture[:, room - 7], lk.QUIET)[marks[inside]]
        assert (long == (np.round(share[inside] * 50) % 5 == 0)).all()


def test_palette_picture_holds_every_colour(plan: Plan) -> None:
    for picture, colours in (
        (palette_picture(plan.drawing), [c.hex for c in plan.drawing.palette]),
        (palette_picture(plan.mixes), [m.hex for m in plan.mixes]),
    ):
        pixels = np.asarray(picture)
        for colour in colours:
            assert near(pixels, colour).sum() > 5000


def test_many_colours_make_a_taller_palette() -> None:
    few, many = (palette_picture(make_plan(1, Size(2, 24, n, 1)).drawing) for n in (4, 20))
    assert many.size[1] > 3 * few.size[1]


def test_a_closeup_holds_the_work_and_half_of_the_part(drawing: Drawing) -> None:
    """All of the areas in question, in the part's own pixels, and no less than half of the part each way."""
    part = part_map(drawing, drawing.parts[0].areas, 400)
    for area in drawing.parts[0].areas:
        near = closeup(part, [area])
        assert (near.labels == area).sum() == (part.labels == area).sum()
        for mine, whole in zip(near.labels.shape, part.labels.shape, strict=True):
            assert 0.49 * whole < mine <= whole
    assert min(closeup(part, [i]).labels.size for i in drawing.parts[0].areas) < 0.6 * part.labels.size
    assert closeup(part, drawing.parts[0].areas) is part and closeup(part, []) is part
