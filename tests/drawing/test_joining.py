"""Which neighbouring regions are one area and which are tones of another, just on either side of each rule.

The tones of the regions and the step across their border are told apart: a step is what the pixels show, a tone what
the class of most of them has. Bounds are our rules (see beside each constant).
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from finishplan.drawing.contacts import BLURRED, SHARP, Contacts, Trace, contacts
from finishplan.drawing.linework import Lines
from finishplan.drawing.merging import MergeRules, Painted, Tones, merge, shaded_share
from finishplan.drawing.paper import from_linear
from finishplan.drawing.shades import Regions, bases
from finishplan.drawing.tones import FAR, Classes, lab_of, tone_of

GREYS = tone_of(np.repeat(np.arange(256)[:, None], 3, axis=1).astype(float))[:, 0]
NO_LINES = (0, 0)
SHAPE = (60, 120)


def level(lightness: float) -> int:
    """The grey of that DIN99b lightness."""
    return int(np.abs(GREYS - lightness).argmin())


def regions(
    labels: np.ndarray, tones: Sequence[float], step: float | None, lined: tuple[int, int], slope: float = 0.0
) -> tuple[np.ndarray, Classes, Lines]:
    """(pixels, classes, lines) of regions whose classes have those lightnesses, with a `step` between label 1 and all
    others in the pixels; lines along the rows lined[0] to lined[1] of every border."""
    own = np.array([0.0, *tones]) if step is None else np.array([0.0, 50.0, *[50.0 + step] * (len(tones) - 1)])
    light = own[labels] + slope * (np.arange(labels.shape[0]) / labels.shape[0] - 0.5)[:, None]
    table = np.abs(light[..., None] - GREYS).argmin(-1)
    rgb = np.repeat(table[..., None], 3, axis=2).astype(np.uint8)
    tone = np.array([[t, 0.0, 0.0] for t in tones] + [[FAR, FAR, FAR]])
    classes = Classes((labels - 1).astype(np.uint8), np.ones(labels.shape, bool), np.zeros((len(tones), 3)), tone)
    mask = np.zeros(labels.shape, bool)
    border = labels[:, 1:] != labels[:, :-1]
    mask[:, 1:] |= border
    mask[: lined[0]] = mask[lined[1] :] = False
    return rgb, classes, Lines(mask, 1.0, np.zeros(3) if mask.any() else None)


def two(width: int = 60, height: int = 60, top: int = 0) -> np.ndarray:
    """Label 2 as high as said beside or within label 1."""
    labels = np.ones(SHAPE, np.int32)
    left = 60 if width == 60 else 40
    labels[top : top + height, left : left + width] = 2
    return labels


def pieces(labels: np.ndarray, tones: Sequence[float], step: float | None = None, **how: object) -> int:
    """How many regions are left."""
    lined, slope = how.pop("lined", NO_LINES), how.pop("slope", 0.0)
    rgb, classes, lines = regions(labels, tones, step, lined, slope)
    rules = MergeRules(**({"same": 2.2, "thin": 0.0, "grain": 0.0, "fold": 1e6} | how))
    return int(merge(labels, Painted(rgb, classes, np.ones(labels.shape, bool)), lines, rules)[0].max())


def test_a_step_that_no_brush_made() -> None:
    assert [pieces(two(), (50, 60), v) for v in (2.0, 3.4)] == [1, 2]


def test_far_tones_meet_softly_only_where_one_slopes() -> None:
    """Else they met in a sliver of something that was given to both."""
    assert [pieces(two(), (50, 70), 2.0, slope=v) for v in (14.0, 0.0)] == [1, 2]


def test_steps_of_a_shading() -> None:
    """Where the lightness runs on either side a step may be half of what lies between."""
    assert [pieces(two(), (50, 50 + v), 3.6, slope=10.0) for v in (9.0, 14.0)] == [1, 2]


def test_one_tone_with_a_step_between() -> None:
    assert [pieces(two(), (50, 51.5), v, soft=0.1) for v in (2.8, 4.2)] == [1, 2]


def test_a_line_over_part_of_a_border() -> None:
    assert [pieces(two(), (50, 51.5), 1.0, lined=(0, v)) for v in (13, 24)] == [1, 2]


def test_streaks_of_a_hand() -> None:
    """Narrower than one and a half strips, and of a tone not far off."""
    strips = [pieces(two(v), (50, 56), thin=6.0, by_hand=True) for v in (8, 14)]
    tones = [pieces(two(5), (50, 50 + v), thin=6.0, by_hand=True) for v in (7.5, 10.5)]
    assert strips == tones == [1, 2]


PAPER = {"thin": 6.0, "grain": 1.0, "paper": np.array([100.0, 0, 0]), "trace": Trace(5, 36)}


def test_where_a_pencil_left_the_paper_bare() -> None:
    """A strip inside one area is no glint where it is long, pale, and few lines lie beside it."""
    assert [pieces(two(4, v, 10), (50, 100), **PAPER) for v in (36, 12)] == [1, 2]
    assert [pieces(two(4, 36, 10), (50, 100 - v), **PAPER) for v in (6, 10)] == [1, 2]
    assert [pieces(two(v, 58, 1), (50, 100), **PAPER) for v in (6, 11)] == [1, 2]
    assert [pieces(two(4, 40, 10), (50, 100), lined=(10, v), **PAPER) for v in (20, 26)] == [1, 2]


def bits(number: int) -> int:
    """Regions that pale bits of 5 x 5 pixels lost."""
    labels = np.ones((90, 120), np.int32)
    for i in range(number):
        labels[10:15, 10 + 15 * i : 15 + 15 * i] = 2 + i
    return number + 1 - pieces(labels, (50, *[104.0] * number), by_hand=True, **PAPER)


def test_many_pale_bits_are_the_mediums() -> None:
    assert bits(3) == bits(4) == 0 and bits(6) > 0


def test_colour_laid_on_more_thickly() -> None:
    """Of the way from the colour to the paper, beyond the colour; with few lines between."""
    labels = two(3, 10, 20)
    assert [pieces(labels, (50, 50 - v), by_hand=True, **PAPER) for v in (13.0, 22.0)] == [1, 2]
    assert [pieces(labels, (50, 37.0), by_hand=True, lined=(20, 20 + v), **PAPER) for v in (6, 10)] == [1, 2]


@pytest.mark.parametrize(
    ("paper", "turned", "lined", "left"), [(0.3, 0, 0, 1), (0.8, 0, 0, 2), (0.3, 0.2, 0, 2), (0.3, 0, 50, 2)]
)
def test_paint_with_paper_showing_through(paper: float, turned: float, lined: int, left: int) -> None:
    """Light adds up (Grassmann's third law): such a mixture lies between the two in linear light. A paler colour of
    another hue, one that is nearly paper, and one behind a line are others."""
    paint = np.array([0.30, 0.05, 0.05])
    thin = paint + paper * (1 - paint) + [0, turned, 0]
    labels = two()
    rgb = np.rint(from_linear(np.array([paint, paint, thin])[labels])).astype(np.uint8)
    tone = np.vstack([tone_of(from_linear(np.array([paint, thin]))), np.full(3, FAR)])
    classes = Classes((labels - 1).astype(np.uint8), np.ones(SHAPE, bool), np.zeros((2, 3)), tone)
    mask = np.zeros(SHAPE, bool)
    mask[:lined, 60] = True
    rules = MergeRules(2.2, 1.0, 0.0, 1e6, by_hand=True, white=np.ones(3))
    found, *_ = merge(labels, Painted(rgb, classes, np.ones(SHAPE, bool)), Lines(mask, 1.0, np.zeros(3)), rules)
    assert found.max() == left


def test_what_is_shaded_softly() -> None:
    """An even ramp of over 8 L* varies by 2.5 DIN99b and more."""
    for spread, share in ((2.0, 0.0), (3.0, 1.0)):
        one = np.array([0.0, 100.0])
        tones = Tones(one, one[:, None].astype(int), 50 * one, (2500 + spread**2) * one, one, one[:, None])
        assert shaded_share(tones, 0.0) == share


# --- what lies at a border


def met_over(profile: np.ndarray, lined: tuple[int, int] = NO_LINES, **how: Any) -> Contacts:
    """The contact of two halves, 0-255 along a row told by its difference from 200."""
    labels = two()
    rgb = np.full((*SHAPE, 3), 200, np.uint8)
    middle = slice(60 - len(profile) // 2, 60 + len(profile) // 2)
    rgb[:, middle] = (200 - profile)[None, :, None]
    mask = np.zeros(SHAPE, bool)
    mask[lined[0] : lined[1], 59:61] = True
    return contacts(labels, rgb, Lines(mask, 1.0, np.zeros(3)), **how)


def test_the_trace_of_a_line_blurred_by_a_lens() -> None:
    """Darker than both sides by more than 24 steps, within 5 pixels; in a clean drawing by 12, within 4."""
    for trace, depth, traced in ((BLURRED, 18, False), (BLURRED, 32, True), (SHARP, 8, False), (SHARP, 16, True)):
        assert met_over(np.array([0, depth, depth, 0]), trace=trace).inked_share[0] == traced
    wide = np.array([0, 10, 22, 30, 36, 40, 40, 36, 30, 22, 10, 0])
    assert met_over(wide, trace=BLURRED).inked_share[0] == 1
    strip = np.array([0, *[40] * 10, 0])
    assert [met_over(strip, trace=t).inked_share[0] for t in (SHARP, BLURRED)] == [0, 1]


def test_the_step_past_a_soft_rim() -> None:
    ramp = np.clip(np.arange(-30, 30) * 12 + 24, 0, 48)
    assert met_over(ramp).contrast[0] > 0.95 * (GREYS[200] - GREYS[152])


def test_a_border_hidden_by_a_line() -> None:
    half = np.repeat([0, 60], 60)
    assert np.isinf(met_over(half, (0, 58)).contrast[0]) and np.isfinite(met_over(half, (0, 54)).contrast[0])


# --- tones of a base

COAT, SHADE, LIGHT = (190, 90, 60), (140, 62, 42), (224, 150, 124)


def toned(
    rows: Sequence[tuple[tuple[int, int, int], int]], drawn: Sequence[float], *, modelled: bool = False, **more: object
) -> tuple[list[int], bool]:
    """(base of each region, sure) of regions of those colours and pixels, the first the neighbour of all; drawn: share
    of each border along lines; contrast: DIN99b across them; seen: share of them clear of lines; centres, open_rim of
    the regions."""
    n, m = len(rows), len(rows) - 1
    rgb = np.array([(0, 0, 0), *(c for c, _ in rows)], float)
    pairs = more.get("pairs", np.array([[1, k] for k in range(2, n + 1)]))
    m = len(pairs)
    sides = np.full(m, 100.0)
    step = np.zeros((m, 3))
    step[:, 0] = 100 * float(more.get("contrast", 20.0))
    free = np.full(m, 100 * float(more.get("seen", 1.0)))
    met = Contacts(pairs, sides, np.array(drawn) * 100, np.array(drawn) * 100, sides, free, step, step[:, 0])
    centre = np.array(more.get("centres", [(0.0, 0.0)] * (n + 1)), float)
    open_rim = np.array(more.get("open_rim", [True] * (n + 1)))
    pixels = np.array([0, *(p for _, p in rows)])
    base, sure = bases(met, Regions(rgb, lab_of(rgb), pixels, open_rim, centre), modelled)
    return base[1:].tolist(), bool(sure)


OTHER = ((40, 80, 160), 900)


def test_how_much_of_a_border_a_line_may_cover() -> None:
    rows = [(COAT, 1000), (SHADE, 400), OTHER]
    assert [toned(rows, (v, 1.0))[0][1] for v in (0.4, 0.65)] == [1, 2]


def test_how_much_of_a_border_must_be_seen() -> None:
    """Of two areas that come nearest to each other behind ink, over a few pixels, neither is the other's shadow."""
    rows = [(COAT, 1000), (SHADE, 400), OTHER]
    assert [toned(rows, (0.2, 1.0), seen=v)[0][1] for v in (0.35, 0.15)] == [1, 2]


def test_when_a_drawing_is_outlined() -> None:
    rows = [(COAT, 1000), (SHADE, 400), OTHER]
    assert [toned(rows, (0.0, v))[1] for v in (0.5, 0.28)] == [True, False]


def test_which_of_two_hard_tones_is_the_base() -> None:
    """The lighter one, unless it is less than half as large: then it is a light."""
    rows = [((190, 90, 60), 1000), ((224, 150, 124), 0), OTHER]
    found = [toned([rows[0], (LIGHT, v), OTHER], (0.0, 1.0))[0] for v in (700, 350)]
    assert found[0][:2] == [2, 2] and found[1][:2] == [1, 1]


def test_freckles_are_no_shadows() -> None:
    for pixels, base in ((30, 2), (60, 1)):
        rows = [(COAT, 10_000), (SHADE, pixels), OTHER]
        assert toned(rows, (0.0, 1.0), open_rim=[True, True, False, True])[0][1] == base


def test_a_soft_border_shows_little_of_the_step() -> None:
    """Without outlines, on a figure that is shaded softly."""
    rows = [(COAT, 1000), (SHADE, 400)]
    gap = float(np.linalg.norm(tone_of(np.array(COAT, float)) - tone_of(np.array(SHADE, float))))
    assert [toned(rows, (0.0,), modelled=True, contrast=v * gap)[0][1] for v in (0.4, 0.65)] == [1, 2]


COLOURS = [
    *((190, 90, 60), (60, 90, 150), (70, 140, 70), (200, 170, 60), (150, 80, 150), (230, 120, 160)),
    *((120, 180, 190), (110, 80, 50), (170, 200, 90), (80, 60, 120), (240, 220, 190), (40, 110, 100)),
]


def bare_system(shaded: int, plain: int, spread: float, ways: Sequence[tuple[float, float]], dark: float = 0.8) -> bool:
    """Whether colours, `shaded` of them with a shadow of about `dark` of their light and to that way, make a system."""
    rows, pairs, centres = [], [], [(0.0, 0.0)]
    for i in range(shaded + plain):
        rows.append((COLOURS[i], 1000))
        centres.append((50.0 * i, 50.0))
    for i in range(shaded):
        share = dark + spread * (-1) ** i
        rows.append((tuple(round(share * v + (1 - share) * 8) for v in COLOURS[i]), 300))
        pairs.append([i + 1, len(rows)])
        centres.append((50.0 * i + ways[i % len(ways)][0], 50.0 + ways[i % len(ways)][1]))
    drawn = [0.0] * len(pairs)
    return toned(rows, drawn, pairs=np.array(pairs), centres=centres)[1]


ONE_WAY = ((5.0, 0.0),)


def test_shadows_of_a_drawing_without_outlines_are_a_system() -> None:
    """Most colours have one, about as dark, and to one side (Rayleigh's test: n R2 beyond 3, Mardia, Jupp 2000)."""
    assert [bare_system(4, v, 0.05, ONE_WAY) for v in (0, 4, 8)] == [True, True, False]
    assert [bare_system(4, 0, v, ONE_WAY) for v in (0.05, 0.09)] == [True, False]
    assert [bare_system(4, 0, 0.03, ((5.0, v), (5.0, -v))) for v in (1.0, 5.7)] == [True, False]


def test_one_light_over_many_colours_is_shading_at_once() -> None:
    """Of 4 colours in 10; to any side, where the shadows are exactly as dark."""
    assert [bare_system(3, v, 0.0, ONE_WAY) for v in (6, 9)] == [True, False]
    assert [bare_system(4, 0, v, ((5.0, 5.7), (5.0, -5.7))) for v in (0.0, 0.02)] == [True, False]


@pytest.mark.parametrize("value", [120, 200])
def test_levels(value: int) -> None:
    assert level(GREYS[value]) == value
