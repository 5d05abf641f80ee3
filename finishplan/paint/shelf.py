"""The ingredients a box offers, neat and let down, and the tiers of recipes made of them.

Tier 1: every recipe of neat paints. Tier 2, light tints: white with one or two others, one of them let down. Tier 3:
white with three others, one of them let down 1 to 9. Tier 4, a yellow with a little green: a paint let down in one that
is not white, `base_tier`. A later tier is searched only for a colour that no earlier one meets within a just-visible
step. Last come recipes with two pre-mixes or three: `many_tier`, and `base_tier` again.
"""

from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.colour.film import opaque, saunderson, surface
from finishplan.paint.model import Box, Premix
from finishplan.paint.recipes import Group, Indices, count_plain, part_vectors, plain_groups
from finishplan.paint.settings import MixSettings
from finishplan.paint.swatch import SPREAD_LEFT

Array = NDArray[np.float64]

LET_DOWN = (9, 49, 499)
"""Parts of white to one of a strong paint: one into nine, one of that into four, one of that into nine (our rule)."""
_STEPS = {49: (9, 4), 499: (9, 4, 9)}
_IN_BASE = (9, 49)
"""The same of a paint that is not white."""
_MOST_RECIPES = 40_000_000


@dataclass(frozen=True, eq=False)
class Shelf:
    """paint: (i,) index into the box; into, of: (i,) the paint it is let down with and parts of it, -1 and 0 neat; K,
    S: (i, 31) per mm; white, black: index of each in the box or -1; k1, k2: the surface; estimate: (paints,) whether a
    paint is only estimated; spread: (paints,) share of a tube's usual spread that is open.
    The neat paints come first, in the order of the box."""

    paint: Indices
    into: Indices
    of: Indices
    K: Array
    S: Array
    white: int
    black: int
    k1: float
    k2: float
    estimate: NDArray[np.bool_]
    spread: Array

    def mixed(self, ingredients: Indices, parts: NDArray[Any]) -> tuple[Array, Array]:
        """K and S (n, 31) of recipes: ingredients and parts (n, k), where zero parts fill up short ones."""
        share = parts / parts.sum(axis=1, keepdims=True)
        K: Array = np.einsum("nk,nkw->nw", share, self.K[ingredients])
        S: Array = np.einsum("nk,nkw->nw", share, self.S[ingredients])
        return K, S

    def seen(self, ingredients: Indices, parts: NDArray[Any]) -> Array:
        """Reflectance (n, 31) of recipes as opaque films under the finish."""
        return saunderson(opaque(*self.mixed(ingredients, parts)), self.k1, self.k2)

    def effort(self, ingredients: Indices, parts: Indices) -> Indices:
        """(n,) pots to open: one an ingredient, one more for each letting down."""
        steps = np.searchsorted((0, *LET_DOWN), self.of[ingredients])
        # A place in LET_DOWN is a number of steps: 1 to 9 takes one, 1 to 49 two, 1 to 499 three.
        total: Indices = ((1 + steps) * (parts > 0)).sum(axis=1)
        return total

    def drops(self, ingredients: Indices, parts: Indices) -> Indices:
        """(n,) drops of the smallest pot, those of its pre-mixes included."""
        # All drops of each step, though the recipe may take a single one of what they make.
        made = np.array([0, *(sum(1 + n for n in _STEPS.get(of, (of,))) for of in LET_DOWN)])
        steps = np.searchsorted((0, *LET_DOWN), self.of[ingredients])
        total: Indices = (parts + made[steps] * (parts > 0)).sum(axis=1)
        return total

    def main_paints(self, ingredients: Indices, parts: Indices) -> Indices:
        """(n,) the paint of which each recipe (n, k) holds the most, its pre-mixes taken apart; of equals the first."""
        of, row = self.of[ingredients], np.arange(len(parts))[:, None]
        held = np.zeros((len(parts), len(self.estimate)))
        np.add.at(held, (row, self.paint[ingredients]), parts / (1 + of))
        # A neat one has -1 there and nothing to add: the last paint gets 0.
        np.add.at(held, (row, self.into[ingredients]), parts * of / (1 + of))
        # Rounded, so that of equal amounts the first paint is taken and not a chance one.
        most: Indices = held.round(9).argmax(axis=1)
        return most


def make_shelf(box: Box, settings: MixSettings) -> Shelf:
    """The shelf of a box under a finish; if told so, it holds neat paints only."""
    K, S = np.stack([p.K for p in box.paints]), np.stack([p.S for p in box.paints])
    white, black = (next((i for i, p in enumerate(box.paints) if p.id == id), -1) for id in (box.white, box.black))
    ingredients = [(p, -1, 0) for p in range(len(K))]
    if settings.premixes:
        bases = [(white, of) for of in LET_DOWN if white >= 0]
        bases += [(base, of) for base in range(len(K)) if base != white for of in _IN_BASE]
        ingredients += [(p, base, of) for base, of in bases for p in range(len(K)) if p != base]
    paint, into, of = np.array(ingredients).T
    share = (of / (1 + of))[:, None]
    k1, k2 = surface(settings.finish, box.table.k1, box.table.k2)
    estimate = np.array([q.estimate for q in box.paints])
    spread = np.array([1.0 if q.swatch_off is None else SPREAD_LEFT for q in box.paints])
    mixed = [(1 - share) * v[paint] + share * v[into] for v in (K, S)]
    return Shelf(paint, into, of, mixed[0], mixed[1], white, black, k1, k2, estimate, spread)


