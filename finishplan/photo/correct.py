"""Correcting a pot by the photograph of its dab.

What went into the pot is known in whole drops, each with the hand's error, and each tube scatters more or less than
assumed. The most probable amounts, strengths and scattering that explain the dab are found (least squares with these
errors as priors), an offset of what the model leaves, which stays, and how far all of them may be off; then whole drops
to add are searched, all of them up to two paints and half the pot again: those that are to be expected nearest.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError, nearest
from finishplan.colour.film import opaque, saunderson
from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, lab
from finishplan.paint.model import Box, Mix, Paint
from finishplan.paint.swatch import SPREAD_LEFT
from finishplan.paint.trust import HAND, MODEL_DELTA_E, TUBE_SCATTERING, TUBE_STRENGTH
from finishplan.photo.model import DabColour

Array = NDArray[np.float64]

GOOD_ENOUGH = 1.0
"""CIEDE2000 from the aim within which a pot is left alone: a step the eye just sees."""
WORTH_IT = 0.8
"""CIEDE2000 that a correction must gain, as is to be expected over all that the photograph leaves open: at 0.5 one pot
in fourteen got worse, at 0.8 one in forty (tests/benchmarks/bench_photo.py; our rule)."""
MOST_TIMES = 2
"""A third correction gains nothing: the photograph itself is not surer."""
PREMIX = 0.1
"""Share of a paint let down 1 drop in 9 of white, where a whole drop is too much."""

_MODEL = MODEL_DELTA_E / 3**0.5
"""One sigma of each of L*, a*, b* of what the model leaves (derived: three axes share it alike)."""
_SHORT = 400
"""Additions, nearest first by the most probable errors, that are weighed over all (our limit on the search)."""


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
    """What is in it: paints, K, S (n, 31), drops (n,), and one sigma of the logarithm of what each amount colours (hand
    and tube together), of its share that is the tube's, and of its scattering."""

    paints: tuple[str, ...]
    K: Array
    S: Array
    drops: Array
    amount: Array
    tubes: Array
    scatter: Array
    k1: float
    k2: float

    @property
    def size(self) -> int:
        return len(self.drops)

    def look(self, x: Array) -> Array:
        """(3,) L*a*b* for errors x (2 n + 3,) in sigmas: amounts, scattering, what the model leaves."""
        K, S = self.mixed(x)
        return lab(saunderson(opaque(K, S), self.k1, self.k2)) + _MODEL * x[2 * self.size :]

    def mixed(self, x: Array) -> tuple[Array, Array]:
        """Sums (31,) of drops x constants."""
        n = self.size
        # Of the logarithm: no error of a hand makes an amount negative.
        w = (self.drops * np.exp(self.amount * x[:n]))[:, None]
        return (w * self.K).sum(axis=0), (w * self.S * np.exp(self.scatter * x[n : 2 * n])[:, None]).sum(axis=0)

    def factors(self, x: Array) -> dict[str, tuple[float, float]]:
        """Paint -> what more of it has of the assumed K and S: as its tube is, not as the hand poured it."""
        n = self.size
        # Of what the dab shows only the tube's share comes again with the next drops; the hand's slip was once.
        strong = np.exp(self.tubes * self.amount * x[:n])
        both = zip(strong.tolist(), (strong * np.exp(self.scatter * x[n : 2 * n])).tolist(), strict=True)
        return dict(zip(self.paints, both, strict=True))


def correct(box: Box, poured: Mapping[str, float], dab: DabColour, aim: Lab, *, times: int = 0) -> Correction:
    """The drops that bring a pot nearest to its aim, or none.

    poured: paint -> drops of all that is in the pot, earlier corrections included; times: corrections made before.
    Raises InputError for an empty pot or a paint that the box lacks.
    """
    pot = _pot(box, poured)
    off = float(delta_e(dab.lab, aim))
    if times >= MOST_TIMES:
        return _leave(dab, off, "corrected twice already: the photograph cannot tell it better")
    if off <= GOOD_ENOUGH:
        return _leave(dab, off, "within a step that the eye just sees")
    if off <= dab.uncertainty:
        return _leave(dab, off, "nearer to its aim than the photograph can tell")
    found = _best(box, pot, _explained(pot, dab), np.array(aim))
    if found.gain < WORTH_IT:
        return _leave(dab, off, f"no drops bring it more than {WORTH_IT:g} nearer for sure")
    return Correction(found.add, dab.lab, off, found.off, found.look, dab.uncertainty, True, "")


def _leave(dab: DabColour, off: float, why: str) -> Correction:
    return Correction((), dab.lab, off, off, dab.lab, dab.uncertainty, False, why)


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
    strength = np.array([_left(p, box) * TUBE_STRENGTH for p in paints])
    return _Pot(
        tuple(amounts),
        np.array([p.K for p in paints]),
        np.array([p.S for p in paints]),
        np.array([*amounts.values()]),
        # Hand and tube are independent, so their variances add.
        np.hypot(HAND, strength),
        strength**2 / (HAND**2 + strength**2),
        np.array([_left(p, box) * TUBE_SCATTERING for p in paints]),
        box.table.k1,
        box.table.k2,
    )


