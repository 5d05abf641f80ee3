"""Film optics against closed forms and worked values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishplan.basics.errors import InputError
from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson, surface
from finishplan.colour.light import lab

constant = st.one_of(st.just(0.0), st.floats(1e-6, 1e4))
share = st.floats(0, 1)
thickness = st.one_of(st.just(0.0), st.just(np.inf), st.floats(1e-6, 1e3))


def test_opaque_worked_value() -> None:
    """(1 - R)^2 / 2R of R = 0.5 is 0.25: any textbook of colour physics."""
    assert float(opaque(0.25, 1.0)) == pytest.approx(0.5, abs=1e-12)


@given(constant, st.floats(1e-3, 1e4))
def test_opaque_is_the_textbook_form(K: float, S: float) -> None:
    """P. Kubelka, J. Opt. Soc. Am. 38, 448 (1948): R = 1 + q - sqrt(q^2 + 2 q) with q = K/S."""
    q = np.longdouble(K) / np.longdouble(S)
    assert float(opaque(K, S)) == pytest.approx(float(1 + q - np.sqrt(q * q + 2 * q)), abs=1e-9)


@given(constant, st.floats(1e-3, 1e3), st.floats(1e-4, 1.0), share)
def test_film_is_the_hyperbolic_solution(K: float, S: float, X: float, g: float) -> None:
    """Kubelka 1948: R = (1 - g (a - b coth bSX)) / (a - g + b coth bSX)."""
    if K < 1e-3 * S or K > 1e3 * S:
        return
    a = 1 + K / S
    b = np.sqrt(a * a - 1)
    coth = 1 / np.tanh(b * S * X)
    expected = (1 - g * (a - b * coth)) / (a - g + b * coth)
    assert float(film(K, S, X, g)) == pytest.approx(expected, abs=1e-9)


@given(constant, constant, share, thickness)
def test_film_stays_a_reflectance(K: float, S: float, g: float, X: float) -> None:
    with np.errstate(all="raise", under="ignore"):
        r = float(film(K, S, X, g))
    assert -1e-9 <= r <= 1 + 1e-9


@given(st.floats(0, 1e3), share, st.floats(0, 10))
def test_film_that_does_not_absorb(S: float, g: float, X: float) -> None:
    """K = 0: (g + (1 - g) S X) / (1 + (1 - g) S X)."""
    expected = (g + (1 - g) * S * X) / (1 + (1 - g) * S * X)
    assert float(film(0.0, S, X, g)) == pytest.approx(expected, abs=1e-12)


@given(st.floats(0, 1e2), share, st.floats(0, 1))
def test_film_that_does_not_scatter(K: float, g: float, X: float) -> None:
    """S = 0: Bouguer's law, down and up: g exp(-2 K X)."""
    assert float(film(K, 0.0, X, g)) == pytest.approx(g * np.exp(-2 * K * X), abs=1e-9)


@given(constant, st.floats(1e-3, 1e3), share)
def test_limits_of_thickness(K: float, S: float, g: float) -> None:
    assert float(film(K, S, 0.0, g)) == pytest.approx(g, abs=1e-12)
    if K > 0:
        assert float(film(K, S, np.inf, g)) == pytest.approx(float(opaque(K, S)), abs=1e-6)


@given(constant, constant, share, st.floats(0, 1), st.floats(0, 1))
def test_two_films_are_one_thick_one(K: float, S: float, g: float, X1: float, X2: float) -> None:
    below = film(K, S, X1, g)
    assert float(film(K, S, X2, below)) == pytest.approx(float(film(K, S, X1 + X2, g)), abs=1e-8)


@given(share, st.floats(0, 0.1), st.floats(0, 0.8))
def test_saunderson_back_and_forth(r: float, k1: float, k2: float) -> None:
    assert float(inverse_saunderson(saunderson(r, k1, k2), k1, k2)) == pytest.approx(r, abs=1e-9)


def test_arrays_of_any_shape() -> None:
    K, S = np.ones((4, 1, 31)), np.ones((1, 5, 31))
    assert film(K, S, 0.02, np.full(31, 0.5)).shape == (4, 5, 31)
    assert opaque(K, S).shape == (4, 5, 31)
    assert opaque(0.0, 0.0) == 0


def test_finishes() -> None:
    """A matt surface looks lighter than a satin one, a gloss one darker (common practice)."""
    k1 = [surface(f, 0.03, 0.65)[0] for f in ("matt", "satin", "gloss")]
    assert k1[0] > k1[1] == 0.03 > k1[2] > 0
    blacks = [float(lab(np.full(31, share))[0]) for share in k1]
    assert 25 <= blacks[0] <= 32 and 6 <= blacks[2] <= 11, "blackest lightness: matt felt-like, gloss like a piano"
    with pytest.raises(InputError, match="eggshell"):
        surface("eggshell", 0.03, 0.65)