def tiers(shelf: Shelf, settings: MixSettings) -> tuple[tuple[Group, ...], ...]:
    """The groups of the first three tiers. Raises InputError when there are too many recipes to consider them all."""
    neat = int((shelf.of == 0).sum())
    # Counted before anything is listed, so that too many are refused at once.
    count = count_plain(neat, settings.max_paints, settings.max_parts)
    if count > _MOST_RECIPES:
        raise InputError(
            f"{count // 1_000_000} million recipes, more than {_MOST_RECIPES // 1_000_000} million",
            key="paints.max_paints, max_parts",
            cure="allow fewer paints or parts in a mix, or name fewer paints",
        )
    found = [plain_groups(neat, settings.max_paints, settings.max_parts)]
    if settings.premixes and shelf.white >= 0:
        found += [
            _with_white(shelf, [n for n in (1, 2) if n < settings.max_paints], LET_DOWN, (1, 1), settings),
            _with_white(shelf, [3] if settings.max_paints >= 4 else [], LET_DOWN[:1], (1, 1), settings),
        ]
    return tuple(groups for groups in found if groups)


def many_tier(shelf: Shelf, settings: MixSettings) -> tuple[Group, ...]:
    """White with two others let down, or with three, two or all of them let down 1 to 9 or all 1 to 49."""
    if shelf.white < 0 or not settings.premixes:
        return ()
    groups = _with_white(shelf, [2] if settings.max_paints >= 3 else [], LET_DOWN, (2, 2), settings)
    if settings.max_paints >= 4:
        groups += _with_white(shelf, [3], LET_DOWN[1:2], (3, 3), settings)
        groups += _with_white(shelf, [3], LET_DOWN[:1], (2, 3), settings)
    return groups


def every_tier(shelf: Shelf, settings: MixSettings) -> tuple[tuple[Group, ...], ...]:
    """`tiers` and `many_tier`: all that hang on no colour."""
    return tuple(groups for groups in (*tiers(shelf, settings), many_tier(shelf, settings)) if groups)


def _with_white(
    shelf: Shelf, others: list[int], levels: tuple[int, ...], made: tuple[int, int], settings: MixSettings
) -> tuple[Group, ...]:
    """White with so many others, of different paints, from made[0] to made[1] of them let down."""
    pool = [
        i
        for i in range(len(shelf.of))
        # Let down in the white alone: what is let down in another paint has a tier of its own.
        if shelf.paint[i] != shelf.white and shelf.into[i] in (-1, shelf.white) and shelf.of[i] in (0, *levels)
    ]
    groups = []
    for count in others:
        if count > len(pool) or count + 1 > settings.max_parts:
            continue
        chosen = np.array(list(combinations(pool, count)), dtype=np.int64).reshape(-1, count)
        paints = np.sort(shelf.paint[chosen], axis=1)
        down = (shelf.of[chosen] > 0).sum(axis=1)
        # A paint beside itself let down would be only another ratio of the two.
        kept = (np.diff(paints, axis=1) > 0).all(axis=1) & (down >= made[0]) & (down <= made[1])
        combos = np.insert(chosen[kept], 0, shelf.white, axis=1)
        if len(combos):
            groups.append(Group(combos, part_vectors(count + 1, settings.max_parts)))
    return tuple(groups)


def base_tier(shelf: Shelf, base: int, settings: MixSettings, *, many: bool = False) -> tuple[Group, ...]:
    """A paint (index into the box) with one that is let down in it, alone or with a neat one; many: with two that are
    let down in it. None for the white: its pre-mixes are in the other tiers."""
    made = np.flatnonzero(shelf.into == base).tolist() if base != shelf.white else []
    neat = [i for i in np.flatnonzero(shelf.of == 0).tolist() if i != base]
    two = combinations(made, 2) if many else ((i, j) for i in neat for j in made)
    pairs = [(base, i, j) for i, j in two if shelf.paint[i] != shelf.paint[j]]
    most = min(settings.max_paints, settings.max_parts)
    return tuple(
        Group(np.array(rows, np.int64), part_vectors(size, settings.max_parts))
        for size, rows in ((2, [] if many else [(base, i) for i in made]), (3, pairs))
        if rows and size <= most
    )


def let_down_steps(premix: Premix) -> tuple[int, ...]:
    """How a hand makes a pre-mix: each number is the drops of white (or another base) for one drop, first of the paint,
    then of what was made before. (9, 4): one drop into nine, one drop of that into four, which is 1 to 49."""
    return _STEPS.get(premix.of, (premix.of,)) if premix.parts == 1 else (premix.of,)


def decode(groups: tuple[Group, ...], rows: Indices, width: int) -> tuple[Indices, Indices]:
    """Ingredients and parts (n, width) of recipes by their place in the groups; zero parts fill up short ones."""
    ingredients = np.zeros((len(rows), width), np.int64)
    parts = np.zeros((len(rows), width), np.int64)
    start = 0
    for group in groups:
        # Groups lie one behind another, and in each the recipes of one combination.
        here = np.flatnonzero((rows >= start) & (rows < start + len(group)))
        combo, part = np.divmod(rows[here] - start, len(group.parts))
        count = group.parts.shape[1]
        ingredients[here[:, None], np.arange(count)] = group.combos[combo]
        parts[here[:, None], np.arange(count)] = group.parts[part]
        start += len(group)
    return ingredients, parts
