"""When a film hides: the steps an eye sees, the unevenness of a brush, the chart of black and white."""

import numpy as np
import pytest

from finishplan.colour.film import film, inverse_saunderson, opaque
from finishplan.colour.hiding import BRUSH_COAT_MM, Films, dabs_to_hide, full_coats
from finishplan.colour.light import delta_e
from finishplan.paint.table import load_table

K1, K2 = 0.03, 0.65


def films(K: float, S: float) -> Films:
    k, s = np.full((1, 31), K), np.full((1, 31), S)
    return Films(k, s, opaque(k, s), K1, K2)


def grey(Y: float) -> np.ndarray:
    """(1, 31) a ground of that reflectance."""
    return inverse_saunderson(np.full((1, 31), Y), K1, K2)


def test_a_just_visible_step_is_one_and_two_surfaces_apart_may_differ_by_three() -> None:
    """CIEDE2000 (common practice of colour tolerances: 1 seen side by side, 3 a commercial match)."""
    assert full_coats(np.array([9.0, 1.05, 0.95])) == 2 and full_coats(np.array([9.0, 0.95, 0.7])) == 1
    assert dabs_to_hide(np.array([9.0, 3.1, 2.9])) == 2 and dabs_to_hide(np.array([9.0, 2.9, 2.0])) == 1


def test_a_coat_lies_a_quarter_thinner_and_thicker_and_four_coats_half_of_one() -> None:
    """Our assumption; independent coats add up as the root of their number."""
    yellow, ground = films(0.5, 30.0), grey(0.85)
    for coats, off in ((1, 0.25), (4, 0.5)):
        thin, thick = (film(yellow.K, yellow.S, 0.02 * n, ground) for n in (coats - off, coats + off))
        expected = float(delta_e(yellow.seen(thin), yellow.seen(thick))[0])
        assert float(yellow.patches(np.array([0]), ground, np.array([coats]), 0.02)[0]) == pytest.approx(expected)


def test_an_even_film_hides_sooner_than_an_opaque_one() -> None:
    """A pale film over a paler primer is done while it is still further than a just-visible step from opaque."""
    pale, ground = films(0.5, 20.0), grey(0.80)
    far = pale.curves(ground, 0.02)[0, 0]
    coats = int(pale.coats(ground, 0.02)[0, 0])
    assert 1.0 < far[coats] <= 3.0 and coats < full_coats(far)


def test_coats_of_a_weak_paint_are_counted_as_far_as_a_hand_would_never_go() -> None:
    """Seventeen coats are told as a number, and what even thirty do not hide as more than thirty (our limit)."""
    assert 16 <= int(films(0.5, 8.0).coats(grey(0.05), BRUSH_COAT_MM)[0, 0]) <= 30
    assert int(films(0.01, 0.01).coats(grey(0.05), BRUSH_COAT_MM)[0, 0]) == 31


def white() -> Films:
    paint = next(p for p in load_table(None).paints if p.id == "titanium-white")
    return Films(paint.K[None], paint.S[None], opaque(paint.K, paint.S)[None], K1, K2)


def test_the_tables_white_hides_as_ordinary_white_paint_does() -> None:
    """On a chart after ASTM D2805 and ISO 6504-3 (white field Y = 0.80): 5-7 m2 per litre at 98 % and 38 % volume
    solids (common practice for white interior paints; the EU Ecolabel, Decision 2014/312/EU, asks 8 of the best)."""
    assert 5 <= 0.38 / float(white().hiding_mm()[0]) <= 7
    over_black, over_white = white().over_chart(0.02)[0]
    assert over_black.mean() < over_white.mean()
    assert float(white().contrast(1e-9)[0]) == pytest.approx(K1 / 0.80, abs=0.001)


def test_complete_hiding_is_found_to_the_last_digit() -> None:
    found = white().hiding_mm()[:, None, None]
    below, above = (float(white().contrast(found * (1 + step))[0]) for step in (-1e-8, 1e-8))
    assert below < 0.98 <= above


def test_two_coats_by_brush_are_as_thick_as_the_trade_lays_them() -> None:
    """Two thin coats of acrylic are 30-60 um dry (common practice), half the thickness of a sheet of paper."""
    assert 0.030 <= 2 * BRUSH_COAT_MM <= 0.060
