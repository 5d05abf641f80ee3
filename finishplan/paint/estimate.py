"""K and S of a bottle known only by its colour, its tint in white and how it hides: an estimate, to be tried first.

Of all K and S that reproduce the colours, those whose logarithms are smoothest over the wavelengths are taken (least
sum of squared second differences of ln(K/S), first ones of ln S), as measured pigments mostly are.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.basics.errors import InputError, nearest
from finishplan.colour.film import opaque, saunderson
from finishplan.colour.light import WAVELENGTHS_NM, lab, lab_from_hex
from finishplan.paint.model import ColourTable, Paint

Array = NDArray[np.float64]

SCATTERING_PER_MM: dict[str, float] = {
    "opaque": 91.0,
    "semi-opaque": 56.0,
    "semi-transparent": 33.0,
    "transparent": 14.5,
}
"""Mean S that an opacity class stands for: the medians (tests) of the four quarters of the acrylic table's paints."""
_LOG_RATIO = (np.log(1e-3), np.log(40.0))
"""Of K/S: neat paints of the acrylic table keep within it where it shows (measured on the table)."""
_N = len(WAVELENGTHS_NM)
_FIRST, _SECOND = np.diff(np.eye(_N), axis=0), np.diff(np.eye(_N), n=2, axis=0)


@dataclass(frozen=True)
class Bottle:
    """What is known of a bottle. colour: '#rrggbb' of its opaque film; tint: '#rrggbb' of it mixed as `ratio` (0-1 of
    the whole) into the table's white; opacity: a word of SCATTERING_PER_MM."""

    colour: str
    tint: str | None = None
    ratio: float = 0.1
    opacity: str = "semi-opaque"


def estimate_paint(table: ColourTable, bottle: Bottle, where: str = "") -> tuple[Array, Array]:
    """K and S, each (31,) per mm, that give a bottle's colours. Raises InputError for an unknown opacity, for what is
    no colour, and where no smooth paint has these colours."""
    colour, tint, ratio = bottle.colour, bottle.tint, bottle.ratio
    if bottle.opacity not in SCATTERING_PER_MM:
        cure = nearest(bottle.opacity, (*SCATTERING_PER_MM,))
        raise InputError(f"unknown opacity '{bottle.opacity}'", where=where, cure=cure)
    target = _surface_lab(colour, table, f"{where}: colour")
    q = _smoothest_ratio(target, table)
    S = np.full(_N, SCATTERING_PER_MM[bottle.opacity])
    if tint is None:
        return q * S, S
    white = table_white(table)
    if white is None:
        raise InputError(
            f"the table '{table.name}' has no white to judge a tint by", where=where, cure="leave 'tint' out"
        )
    aim = _surface_lab(tint, table, f"{where}: tint")

    def shown(K: Array, S: Array) -> Array:
        tinted = _seen(ratio * K + (1 - ratio) * white.K, ratio * S + (1 - ratio) * white.S, table)
        return np.concatenate([_seen(K, S, table) - target, tinted - aim], axis=-1)

    K, S, off = _with_tint(q, S, shown)
    if off > 1.0:
        raise InputError(
            f"no paint of colour {colour} gives the tint {tint} at {ratio:g} in white (nearest: {off:.1f} away)",
            where=where,
            cure="check the two colours and the ratio",
        )
    return K, S


def table_white(table: ColourTable) -> Paint | None:
    """The white of a table by which tints are judged: of its PW paints the strongest; None if there is none."""
    whites = [p for p in table.paints if p.ci.startswith("PW")]
    return max(whites, key=lambda p: float(p.S.mean()), default=None)


def _surface_lab(text: str, table: ColourTable, where: str) -> Array:
    """The colour as a paint can show it: no lighter than 97 % and no darker than the surface itself."""
    # Just inside the ends: on them K/S is 0 or without bound.
    lightest = lab(np.full(_N, 0.97))[0]
    darkest = lab(np.full(_N, table.k1 + 0.003))[0]
    try:
        L, a, b = lab_from_hex(text)
    except InputError as error:
        raise InputError(error.what, where=where.removeprefix(": "), cure=error.cure) from error
    return np.array([np.clip(L, darkest, lightest), a, b])


def _seen(K: ArrayLike, S: ArrayLike, table: ColourTable) -> Array:
    return lab(saunderson(opaque(K, S), table.k1, table.k2))


def _smoothest_ratio(target: Array, table: ColourTable) -> Array:
    """K/S (31,) of the smoothest logarithm that has this colour; a colour beyond paint is approached."""

    def away(log_q: Array) -> Array:
        return _seen(np.exp(log_q), np.ones(_N), table) - target

    # Curvature above all; a little of the slope keeps the ends from running away where the eye sees nothing.
    smooth = np.concatenate([_SECOND, 0.1 * _FIRST])
    log_q = _closest(away, (smooth, np.zeros(len(smooth))), np.full(_N, np.log(0.3)), _LOG_RATIO)
    result: Array = np.exp(log_q)
    return result


def _with_tint(q: Array, S: Array, shown: Callable[[Array, Array], Array]) -> tuple[Array, Array, float]:
    """K, S and how far their tint lies from the one wanted, starting from the smoothest K/S and a flat S.

    shown: how far masstone and tint are from those wanted, (..., 6) L*a*b*."""

    def both(x: Array) -> tuple[Array, Array]:
        return np.exp(x[..., :_N] + x[..., _N:]), np.exp(x[..., _N:])

    def away(x: Array) -> Array:
        return shown(*both(x))

    none, one = np.zeros((_N, _N)), np.eye(_N)
    # K/S as smooth as without a tint; S flat, and near what its opacity class stands for where the tint leaves it open.
    rows = [(_SECOND, none[2:]), (0.1 * _FIRST, none[1:]), (none[1:], _FIRST), (none, 0.05 * one)]
    smooth = np.concatenate([np.concatenate(pair, axis=1) for pair in rows])
    wanted = np.zeros(len(smooth))
    wanted[-_N:] = 0.05 * np.log(S)
    # A bottle may lie outside the paints of the table: by e^2 in K/S, and in S from 0.36 to 1800 per mm.
    low = np.repeat([_LOG_RATIO[0] - 2, np.log(0.36)], _N)
    high = np.repeat([_LOG_RATIO[1] + 2, np.log(1800.0)], _N)
    x = _closest(away, (smooth, wanted), np.concatenate([np.log(q), np.log(S)]), (low, high))
    K, S = both(x)
    return K, S, float(np.linalg.norm(away(x)[3:]))


def _closest(
    away: Callable[[Array], Array], kept: tuple[Array, Array], start: Array, bounds: tuple[ArrayLike, ArrayLike]
) -> Array:
    """x (n,) within its bounds that makes `away` of x (..., n) nothing and, kept = (smooth, wanted), keeps `smooth` x
    near `wanted`.

    Least squares with the first ever more heavily weighted; the derivatives of `away` are differences, all at once.
    """
    from scipy.optimize import least_squares

    (smooth, wanted), step = kept, 1e-6 * np.eye(len(start))

    def misfit(x: Array, weight: float) -> Array:
        return np.concatenate([smooth @ x - wanted, weight * away(x)])

    def slope(x: Array, weight: float) -> Array:
        return np.concatenate([smooth, weight * (away(x + step) - away(x)).T / 1e-6])

    x = start
    # Colour ever more heavily: begun with the full weight, the fit would stick in the first rough spectrum.
    for weight in (0.1, 1.0, 10.0, 100.0):
        x = least_squares(misfit, x, jac=slope, args=(weight,), bounds=bounds).x
    return x
