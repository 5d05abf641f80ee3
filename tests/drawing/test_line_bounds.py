"""What is a drawn line and what an area, just on either side of each rule: maps of a few colours, 200 to 300 pixels.

Bounds are our rules (see beside each constant). Classes are told by their DIN99b tones: lightness first.
"""

from collections.abc import Sequence

import numpy as np
import pytest

from finishplan.drawing.details import stroke_note
from finishplan.drawing.linework import Lines, Sheet, find_lines, solid
from finishplan.drawing.model import Detail
from finishplan.drawing.outlines import settled
from finishplan.drawing.regions import UNKNOWN, absorb, ink_bits, seeds, thin_strips
from finishplan.drawing.stray import thin_and_dark
from finishplan.drawing.tones import Classes

from .small_drawings import classes_of

INK, ONE, TWO, THREE = (10.0, 0.0, 0.0), (70.0, 20.0, 0.0), (60.0, -20.0, 0.0), (75.0, 0.0, 20.0)
TONES = (INK, ONE, TWO, THREE)


def found_in(
    cls: np.ndarray, tones: Sequence[tuple[float, float, float]] = TONES, longest: int = 0, **how: bool
) -> Lines:
    """The lines of a map without a background."""
    rgb = np.repeat((2.4 * np.array([*(t[0] for t in tones), 50.0]))[cls][..., None], 3, axis=2).astype(np.uint8)
    sheet = Sheet(rgb, np.zeros(cls.shape, bool), 3, longest or max(cls.shape), **how)
    return find_lines(classes_of(cls, tones), sheet)


