"""Correcting a pot by the photograph of its dab.

What went into the pot is known in whole drops, each with the hand's error; each tube is stronger or weaker and scatters
more or less than assumed, by less where the references beside the dab show it. The most probable errors that explain
the dab are found (least squares with these spreads as priors), an offset of what the model leaves, which stays, and
how far all of them may be off. Then whole drops to add are searched, all of them up to two paints and half the pot
again, and weighed over draws of all that is open, the adding hand's error and the strength of tubes that the pot does
not hold yet included: those that are to be expected nearest.
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
WORTH_IT = 0.9
"""CIEDE2000 that a correction must gain, as is to be expected over all that the photograph leaves open: at 0.8 one pot
in twelve got worse by 0.3, at 1.0 one in fourteen, but the second correction gained less
(tests/benchmarks/bench_unlike.py; our rule)."""
MOST_TIMES = 2
"""A third correction gains nothing: the photograph itself is not surer."""
PREMIX = 0.1
"""Share of a paint let down 1 drop in 9 of white, where a whole drop is too much."""

_MODEL = MODEL_DELTA_E / 3**0.5
"""One sigma of each of L*, a*, b* of what the model leaves (derived: three axes share it alike)."""
DRAWS = 64
"""Of what the photograph leaves open, over which additions are weighed (our numerical step)."""
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
    """What is in it of all paints of the box (p of them): K, S (p, 31), drops (p,), and one sigma of the logarithms of
    each tube's strength and scattering (p,)."""

    K: Array
    S: Array
    drops: Array
    strength: Array
    scatter: Array
    white: int
    k1: float
    k2: float

    @property
    def unknowns(self) -> int:
        """The hand's errors, the tubes' strengths and scatterings, and three of what the model leaves."""
        return 3 * len(self.drops) + 3

    def tubes(self, x: Array) -> tuple[Array, Array]:
        """K and S (p, 31) for errors x in sigmas."""
        _, strong, scatter = x[:-3].reshape(3, -1)
        # Of the logarithm: no error makes an amount negative.
        strong = np.exp(self.strength * strong)[:, None]
        return strong * self.K, strong * np.exp(self.scatter * scatter)[:, None] * self.S

    def looks(self, x: Array, drops: Array) -> Array:
        """(m, 3) L*a*b* of the pot with errors x after further drops (m, p) of each paint."""
        there = self.drops * np.exp(HAND * x[: len(self.drops)])
        K, S = ((there + drops) @ constants for constants in self.tubes(x))
        result: Array = lab(saunderson(opaque(K, S), self.k1, self.k2)) + _MODEL * x[-3:]
        return result


def correct(box: Box, poured: Mapping[str, float], dab: DabColour, aim: Lab, *, times: int = 0) -> Correction:
    """The drops that bring a pot nearest to its aim, or none.

    poured: paint -> drops of all that is in the pot, earlier corrections included; times: corrections made before.
    Raises InputError for an empty pot or a paint that the box lacks.
    """
    pot = _pot(box, poured, dab)
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


def _pot(box: Box, poured: Mapping[str, float], dab: DabColour) -> _Pot:
    # The references beside the dab show these very tubes: how each looks neat, which its strength does not tell.
    seen = {p.id: p for p in dab.tubes}
    ids = [p.id for p in box.paints]
    for id in poured:
        if id not in ids:
            raise InputError(f"the pot holds '{id}', which the box lacks", cure=nearest(id, ids))
    drops = np.array([max(poured.get(id, 0.0), 0.0) for id in ids])
    if not drops.any():
        raise InputError("the pot is empty", cure="tell how many drops of each paint went into it")
    left = np.array([_left(p, box) for p in box.paints])
    return _Pot(
        np.array([seen.get(p.id, p).K for p in box.paints]),
        np.array([seen.get(p.id, p).S for p in box.paints]),
        drops,
        TUBE_STRENGTH * left,
        TUBE_SCATTERING * np.where([id in seen for id in ids], np.minimum(left, SPREAD_LEFT), left),
        ids.index(str(box.white)) if box.white in ids else -1,
        box.table.k1,
        box.table.k2,
    )


def _left(paint: Paint, box: Box) -> float:
    """Share of a tube's spread that is still open."""
    # All is judged by the white, and whites are alike.
    if paint.id == box.white:
        return 0.0
    return 1.0 if paint.swatch_off is None else SPREAD_LEFT


