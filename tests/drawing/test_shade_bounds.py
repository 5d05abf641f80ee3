"""Traces of lines, shades and scraps, just on either side of each rule; as in test_joining, with its regions.

Bounds are our rules (see beside each constant).
"""

import numpy as np
import pytest

from finishplan.drawing.contacts import BLURRED, SHARP, Trace
from finishplan.drawing.tones import tone_of

from .test_joining import COAT, ONE_WAY, OTHER, PAPER, SHADE, bare_system, met_over, pieces, toned, two


@pytest.mark.parametrize(
    ("trace", "depth", "wide", "traced"),
    [
        (SHARP, 8, 4, False),
        (SHARP, 16, 4, True),
        (SHARP, 40, 6, True),
        (BLURRED, 18, 4, False),
        (BLURRED, 32, 4, True),
        (BLURRED, 40, 8, True),
    ],
)
def test_the_trace_of_a_fine_line(trace: Trace, depth: int, wide: int, traced: bool) -> None:
    """Darker than both sides, by as much and over as many pixels as a lens makes of it, or none does."""
    dip = np.full(wide, depth)
    assert (met_over(np.array([0, *dip, 0]), trace=trace).inked_share[0] == 1) == traced


@pytest.mark.parametrize(("share", "others", "base"), [(0.35, 1.0, 2), (0.15, 1.0, 1), (0.35, 0.7, 1), (0.65, 0.7, 2)])
def test_a_line_drawn_faintly_where_nearly_every_border_has_one(share: float, others: float, base: int) -> None:
    """A shade whose border lacks its line in part, among ten borders."""
    rows = [(COAT, 1000), (SHADE, 400), *[OTHER] * 9]
    assert toned(rows, (share, *[others] * 9))[0][1] == base


LIT_COLOURS = [(200, 60, 60), (60, 180, 70), (70, 80, 210)]


@pytest.mark.parametrize(("lit", "base"), [(300, 1), (180, 4)])
def test_the_lit_side_is_the_base_unless_it_is_a_glint(lit: int, base: int) -> None:
    """Under one light: of 1000 pixels in shadow and so many in the light."""
    rows = [*((c, lit) for c in LIT_COLOURS), *((tuple(round(0.7 * v) for v in c), 1000) for c in LIT_COLOURS), OTHER]
    pairs = np.array([[1, 4], [2, 5], [3, 6], [1, 7], [2, 7], [3, 7]])
    assert toned(rows, (0.0, 0.0, 0.0, 1.0, 1.0, 1.0), pairs=pairs)[0][0] == base


@pytest.mark.parametrize(("apart", "base"), [(0.7, 1), (1.5, 2)])
def test_what_is_cut_small_is_known_by_the_rest_of_its_tone(apart: float, base: int) -> None:
    """A coat of 300 pixels beside its shadow of 1000, and 3000 of it elsewhere, as good as the same."""
    coat = tone_of(np.array(COAT, float))
    near = [(COAT[0] + i, COAT[1] + j, COAT[2] + k) for i in range(-6, 7) for j in range(-6, 7) for k in range(-6, 7)]
    off = np.linalg.norm(tone_of(np.array(near, float)) - coat, axis=1)
    rows = [(COAT, 300), (SHADE, 1000), (near[int(np.abs(off - apart).argmin())], 3000)]
    assert toned(rows, (0.0, 1.0))[0][0] == base


SCRAPS = PAPER | {"by_hand": True, "inks": np.array([[10.0, 0.0, 0.0]]), "pen": 3.0}


@pytest.mark.parametrize(("tone", "joined"), [(16.0, True), (22.0, False)])
def test_a_blot_where_lines_meet(tone: float, joined: bool) -> None:
    """Of the ink's own tone, or nearly."""
    assert (pieces(two(4, 8, 20), (50, tone), **SCRAPS) == 1) == joined


@pytest.mark.parametrize(("wide", "joined"), [(5, True), (9, False)])
def test_a_slit_of_bare_paper(wide: int, joined: bool) -> None:
    """No broader than a line and a third, by twice its pixels over its rim."""
    labels = two(wide, 7, 20)
    pen = 3.0 if wide == 5 else 2.0
    assert (pieces(labels, (50, 100), **SCRAPS | {"pen": pen, "thin": 9.0}) == 1) == joined


def test_fewer_shadows_will_do_under_one_light() -> None:
    assert [bare_system(4, v, 0.05, ONE_WAY) for v in (0, 4, 6)] == [True, True, False]
    assert [bare_system(*n, 0.0, ONE_WAY) for n in ((4, 6), (4, 8), (3, 9))] == [True, True, False]
    assert [bare_system(4, 0, v, ((5.0, 5.7), (5.0, -5.7))) for v in (0.01, 0.02)] == [True, False]  # exactly as dark


@pytest.mark.parametrize(("beyond", "joined"), [(5.0, True), (9.0, False)])
def test_colour_laid_on_twice_beside_its_own(beyond: float, joined: bool) -> None:
    """A quarter of the way to the paper beyond the colour is the same, laid more thickly."""
    paper = PAPER | {"by_hand": True, "trace": BLURRED}
    assert (pieces(two(3, 10, 20), (80, 80 - beyond), **paper) == 1) == joined


@pytest.mark.parametrize(("tinge", "joined"), [(11.0, True), (20.0, False)])
def test_colour_laid_thinly_beside_flecks_taken_for_lines(tinge: float, joined: bool) -> None:
    """Lighter bits on the very way from a colour to tinged paper, with lines along most of their sides."""
    paper = PAPER | {"paper": np.array([100.0, tinge, 0.0]), "by_hand": True}
    assert (pieces(two(3, 10, 20), (50, 60.0), lined=(20, 28), **paper) == 1) == joined