def ruled(widths: Sequence[int], side: int = 300, bare: float = 0.0) -> np.ndarray:
    """Strips of three colours in turn with lines of those widths between them; a spot without outlines along so much of
    each strip."""
    cls, left, step = np.zeros((side, side), int), 0, side // (len(widths) + 1)
    for i, wide in enumerate([*widths, 0]):
        right = side if i == len(widths) else (i + 1) * step - wide // 2
        cls[:, left:right] = 1 + i % 3
        cls[5 : 5 + round(bare * side), (left + right) // 2 - 5 : (left + right) // 2 + 5] = 1 + (i + 1) % 3
        left = right + wide
    return cls


# --- networks of bold outlines


def test_bars_across_a_picture_are_areas_and_a_lattice_of_them_is_outlines() -> None:
    """A cross is twice as long as the picture is wide, a lattice six times."""
    cross, lattice = (ruled([6] * n, 200) for n in (1, 3))
    cross[97:103] = 0
    for top in (47, 97, 147):
        lattice[top : top + 6] = 0
    assert found_in(cross).rgb is None and found_in(lattice).rgb is not None


def test_outlines_run_along_most_borders() -> None:
    assert found_in(ruled([6] * 5, 300)).rgb is not None
    assert found_in(ruled([6] * 5, 300, bare=0.8)).rgb is None


def test_outlines_are_mostly_no_broader_than_a_pen() -> None:
    """Of 750 pixels 8 are a pen, 40 a painted band: a fifth of the length may be fills of its colour, no third."""
    assert found_in(ruled([8, 8, 8, 40, 8, 8, 8, 40, 8], 600), longest=750).rgb is not None
    assert found_in(ruled([8, 40, 8, 8, 40, 8, 40, 40, 8], 600), longest=750).rgb is None


@pytest.mark.parametrize(("bare", "darker", "told"), [(0.35, False, True), (0.35, True, False), (0.0, True, True)])
def test_what_lies_between_scales_is_no_outline(bare: float, darker: bool, told: bool) -> None:
    """It runs along most borders, too, but a third of the scales are darker than it."""
    tones = ((50.0, 0.0, 0.0), ONE, (30.0, -20.0, 0.0) if darker else TWO, THREE)
    assert (found_in(ruled([8] * 8, 400, bare=bare), tones, longest=500).rgb is not None) == told


def test_a_brush_swells() -> None:
    """Four tenths of the length are nearly three times as broad as the rest, and line all the same."""
    cls = ruled([8, 18, 8, 18, 8], 400)
    assert found_in(cls, longest=500).mask[cls == 0].mean() > 0.95


@pytest.mark.parametrize(("side", "area"), [(40, False), (60, True)])
def test_two_lines_side_by_side_are_no_area(side: int, area: bool) -> None:
    own = np.zeros((200, 200), bool)
    own[90:110] = True
    own[100 - side // 2 : 100 + side // 2, 50:150] = True
    assert solid(own, 20.0, 3).any() == area


def pupil(hole: int, right: int) -> np.ndarray:
    """A dark square of 44 pixels with a light one set in, so far from its left."""
    own = np.zeros((80, 80), bool)
    own[18:62, 18:62] = True
    own[30 : 30 + hole, 18 + right : 18 + right + hole] = False
    return own


def test_a_glint_in_a_pupil() -> None:
    """What lies between it and the pupil's rim is pupil, where the glint is less than half of it."""
    for hole, whole in ((20, True), (29, False)):
        own = pupil(hole, 4)
        strip = solid(own, 5.0, 3)[32 : 28 + hole, 18:22]
        assert strip.all() == whole


@pytest.mark.parametrize(("wide", "parts"), [(20, True), (34, False)])
def test_what_lies_deep_in_the_ink_parts_nothing(wide: int, parts: bool) -> None:
    """Two outlines side by side part two areas, a blot does not."""
    mask = np.zeros((120, 120), bool)
    mask[:, 40 : 40 + wide] = True
    assert Lines(mask, 10.0, np.zeros(3)).deep.any() != parts


# --- thin lines


@pytest.mark.parametrize(("off", "line"), [(6.0, False), (12.0, True)])
def test_a_line_stands_out_from_what_it_parts(off: float, line: bool) -> None:
    tones = ((60.0 - off, 0.0, 0.0), (60.0, 0.0, 0.0), (60.0, 1.0, 0.0), (60.0, 0.0, 1.0))
    assert (found_in(ruled([2] * 9, 200), tones).rgb is not None) == line


def test_bits_of_nearly_its_tone_belong_to_a_line() -> None:
    cls = ruled([2] * 9, 200)
    cls[50:70][cls[50:70] == 0] = 4
    for off, own in ((10.0, True), (18.0, False)):
        lines = found_in(cls, (*TONES, (10.0 + off, 0.0, 0.0)))
        assert lines.mask[cls == 4].all() == own


def streaky(parting: int, inside: int, off: float, long: int = 200) -> bool:
    """Whether a tone so much darker than an area is a line's, in a drawing by hand: so many of its strokes, so long,
    part two colours, so many lie in one."""
    cls = ruled([2] * parting, 200)
    cls[long:][cls[long:] == 0] = 1
    columns, pitch = (slice(10, 90), 24) if parting == 1 else (slice(120, 190), 13)
    for at in range(5, 5 + pitch * inside, pitch):
        cls[at - 4 : at + 6, columns] = 1
        cls[at : at + 2, columns] = 0
    return found_in(cls, ((70.0 - off, 20.0, 0.0), ONE, TWO, THREE), longest=230, grain=True).rgb is not None


@pytest.mark.parametrize(
    ("parting", "inside", "off", "line"),
    [(9, 0, 20.0, True), (9, 2, 20.0, True), (6, 12, 20.0, False), (6, 12, 40.0, True)],
)
def test_streaks_of_a_pencil_are_no_lines(parting: int, inside: int, off: float, line: bool) -> None:
    assert streaky(parting, inside, off) == line


@pytest.mark.parametrize(("long", "line"), [(50, False), (150, True)])
def test_a_tone_that_hardly_parts_anything_is_no_lines(long: int, line: bool) -> None:
    assert streaky(1, 8, 40.0, long) == line


@pytest.mark.parametrize(("steps", "dark"), [(10, False), (20, True)])
def test_a_stroke_by_hand_is_darker_than_all_about_it(steps: int, dark: bool) -> None:
    rgb = np.full((60, 60, 3), 150, np.uint8)
    rgb[:, 28:31] -= np.uint8(steps)
    assert thin_and_dark(rgb, 9).any() == dark


# --- whether lines are the outlines


def settle(
    dark: Sequence[int],
    other: Sequence[int] = (),
    *,
    tone: int = 60,
    ground: int = 250,
    lines: int = 9,
    spot: int = 0,
    rim: float = 0.0,
) -> tuple[Lines, np.ndarray]:
    """(What is settled on, (h, w) classes) of a figure of vertical strips on a ground of that grey. dark: which of the
    borders between strips have a line of ink, other: which one of another grey; spot: side of a freckle of that; rim:
    how much of the figure's own outline is drawn."""
    cls = ruled([3] * lines, 200)
    edges = [np.s_[:, (i + 1) * (200 // (lines + 1)) - 1 : (i + 1) * (200 // (lines + 1)) + 2] for i in range(lines)]
    for i, edge in enumerate(edges):
        cls[edge] = 0 if i in dark else 4 if i in other else 1 + i % 3
    cls[95 : 95 + spot, 8 : 8 + spot] = 4
    figure = np.zeros((240, 240), bool)
    figure[20:220, 20:220] = True
    whole = np.full((240, 240), 5)
    whole[20:220, 20:220] = cls
    for k in range(4):
        whole[20:23, 20 : 20 + round(200 * min(1.0, max(0.0, 4 * rim - k)))] = 0
        whole = np.rot90(whole)
    greys = np.array([20, 150, 190, 230, tone, ground])
    rgb = np.repeat(greys[whole][..., None], 3, axis=2).astype(np.uint8)
    from finishplan.drawing.tones import tone_of

    classes = classes_of(whole, tone_of(np.repeat(greys[:, None], 3, axis=1).astype(float)).tolist())
    classes = Classes(classes.of_pixel, classes.quiet, np.repeat(greys[:, None], 3, axis=1).astype(float), classes.tone)
    mask = (whole == 0) & figure
    return settled(Lines(mask, 3.0, np.full(3, 20.0)), classes, Sheet(rgb, ~figure, 3, 800)), whole


ALL = range(9)


@pytest.mark.parametrize(
    ("name", "lined", "ground", "rim", "told"),
    [
        ("along all borders", ALL, 250, 0.0, True),
        ("along two of nine, and a third of the figure's outline", (0, 1), 250, 0.35, False),
        ("along two of nine, and two thirds of the figure's outline", (0, 1), 250, 0.65, True),
        ("along half of them, on a background nearly as dark", (0, 2, 4, 6, 8), 54, 0.0, True),
        ("along two of nine, the figure's own outline bare", (0, 1), 250, 0.0, False),
        ("along half of them, on a background as dark as they are", (0, 2, 4, 6, 8), 30, 0.0, True),
        ("along half of them, on a background that they would show on", (0, 2, 4, 6, 8), 90, 0.0, False),
        ("along one or two of them, on a background as dark as they are", (0, 5), 30, 0.0, False),
    ],
)
def test_lines_that_are_shading(name: str, lined: Sequence[int], ground: int, rim: float, told: bool) -> None:
    """Shadows run along some borders, outlines along most, wherever they can be seen."""
    assert (settle(lined, ground=ground, rim=rim)[0].rgb is not None) == told


@pytest.mark.parametrize(
    ("name", "other", "tone", "told"),
    [
        ("two of nine lines are browner", (4, 6), 100, False),
        ("four of nine", (2, 4, 6, 8), 100, True),
        ("four of nine hardly darker than what they part", (2, 4, 6, 8), 141, False),
        ("four of nine somewhat darker", (2, 4, 6, 8), 130, True),
    ],
)
def test_outlines_of_many_tones(name: str, other: Sequence[int], tone: int, told: bool) -> None:
    lines, cls = settle([i for i in ALL if i not in other], other, tone=tone)
    assert (lines.mask[cls == 4].mean() > 0.9) == told


@pytest.mark.parametrize(("side", "line"), [(2, True), (3, False)])
def test_a_freckle_is_no_line(side: int, line: bool) -> None:
    lines, _ = settle([0, 1, 3, 5, 7], (2, 4, 6, 8), tone=100, spot=side)
    assert lines.mask[115 : 115 + side, 28 : 28 + side].all() == line


# --- from lines and seeds to regions


def bit(off: float, beside: float, *, grain: bool = False) -> bool:
    """Whether a bit of 8 pixels among lines, so far from their tone, and along so much of its rim beside them, is
    theirs."""
    cls = np.zeros((60, 60), int)
    cls[26:34, 26:34] = 1
    mask = np.zeros((60, 60), bool)
    mask[24:36, 22:26], mask[24:36, 34:38] = beside >= 0.5, beside >= 0.3
    mask[22:26, 24:36] = beside >= 0.7
    from finishplan.drawing.tones import tone_of

    ink = float(tone_of(np.zeros(3))[0])
    classes = classes_of(cls, ((80.0, 0.0, 0.0), (ink + off, 0.0, 0.0)))
    found = ink_bits(cls.astype(np.int32), classes, Lines(mask, 4.0, np.zeros(3)), 5, grain=grain)
    return bool(found[30, 30])


@pytest.mark.parametrize(
    ("off", "beside", "grain", "theirs"),
    [
        (2.0, 0.75, False, True),
        (7.5, 0.75, False, True),
        (13.0, 0.75, False, False),
        (18.0, 0.75, True, True),
        (30.0, 0.75, True, False),
        (2.0, 0.35, False, False),
    ],
)
def test_bits_between_lines(off: float, beside: float, grain: bool, theirs: bool) -> None:
    """With grain a tone is known less surely."""
    assert bit(off, beside, grain=grain) == theirs


@pytest.mark.parametrize(
    ("wide", "long", "darker", "line"),
    [(4, 60, 16, True), (4, 60, 9, False), (4, 7, 16, False), (4, 14, 16, True), (7, 60, 16, False)],
)
def test_outlines_in_a_tone_too_rare_to_be_known(wide: int, long: int, darker: int, line: bool) -> None:
    marked, rgb = np.ones((80, 100), np.int32), np.full((80, 100, 3), 150, np.uint8)
    marked[30 : 30 + wide, 15 : 15 + long] = 2
    rgb[marked == 2] -= np.uint8(darker)
    none = Lines(np.zeros(marked.shape, bool), 1.0, np.zeros(3))
    assert thin_strips(marked, rgb, none)[31, 18] == line


def test_an_edge_that_cuts_a_shading_is_given_to_both_sides() -> None:
    """Six pixels of blur between two areas of one tone: none is left over."""
    cls = np.zeros((40, 80), int)
    cls[:, 60:] = 1
    quiet = np.ones(cls.shape, bool)
    quiet[:, 27:33] = False
    classes = classes_of(cls, ((50.0, 0.0, 0.0), (52.0, 0.0, 0.0)))
    classes = Classes(classes.of_pixel, quiet, classes.rgb, classes.tone)
    none = Lines(np.zeros(cls.shape, bool), 1.0, None)
    marked = seeds(classes, none, np.zeros(cls.shape, bool), 3, split=True)
    assert marked[20, 10] != marked[20, 50] and (marked[20, 27:33] > 0).all()


def test_a_whisker_belongs_to_what_it_grows_from() -> None:
    """Seven pixels long, and nearer, across bare ground, to something else."""
    marked = np.full((40, 60), -1, np.int32)
    marked[5:25, :20], marked[17:35, 22:50] = 1, 2
    line = np.zeros(marked.shape, bool)
    line[15, 20:27] = True
    marked[line] = UNKNOWN
    assert (absorb(marked, line, 10.0)[15, 20:27] == 1).all()


def test_strokes_round_a_hole_beside_something_dark_are_drawn() -> None:
    """Dark along a third of the hole's rim only: what runs round the rest is no part of that."""
    own = np.zeros((120, 110), bool)
    own[18:100, 14:92] = True
    own[22:58, 18:38] = False
    own[63:80, :38] = False
    assert not solid(own, 5.0, 3)[30:50, 14:18].any() and solid(own, 5.0, 3)[30:90, 45:90].all()


def strokes(*numbers: int) -> tuple[Detail, ...]:
    """So many strokes in area 1, 2 ...; those of an area with more are the longer."""
    return tuple(
        Detail(area, (10.0 * k, 5.0 * area), 30.0 + number - 0.1 * k - area / 100, 2.0, "#000000", True)
        for area, number in enumerate(numbers, 1)
        for k in range(number)
    )


def test_a_brow_or_two_are_told_before_fur() -> None:
    """Three strokes of one area are a mouth and two brows, five are hatching (our rule)."""
    (note,) = stroke_note(strokes(5, 3), (100, 100))
    assert note.index("in area 2") < note.index("in area 1")
    (note,) = stroke_note(strokes(1, 1, 1, 1, 1, 1), (100, 100))
    assert note.count("in area") == 4


@pytest.mark.parametrize(("lined", "told"), [(5, False), (8, True)])
def test_borders_with_a_soft_rim_count_like_any_other(lined: int, told: bool) -> None:
    """Of 18 borders so many have a line, the others two pixels of blur, which are of no colour."""
    widths = [6 if k * lined % 18 < lined else 2 for k in range(18)]
    cls = ruled(widths, 540)
    for k, wide in enumerate(widths):
        right = (k + 1) * (540 // 19) - wide // 2
        if wide == 2:
            cls[:, right : right + 2] = len(TONES)
    assert (found_in(cls).rgb is not None) == told
