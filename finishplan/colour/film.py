"""Paint films: two-constant Kubelka-Munk theory and Saunderson's correction for the surface.

Sources: P. Kubelka, J. Opt. Soc. Am. 38, 448 (1948), equations for R and R-infinity; J. L. Saunderson,
J. Opt. Soc. Am. 32, 727 (1942). K and S are in 1/mm of dry film, reflectances from 0 to 1; lower-case r
and `ground` are internal (inside the film), upper-case R is what the eye or an instrument sees.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.basics.errors import InputError

Array = NDArray[np.float64]

_THICK_MM = 1e9
"""As good as infinite (our numerical step)."""
_SURFACE_SHARE = {"matt": 5 / 3, "satin": 1.0, "gloss": 1 / 3}
"""Share of the satin surface's reflection that reaches the eye (common practice)."""


def opaque(K: ArrayLike, S: ArrayLike) -> Array:
    """(...) internal reflectance of films too thick to see through, K and S (...) broadcast; zero where S is zero."""
    K, S = np.asarray(K, np.float64), np.asarray(S, np.float64)
    # R-infinity = a - b turned round to 1 / (a + b): strong absorbers would else be a difference of near numbers.
    below = K + S + np.sqrt(K * (K + 2 * S))
    result: Array = np.divide(S, below, out=np.zeros_like(below), where=below > 0)
    return result


def film(K: ArrayLike, S: ArrayLike, thickness_mm: ArrayLike, ground: ArrayLike) -> Array:
    """(...) internal reflectance of films on grounds of internal reflectance `ground`; all arguments (...) broadcast.

    Kubelka's hyperbolic solution with numerator and denominator multiplied by tanh(bSX)/(bS), which has a
    limit (X) where the film does not absorb or does not scatter.
    """
    K, S, g = (np.asarray(v, np.float64) for v in (K, S, ground))
    # An infinite X would make 0 times infinity of the film that neither absorbs nor scatters.
    X = np.minimum(np.asarray(thickness_mm, np.float64), _THICK_MM)
    # kappa is Kubelka's bS, A below his aS: neither divides by S, which may be 0.
    kappa, X = np.broadcast_arrays(np.sqrt(K * (K + 2 * S)), X)
    T = np.divide(np.tanh(kappa * X), kappa, out=X.astype(np.float64), where=kappa > 0)
    A = K + S
    result: Array = (g + T * (S - g * A)) / (1 + T * (A - g * S))
    return result


def saunderson(r: ArrayLike, k1: float, k2: float) -> Array:
    """(...) what is seen of internal reflectances r (...): k1 is reflected by the surface, k2 kept in, 0-1."""
    r = np.asarray(r, np.float64)
    result: Array = k1 + (1 - k1) * (1 - k2) * r / (1 - k2 * r)
    return result


def inverse_saunderson(R: ArrayLike, k1: float, k2: float) -> Array:
    """(...) internal reflectances of seen ones, R (...); below k1 gives 0, above 1 gives 1."""
    # No surface is darker than its own shine; a drawn black would else ask for a negative reflectance.
    R = np.clip(np.asarray(R, np.float64), k1, 1)
    result: Array = (R - k1) / (1 - k1 - k2 + k2 * R)
    return result


def surface(finish: str, k1: float, k2: float) -> tuple[float, float]:
    """Saunderson constants under a matt, satin or gloss varnish, from those of the table (taken as satin).

    A gloss surface mirrors most of its reflection past the eye, a matt one spreads all of it, that of grazing
    light too: a third and five thirds of the satin share (common practice). Raises InputError.
    """
    if finish not in _SURFACE_SHARE:
        raise InputError(f"unknown finish '{finish}'", cure="use one of: " + ", ".join(_SURFACE_SHARE))
    return k1 * _SURFACE_SHARE[finish], k2
