"""Correcting a pot by the photograph of its dab.

What went into the pot is known in whole drops, each with the hand's error, and each tube scatters more or less than
assumed. The most probable amounts and scattering that explain the dab are found (least squares with these errors as
priors), what they leave unexplained is taken as an offset that stays; then whole drops to add are searched, all of
them up to two paints and half the pot again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.basics.errors import InputError, nearest
from finishplan.colour.film import opaque, saunderson
from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, lab
from finishplan.paint.model import Box, Mix, Paint
from finishplan.paint.swatch import SPREAD_LEFT
from finishplan.paint.trust import HAND, TUBE_SCATTERING, TUBE_STRENGTH

Array = NDArray[np.float64]

GOOD_ENOUGH = 1.0
"""CIEDE2000 from the aim within which a pot is left alone: a step the eye just sees."""
WORTH_IT = 0.5
"""CIEDE2000 that a correction must gain (our rule)."""
DAB_SIGMA = 1.5
"""CIEDE2000, one sigma, of a dab read from one photograph, where none is told (tests/photo/test_dabs.py)."""
MOST_TIMES = 2
"""A third correction gains nothing: the photograph itself is not surer."""
PREMIX = 0.1
"""Share of a paint let down 1 drop in 9 of white, where a whole drop is too much."""


@dataclass(frozen=True)
class Drops:
    """Whole drops of one paint; thinned: of it let down 1 in 9 of white."""

    paint: str
    drops: int
    thinned: bool = False


@dataclass(frozen=True)
class Correction:
    """What to add. before: CIEDE2000 of the dab from the aim; after: as predicted; uncertainty: one sigma of the
    photograph; worth_it: whether adding is advised; why: in words."""

    add: tuple[Drops, ...]
    dab: Lab
    before: float
    after: float
    predicted: Lab
    uncertainty: float
    worth_it: bool
    why: str


@dataclass(frozen=True, eq=False)
class _Pot:
    """K, S (n, 31) of what is in it with its drops (n,), and one sigma of the logarithm of amount and scattering."""

    K: Array
    S: Array
    drops: Array
    amount: Array
    scatter: Array
    k1: float
    k2: float

    def look(self, x: Array) -> Array:
        """(3,) L*a*b* for errors x (2 n,) in sigmas."""
        K, S = self.mixed(x)
        return lab(saunderson(opaque(K, S), self.k1, self.k2))

    def mixed(self, x: Array) -> tuple[Array, Array]:
        """Sums (31,) of drops x constants."""
        n = len(self.drops)
        w = (self.drops * np.exp(self.amount * x[:n]))[:, None]
        return (w * self.K).sum(axis=0), (w * self.S * np.exp(self.scatter * x[n:])[:, None]).sum(axis=0)


def correct(
    box: Box, poured: Mapping[str, float], dab: Lab, aim: Lab, *, uncertainty: float = DAB_SIGMA, times: int = 0
) -> Correction:
    """The drops that bring a pot nearest to its aim, or none.

    poured: paint -> drops of all that is in the pot, earlier corrections included; uncertainty: CIEDE2000, one sigma,
    of the dab; times: corrections made before. Raises InputError for an empty pot or a paint that the box lacks.
    """
    pot = _pot(box, poured)
    off = float(delta_e(dab, aim))
    if times >= MOST_TIMES:
        return _leave(dab, off, uncertainty, "corrected twice already: the photograph cannot tell it better")
    if off <= GOOD_ENOUGH:
        return _leave(dab, off, uncertainty, "within a step that the eye just sees")
    K, S, offset = _explained(pot, dab, uncertainty)
    add, predicted, after = _best(box, pot, (K, S), offset, np.array(aim))
    if off - after < WORTH_IT:
        return _leave(dab, off, uncertainty, f"no drops bring it more than {WORTH_IT:g} nearer")
    if off <= uncertainty:
        return _leave(dab, off, uncertainty, "nearer to its aim than the photograph can tell")
    return Correction(add, dab, off, after, predicted, uncertainty, True, "")


def _leave(dab: Lab, off: float, uncertainty: float, why: str) -> Correction:
    return Correction((), dab, off, off, dab, uncertainty, False, why)


def with_added(poured: Mapping[str, float], add: Sequence[Drops], box: Box) -> dict[str, float]:
    """The drops of each paint in the pot after an addition."""
    amounts = dict(poured)
    for one in add:
        neat = one.drops * (PREMIX if one.thinned else 1.0)
        amounts[one.paint] = round(amounts.get(one.paint, 0.0) + neat, 2)
        if one.thinned:
            amounts[str(box.white)] = round(amounts.get(str(box.white), 0.0) + one.drops - neat, 2)
    return amounts


def drops_of(mix: Mix) -> dict[str, float]:
    """The drops of each paint in a mix of one drop a part, its pre-mixes taken apart."""
    amounts = dict[str, float]()
    for i in mix.recipe:
        pre = i.premix
        neat = 1.0 if pre is None else pre.parts / (pre.parts + pre.of)
        amounts[i.paint] = amounts.get(i.paint, 0.0) + i.parts * neat
        if pre is not None:
            amounts[pre.into] = amounts.get(pre.into, 0.0) + i.parts * (1 - neat)
    return amounts


def _pot(box: Box, poured: Mapping[str, float]) -> _Pot:
    by_id = {p.id: p for p in box.paints}
    amounts = {id: drops for id, drops in poured.items() if drops > 0}
    for id in amounts:
        if id not in by_id:
            raise InputError(f"the pot holds '{id}', which the box lacks", cure=nearest(id, [*by_id]))
    if not amounts:
        raise InputError("the pot is empty", cure="tell how many drops of each paint went into it")
    paints = [by_id[id] for id in amounts]
    return _Pot(
        np.array([p.K for p in paints]),
        np.array([p.S for p in paints]),
        np.array([*amounts.values()]),
        np.array([np.hypot(HAND, _left(p, box) * TUBE_STRENGTH) for p in paints]),
        np.array([_left(p, box) * TUBE_SCATTERING for p in paints]),
        box.table.k1,
        box.table.k2,
    )


def _left(paint: Paint, box: Box) -> float:
    """Share of a tube's spread that is still open."""
    if paint.id == box.white:
        return 0.0
    return 1.0 if paint.swatch_off is None else SPREAD_LEFT