def _left(paint: Paint, box: Box) -> float:
    """Share of a tube's spread that is still open."""
    # All is judged by the white, and whites are alike.
    if paint.id == box.white:
        return 0.0
    return 1.0 if paint.swatch_off is None else SPREAD_LEFT


def _explained(pot: _Pot, dab: DabColour) -> Array:
    """(m, 2 n + 3) errors that explain a dab, all as likely: the most probable ones first, then two along each axis of
    what is open around them (Julier, Uhlmann, Proc. IEEE 92, 401, 2004), each weighed with how far it may be off."""
    from scipy.optimize import least_squares

    def misfit(x: Array) -> Array:
        # A third of the squared difference on each of the three axes.
        return np.concatenate([(pot.look(x) - np.array(dab.lab)) / (dab.uncertainty / 3**0.5), x])

    found = least_squares(misfit, np.zeros(2 * pot.size + 3))
    # Sigma points lie sqrt(n) sigmas out, n unknowns, and then all weigh the same.
    steps = np.linalg.cholesky(np.linalg.inv(found.jac.T @ found.jac)).T * len(found.x) ** 0.5
    return np.concatenate([found.x[None], found.x + steps, found.x - steps])


@dataclass(frozen=True)
class _Found:
    """An addition. look: most probable; off: CIEDE2000 from the aim to be expected; gain: how much less than now."""

    add: tuple[Drops, ...]
    look: Lab
    off: float
    gain: float


def _best(box: Box, pot: _Pot, errors: Array, aim: Array) -> _Found:
    """Of all additions the one expected nearest to the aim over all errors (m, 2 n + 3) that explain the dab, fewer
    drops first within a tenth of a step."""
    kinds, counts = _additions(box, max(int(pot.drops.sum() // 2), 1))
    first = delta_e(_looks(box, pot, (kinds, counts), errors[0]), aim)
    counts = counts[np.argsort(first, kind="stable")[:_SHORT]]
    # Adding nothing comes first: its entry is what leaving the pot alone is expected to give.
    counts = np.concatenate([np.zeros((1, len(kinds))), counts])
    # Without the most probable errors: the points around them already have their mean.
    off = np.mean([delta_e(_looks(box, pot, (kinds, counts), x), aim) for x in errors[1:]], axis=0)
    # A further bottle costs as much trouble as two drops, letting it down as much as one more.
    size = counts @ np.ones(len(kinds)) + (counts > 0) @ np.array([2 + k.thinned for k in kinds])
    # A tenth of a step is less than anybody sees: fewer drops are worth more.
    near = np.flatnonzero(off <= off.min() + 0.1)
    i = int(near[np.argmin(size[near])])
    L, a, b = _looks(box, pot, (kinds, counts[[i]]), errors[0])[0].tolist()
    add = tuple(replace(k, drops=int(c)) for k, c in zip(kinds, counts[i], strict=True) if c)
    return _Found(add, (L, a, b), float(off[i]), float(off[0] - off[i]))


def _looks(box: Box, pot: _Pot, additions: tuple[list[Drops], Array], x: Array) -> Array:
    """(m, 3) L*a*b* of the pot with errors x after each addition: kinds, and drops of each (m, kinds)."""
    kinds, counts = additions
    factors = pot.factors(x)
    own = {p.id: [f * v for f, v in zip(factors.get(p.id, (1.0, 1.0)), (p.K, p.S), strict=True)] for p in box.paints}
    share = np.array([PREMIX if k.thinned else 1.0 for k in kinds])[:, None]
    K, S = (
        here
        + counts
        @ (
            share * np.array([own[k.paint][w] for k in kinds])
            + (1 - share) * np.array([own[box.white or k.paint][w] for k in kinds])
        )
        for w, here in enumerate(pot.mixed(x))
    )
    result: Array = lab(saunderson(opaque(K, S), pot.k1, pot.k2)) + _MODEL * x[2 * pot.size :]
    return result


def _additions(box: Box, most: int) -> tuple[list[Drops], Array]:
    """What may be added, neat or let down, and the drops of each (m, kinds): none, or up to `most` of one or of two."""
    kinds = [Drops(p.id, 0, thinned) for p in box.paints for thinned in (False, True)]
    kinds = [k for k in kinds if not k.thinned or (box.white is not None and k.paint != box.white)]
    unit, alone = np.eye(len(kinds)), np.arange(1, most + 1)[:, None]
    pair = np.array([(m, n) for m in range(1, most) for n in range(1, most - m + 1)], np.float64).reshape(-1, 2)
    pairs = [(i, j) for i, j in combinations(range(len(kinds)), 2) if kinds[i].paint != kinds[j].paint]
    rows = [np.zeros((1, len(kinds))), *(alone * unit[i] for i in range(len(kinds)))]
    return kinds, np.concatenate([*rows, *(pair @ unit[[i, j]] for i, j in pairs)])