def _explained(pot: _Pot, dab: DabColour) -> tuple[Array, Array]:
    """The most probable errors (n,) that explain a dab, and DRAWS of all that do, (DRAWS, n)."""
    from scipy.optimize import least_squares

    none = np.zeros((1, len(pot.drops)))

    def misfit(x: Array) -> Array:
        # A third of the squared difference on each of the three axes.
        return np.concatenate([(pot.looks(x, none)[0] - np.array(dab.lab)) / (dab.uncertainty / 3**0.5), x])

    found = least_squares(misfit, np.zeros(pot.unknowns))
    steps = np.linalg.cholesky(np.linalg.inv(found.jac.T @ found.jac))
    return found.x, found.x + _drawn(pot.unknowns) @ steps.T


def _drawn(size: int) -> Array:
    """(DRAWS, size) of unit variance, each with its opposite, so that their mean is none; always the same."""
    half = np.random.default_rng(1).normal(size=(DRAWS // 2, size))
    return np.concatenate([half, -half])


@dataclass(frozen=True)
class _Found:
    """An addition. look: most probable; off: CIEDE2000 from the aim to be expected; gain: how much less than now."""

    add: tuple[Drops, ...]
    look: Lab
    off: float
    gain: float


def _best(box: Box, pot: _Pot, errors: tuple[Array, Array], aim: Array) -> _Found:
    """Of all additions the one expected nearest to the aim over all errors that explain the dab, fewer drops first
    within a tenth of a step."""
    kinds, counts = _additions(box, max(int(pot.drops.sum() // 2), 1))
    likely, drawn = errors
    neat = _neat(box, pot, kinds)
    first = delta_e(pot.looks(likely, counts @ neat), aim)
    counts = counts[np.argsort(first, kind="stable")[:_SHORT]]
    # Adding nothing comes first: its entry is what leaving the pot alone is expected to give.
    counts = np.concatenate([np.zeros((1, len(kinds))), counts])
    # The hand that adds errs like the one that poured.
    slips = np.exp(HAND * _drawn(pot.unknowns + len(kinds))[:, -len(kinds) :])
    off = np.array([delta_e(pot.looks(x, counts * slip @ neat), aim) for x, slip in zip(drawn, slips, strict=True)])
    mean = off.mean(axis=0)
    # A further bottle costs as much trouble as two drops, letting it down as much as one more.
    size = counts @ np.ones(len(kinds)) + (counts > 0) @ np.array([2 + k.thinned for k in kinds])
    # A tenth of a step is less than anybody sees: fewer drops are worth more.
    near = np.flatnonzero(mean <= mean.min() + 0.1)
    i = int(near[np.argmin(size[near])])
    L, a, b = pot.looks(likely, counts[[i]] @ neat)[0].tolist()
    add = tuple(replace(k, drops=int(c)) for k, c in zip(kinds, counts[i], strict=True) if c)
    return _Found(add, (L, a, b), float(mean[i]), float(mean[0] - mean[i]))


def _neat(box: Box, pot: _Pot, kinds: Sequence[Drops]) -> Array:
    """(kinds, p) drops of each paint in one drop of each kind."""
    at = {p.id: i for i, p in enumerate(box.paints)}
    found = np.zeros((len(kinds), len(at)))
    for row, kind in zip(found, kinds, strict=True):
        row[at[kind.paint]] = PREMIX if kind.thinned else 1.0
        row[pot.white] += 1 - PREMIX if kind.thinned else 0.0
    return found


def _additions(box: Box, most: int) -> tuple[list[Drops], Array]:
    """What may be added, neat or let down, and the drops of each (m, kinds): none, or up to `most` of one or of two."""
    kinds = [Drops(p.id, 0, thinned) for p in box.paints for thinned in (False, True)]
    kinds = [k for k in kinds if not k.thinned or (box.white is not None and k.paint != box.white)]
    unit, alone = np.eye(len(kinds)), np.arange(1, most + 1)[:, None]
    pair = np.array([(m, n) for m in range(1, most) for n in range(1, most - m + 1)], np.float64).reshape(-1, 2)
    pairs = [(i, j) for i, j in combinations(range(len(kinds)), 2) if kinds[i].paint != kinds[j].paint]
    rows = [np.zeros((1, len(kinds))), *(alone * unit[i] for i in range(len(kinds)))]
    return kinds, np.concatenate([*rows, *(pair @ unit[[i, j]] for i, j in pairs)])