def _explained(pot: _Pot, dab: Lab, uncertainty: float) -> tuple[Array, Array, Array]:
    """K and S sums (31,) of the pot as it most probably is, and the L*a*b* (3,) that they leave unexplained."""
    from scipy.optimize import least_squares

    n = 2 * len(pot.drops)

    def misfit(x: Array) -> Array:
        return np.concatenate([(pot.look(x) - np.array(dab)) / uncertainty, x])

    x = least_squares(misfit, np.zeros(n)).x
    K, S = pot.mixed(x)
    left: Array = np.array(dab) - pot.look(x)
    return K, S, left


def _best(
    box: Box, pot: _Pot, sums: tuple[Array, Array], offset: Array, aim: ArrayLike
) -> tuple[tuple[Drops, ...], Lab, float]:
    """Of all additions the nearest to the aim, fewer drops first within a tenth of a step; its look and distance."""
    tries = _additions(box, int(pot.drops.sum() // 2))
    K = sums[0] + np.array([_sum(box, t, "K") for t in tries])
    S = sums[1] + np.array([_sum(box, t, "S") for t in tries])
    looks = lab(saunderson(opaque(K, S), pot.k1, pot.k2)) + offset
    off = delta_e(looks, aim)
    size = np.array([sum(d.drops for d in t) + 2 * len(t) + sum(d.thinned for d in t) for t in tries])
    near = np.flatnonzero(off <= off.min() + 0.1)
    i = int(near[np.argmin(size[near])])
    L, a, b = looks[i].tolist()
    return tries[i], (L, a, b), float(off[i])


def _additions(box: Box, most: int) -> list[tuple[Drops, ...]]:
    """Nothing, or up to `most` drops of one paint or of two, each neat or let down."""
    most = max(most, 1)
    paints = [(p.id, thinned) for p in box.paints for thinned in ((False, True) if box.white else (False,))]
    paints = [(id, thinned) for id, thinned in paints if not (thinned and id == box.white)]
    single = [[Drops(id, n, thinned) for n in range(1, most + 1)] for id, thinned in paints]
    found: list[tuple[Drops, ...]] = [(), *((d,) for drops in single for d in drops)]
    for one, other in combinations(single, 2):
        if one[0].paint != other[0].paint:
            found += [(a, b) for a in one for b in other if a.drops + b.drops <= most]
    return found


def _sum(box: Box, add: tuple[Drops, ...], which: str) -> Array:
    total = np.zeros(31)
    by_id = {p.id: p for p in box.paints}
    for one in add:
        neat = getattr(by_id[one.paint], which)
        total += one.drops * (
            PREMIX * neat + (1 - PREMIX) * getattr(by_id[str(box.white)], which) if one.thinned else neat
        )
    return total
