"""The recipe for each aim: every recipe of the box considered, the simplest near-equal taken."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.film import inverse_saunderson, opaque
from finishplan.colour.hiding import BRUSH_COAT_MM, Films
from finishplan.colour.light import delta_e, far_delta_e, lab, lab_from_xyz, white_xyz, xyz_from_lab
from finishplan.paint.cache import stored_index
from finishplan.paint.nearest import ROUNDING, STEPS_PER_UNIT, allowed, within
from finishplan.paint.recipes import Floats, Group, Indices
from finishplan.paint.settings import DROP_ML, WHITE_PRIMER, MixSettings
from finishplan.paint.shelf import Shelf, base_tier, decode, many_tier, tiers
from finishplan.paint.trust import expect_within, looseness

Array = NDArray[np.float64]
Limits = tuple[float, float]

_COMPARED = 128
"""Of recipes with equally few pots, so many with the fewest parts are weighed against each other (our limit on
the search)."""
_MOST_BASES = 4  # our limit on the search
_SURER = 1.0
"""By how much less a paint as it comes must be expected to miss than a mix to go before it (CIEDE2000 in nineteen cases
of twenty; our rule)."""
_FARTHER = 1.5
"""How much farther from the aim than the mix a surer paint as it comes may lie; within reach it may too (our rule)."""
MEANT_FOR, UNLIKE = 10.0, 1.25
"""CIEDE2000 is made for small differences, up to about 5 (CIE 142-2001; from memory), and relied on up to twice that.
Beyond, how many times farther than need be a recipe may lie without the blue term (our rule: greys given for pinks and
violets lie 1.4 to 2.3 times as far, all others under 1.1)."""
PREMIX_GAIN = 1.5
"""How much nearer (CIEDE2000) a recipe with a second pre-mix must come than one with a single one (our rule)."""
LEAST, MOST_COUNTED = 2, 8
"""Thin coats over white: fewer are laid on specks alone, and more count alike (common practice; our rule)."""
WORTH_A_POT = 1
"""Coats that a recipe with one more pot must spare (our rule: a coat costs a maker more minutes than a paint)."""
_DUST = 1e-9
"""The last digits of a difference depend on how many are computed at once."""


@dataclass(frozen=True, eq=False)
class Recipe:
    """ingredients, parts: (k,) of the shelf; delta_e: CIEDE2000 from its aim; best: of the nearest recipe of all."""

    ingredients: Indices
    parts: Indices
    delta_e: float
    best: float


@dataclass(frozen=True, eq=False)
class _Candidates:
    """Recipes of some groups, by their place in them, and their CIEDE2000 from the aim as the index tells it."""

    groups: tuple[Group, ...]
    rows: Indices
    near: Floats

    def up_to(self, limit: float) -> "_Candidates":
        """Those that can lie within the limit."""
        # Stored colours are rounded, so whoever lies within the rounding may be in; float64 decides later.
        kept = self.near <= limit + ROUNDING
        return self if kept.all() else _Candidates(self.groups, self.rows[kept], self.near[kept])


def _decoded(found: list[_Candidates], limit: float, settings: MixSettings) -> tuple[Indices, Indices, Floats]:
    """Ingredients, parts (n, max_paints) and stored CIEDE2000 of the candidates that can lie within the limit."""
    kept = [c.up_to(limit) for c in found]
    recipes = [decode(c.groups, c.rows, settings.max_paints) for c in kept]
    ingredients, parts = (np.concatenate([r[k] for r in recipes]) for k in (0, 1))
    return ingredients, parts, np.concatenate([c.near for c in kept])


class _Hunt:
    """The candidates and the least CIEDE2000 found so far for each aim (m, 3)."""

    def __init__(self, shelf: Shelf, aims: Array, settings: MixSettings) -> None:
        self.shelf, self.aims, self.settings = shelf, aims, settings
        self.found: list[list[_Candidates]] = [[] for _ in aims]
        self.best = [np.inf for _ in aims]

    def look(self, groups: tuple[Group, ...], wanted: list[int]) -> None:
        """Search these recipes for the wanted aims."""
        if not groups or not wanted:
            return
        index, settings = stored_index(self.shelf, groups, self.settings), self.settings
        for i in wanted:
            # The best so far goes in: the index then reads only cells that may still hold a better or equal one.
            rows, near = within(index, self.aims[i], settings.step, self.best[i])
            self.found[i].append(_Candidates(groups, rows, near))
            self.best[i] = min(self.best[i], _best(self.shelf, self.found[i], self.aims[i], settings))
            # With the best now lower, much of what was kept from earlier tiers is out.
            self.found[i] = [c.up_to(allowed(self.best[i], settings.step)) for c in self.found[i]]

    def chosen(self, aim: int) -> Recipe:
        """The recipe for that aim of what was found."""
        return _choose(self.shelf, self.found[aim], self.best[aim], self.aims[aim], self.settings)

    def missed(self) -> list[int]:
        """The aims that nothing found meets within a step."""
        return [i for i, best in enumerate(self.best) if best > self.settings.step]


def search(shelf: Shelf, aims: Array, settings: MixSettings) -> tuple[Recipe, ...]:
    """The recipe of each aim (m, 3), L*a*b* D65. Every aim is searched by itself: no aim changes another's recipe.

    An aim far from all recipes is given one that looks like it. Raises InputError for too many recipes.
    """
    recipes = [*_searched(shelf, aims, settings)]
    for i, recipe in enumerate(recipes):
        likest = _likest(shelf, recipe, aims[i], settings) if recipe.best > MEANT_FOR else None
        if likest is not None:
            found = _searched(shelf, likest[None], settings)[0]
            recipes[i] = replace(found, delta_e=float(delta_e(_colour(shelf, found), aims[i])), best=recipe.best)
    return tuple(recipes)


def _likest(shelf: Shelf, recipe: Recipe, aim: Array, settings: MixSettings) -> Array | None:
    """(3,) L*a*b* of the recipe of the first tier that looks most like an aim (3,) far from all of them; None where the
    one found by CIEDE2000 looks about as like."""
    index = stored_index(shelf, tiers(shelf, settings)[0], settings)
    colours = index.steps / np.float32(STEPS_PER_UNIT)
    off = far_delta_e(colours, aim)
    row = int(off.argmin())
    if far_delta_e(_colour(shelf, recipe), aim) <= UNLIKE * off[row]:
        return None
    likest: Array = colours[row].astype(np.float64)
    return likest


def _colour(shelf: Shelf, recipe: Recipe) -> Array:
    """(3,) L*a*b* of a recipe."""
    colour: Array = lab(shelf.seen(recipe.ingredients[None], recipe.parts[None]))[0]
    return colour


def _searched(shelf: Shelf, aims: Array, settings: MixSettings) -> tuple[Recipe, ...]:
    """The recipe of each aim, by CIEDE2000 alone.

    Recipes with more than one pre-mix are taken only where they come nearer by PREMIX_GAIN, those with one where they
    come nearer by more than a step.
    """
    # Three hunts side by side: what a pre-mix gains is judged against the best without.
    bare, few, many = (_Hunt(shelf, aims, settings) for _ in range(3))
    first, *others = tiers(shelf, settings)
    bare.look(first, [*range(len(aims))])
    # Copies: what `few` finds further must not appear among the recipes without pre-mixes.
    few.found, few.best = [[*found] for found in bare.found], [*bare.best]
    for groups in others:
        few.look(groups, few.missed())
    missed = few.missed() if settings.premixes else []
    bases = {i: _bases(shelf, few.found[i], few.best[i], aims[i], settings) for i in missed}
    # Each base's recipes are indexed once for all aims that ask for it, and in one order.
    every = sorted(set().union(*bases.values()))
    for base in every:
        few.look(base_tier(shelf, base, settings), [i for i in missed if base in bases[i]])
    # Anew: a paint let down in a base may have met some of them.
    missed = few.missed() if settings.premixes else []
    # Recipes of many pre-mixes are taken only where they beat `few` by PREMIX_GAIN: no farther one is looked for, but
    # none of `few` stands among them.
    many.best = [*few.best]
    many.look(many_tier(shelf, settings), missed)
    for base in every:
        many.look(base_tier(shelf, base, settings, many=True), [i for i in missed if base in bases[i]])
    taken = [many if many.best[i] < few.best[i] - PREMIX_GAIN else few for i in range(len(aims))]
    recipes = list[Recipe]()
    for i, hunt in enumerate(taken):
        recipe = hunt.chosen(i)
        made = (shelf.of[recipe.ingredients] > 0).any()
        if made and _as_good(shelf, plain := bare.chosen(i), recipe, settings):
            recipe = plain
        # Whether a colour is out of reach is told by the best of all, even where a simpler recipe is taken.
        recipes.append(replace(recipe, best=min(few.best[i], many.best[i])))
    return tuple(recipes)


def _as_good(shelf: Shelf, plain: Recipe, recipe: Recipe, settings: MixSettings) -> bool:
    """Whether a recipe without pre-mixes serves as well as one with: no more than a step farther, in as few coats."""
    coats = [int(coats_over_white(shelf, r.ingredients[None], r.parts[None])[0]) for r in (plain, recipe)]
    return plain.delta_e <= recipe.delta_e + settings.step and coats[0] <= coats[1]


def _best(shelf: Shelf, found: list[_Candidates], aim: Array, settings: MixSettings) -> float:
    """The least CIEDE2000 among the candidates, in float64."""
    least = min(float(c.near.min(initial=np.inf)) for c in found)
    if np.isinf(least):
        return least
    # Only the few that may be the best by the stored figures are computed in full.
    ingredients, parts, _ = _decoded(found, least + ROUNDING, settings)
    return float(delta_e(lab(shelf.seen(ingredients, parts)), aim).min())


def _bases(shelf: Shelf, found: list[_Candidates], best: float, aim: Array, settings: MixSettings) -> set[int]:
    """The paints that others are let down in for this aim: the main ones of the recipes nearest to it, the white left
    out, _MOST_BASES at most; recipes within a step of the best are asked."""
    limit = allowed(best, settings.step)
    ingredients, parts, near = _decoded(found, limit, settings)
    main = shelf.main_paints(ingredients, parts)
    nearest = {}
    for paint in np.unique(main[main != shelf.white]).tolist():
        rows = np.flatnonzero(main == paint)
        # Two colours that are both rounded may change places by twice the rounding.
        rows = rows[near[rows] <= near[rows].min() + 2 * ROUNDING]
        exact = float(delta_e(lab(shelf.seen(ingredients[rows], parts[rows])), aim).min())
        if exact <= limit:
            nearest[paint] = exact
    return set(sorted(nearest, key=lambda p: (nearest[p], p))[:_MOST_BASES])


def _choose(shelf: Shelf, found: list[_Candidates], best: float, aim: Array, settings: MixSettings) -> Recipe:
    """The white or the black as it comes where near enough; a paint as it comes within a step of the best; else, of the
    recipes near enough to the aim, those with the fewest pots, and of these the one of `_preferred`. A paint as it
    comes a little farther from the aim goes before it where that is clearly surer."""
    if plain := _plain(shelf, aim, settings.plain):
        return Recipe(*plain, best)
    # What can be met within reach must not be given a recipe that lies beyond.
    most = settings.reach if best <= settings.reach else np.inf
    if neat := _neat(shelf, aim, min(best + settings.step, most), settings):
        return Recipe(*neat, best)
    # A recipe found through the index must not fall out by the last digit of its recomputed difference.
    limit = min(allowed(best, settings.step) + _DUST, most)
    ingredients, parts, _ = _decoded(found, limit, settings)
    mix = _simplest(shelf, (ingredients, parts), aim, (limit, best), settings)
    farthest = settings.reach if settings.few_drops else max(mix.delta_e + _FARTHER, settings.reach)
    neat = _neat(shelf, aim, farthest, settings) if best <= settings.reach else None
    if neat and _may_miss(shelf, surer := Recipe(*neat, best)) < _may_miss(shelf, mix) - _SURER:
        return surer
    return mix


def _simplest(shelf: Shelf, near: tuple[Indices, Indices], aim: Array, limits: Limits, settings: MixSettings) -> Recipe:
    """Of recipes (ingredients, parts) within the limit the preferred of those with the fewest pots; one with a pot more
    where it spares two coats: they cost a maker more than a paint. limits: that one, and the nearest of all."""
    (ingredients, parts), (limit, best) = near, limits
    pots = (shelf.drops if settings.few_drops else shelf.effort)(ingredients, parts)
    found: list[tuple[int, Recipe, int]] = []
    for count in np.unique(pots).tolist():
        # With the next count come recipes two pots dearer, or coats are already as few as can be laid.
        if found and (settings.few_drops or count > found[0][0] + 1 or found[0][2] < LEAST + WORTH_A_POT):
            break
        rows = np.flatnonzero(pots == count)
        # lexsort takes its last key first: fewest parts, then a fixed order among equals.
        rows = rows[np.lexsort((*ingredients[rows].T, *parts[rows].T, parts[rows].sum(axis=1)))]
        rows, difference = _kept(shelf, near, rows, aim, limit)
        if len(rows):
            first = _preferred(shelf, (ingredients[rows], parts[rows]), difference, aim, settings)
            row = rows[first]
            used = parts[row] > 0
            recipe = Recipe(ingredients[row][used], parts[row][used], float(difference[first]), best)
            found.append((count, recipe, int(coats_over_white(shelf, ingredients[[row]], parts[[row]])[0])))
    assert found, "the nearest recipe is always near enough"
    if len(found) == 2 and found[1][2] <= found[0][2] - WORTH_A_POT:
        return found[1][1]
    return found[0][1]


def coats_over_white(shelf: Shelf, ingredients: Indices, parts: Indices) -> Indices:
    """(n,) thin brush coats that hide a white primer, LEAST at least, MOST_COUNTED + 1 where even so many do not."""
    K, S = shelf.mixed(ingredients, parts)
    films = Films(K, S, opaque(K, S), shelf.k1, shelf.k2)
    white = inverse_saunderson(np.full((1, K.shape[1]), WHITE_PRIMER), shelf.k1, shelf.k2)
    counted: Indices = np.maximum(films.coats(white, BRUSH_COAT_MM, MOST_COUNTED)[:, 0], LEAST)
    return counted


def _plain(shelf: Shelf, aim: Array, limit: float) -> tuple[Indices, Indices, float] | None:
    """The nearer of white and black as they come, where one lies within the limit: ingredient, part, CIEDE2000."""
    paints = np.array([i for i in (shelf.white, shelf.black) if i >= 0], np.int64)
    if not len(paints):
        return None
    difference = delta_e(lab(shelf.seen(paints[:, None], np.ones((len(paints), 1)))), aim)
    row = int(difference.argmin())
    if difference[row] > limit:
        return None
    return paints[row : row + 1], np.ones(1, np.int64), float(difference[row])


def _may_miss(shelf: Shelf, recipe: Recipe) -> float:
    return expect_within(shelf, recipe.ingredients, recipe.parts)


def _neat(shelf: Shelf, aim: Array, limit: float, settings: MixSettings) -> tuple[Indices, Indices, float] | None:
    """The preferred of the paints that, straight from the bottle, lie within the limit: ingredient, part, CIEDE2000."""
    paints = np.flatnonzero(shelf.of == 0)[:, None]
    difference = delta_e(lab(shelf.seen(paints, np.ones_like(paints))), aim)
    paints, difference = paints[difference <= limit], difference[difference <= limit]
    if not len(paints):
        return None
    row = _preferred(shelf, (paints, np.ones_like(paints)), difference, aim, settings)
    return paints[row], np.ones(1, np.int64), float(difference[row])


def _kept(
    shelf: Shelf, near: tuple[Indices, Indices], rows: Indices, aim: Array, limit: float
) -> tuple[Indices, Array]:
    """The first rows, in their order of fewest parts, that lie within the limit in float64: _COMPARED or a few more."""
    (ingredients, parts), kept, differences, count = near, [], [], 0
    # Most of the rows pass, so two batches' worth at a time seldom needs a second round.
    for start in range(0, len(rows), 2 * _COMPARED):
        some = rows[start : start + 2 * _COMPARED]
        difference = delta_e(lab(shelf.seen(ingredients[some], parts[some])), aim)
        inside = difference <= limit
        kept.append(some[inside])
        differences.append(difference[inside])
        count += int(inside.sum())
        if count >= _COMPARED:
            break
    return np.concatenate(kept), np.concatenate(differences)


def _preferred(
    shelf: Shelf, near: tuple[Indices, Indices], difference: Array, aim: Array, settings: MixSettings
) -> int:
    """Of recipes with equally many pots the fewest coats over white; then the most forgiving, in whole just-visible
    steps, fewest parts, least metameric, least moved by a drop, nearest, first named."""
    (ingredients, parts), rows = near, np.arange(len(near[1]))
    rules: tuple[Callable[[Indices, Indices, Array], NDArray[Any]], ...] = (
        lambda i, n, _: coats_over_white(shelf, i, n) if not settings.few_drops else np.zeros(len(n)),
        lambda i, n, _: looseness(shelf, i, n).round(6) // max(settings.step, 0.1),
        lambda i, n, _: n.sum(axis=1),
        lambda i, n, _: delta_e_a(shelf, i, n, aim).round(1),
        lambda i, n, _: drop_error(shelf, i, n, settings.volume_ml, settings.drop_ml).max(axis=1).round(1),
        lambda i, n, d: d.round(2),
    )
    # Each rule is asked only of what the one before left: the dear ones (lamp light, drops) see a handful.
    for rule in rules:
        if len(rows) == 1:
            break
        value = rule(ingredients[rows], parts[rows], difference[rows])
        rows = rows[value == value.min()]
    return min(rows.tolist(), key=lambda r: (ingredients[r].tolist(), parts[r].tolist()))


def drops_a_part(parts: Indices, volume_ml: float, drop_ml: float = DROP_ML) -> Indices:
    """(n,) whole drops to each part, so that the pot holds at least the volume and no part is less than a drop."""
    total = parts.sum(axis=1)
    # Rounded before ceil: 30 drops must not become 31 by the last digit of the division.
    needed: Indices = np.maximum(1, np.ceil(np.round(volume_ml / drop_ml / total, 9))).astype(np.int64)
    return needed


def drop_error(shelf: Shelf, ingredients: Indices, parts: Indices, volume_ml: float, drop_ml: float = DROP_ML) -> Array:
    """(n, k) CIEDE2000 by which one drop too many of each ingredient moves a pot of the volume; 0 where none is."""
    drops = parts * drops_a_part(parts, volume_ml, drop_ml)[:, None]
    right = lab(shelf.seen(ingredients, drops))
    moved = np.zeros(parts.shape)
    for j in range(parts.shape[1]):
        wrong = drops.copy()
        wrong[:, j] += parts[:, j] > 0
        moved[:, j] = delta_e(lab(shelf.seen(ingredients, wrong)), right)
    return moved


def delta_e_a(shelf: Shelf, ingredients: Indices, parts: Indices, aim: Array) -> Array:
    """(n,) CIEDE2000 under illuminant A from the aim as an eye adapted to lamp light would expect it."""
    return delta_e(lab(shelf.seen(ingredients, parts), "A"), lamp_lab(aim))


def lamp_lab(aim: Array) -> Array:
    """L*a*b* (..., 3) under A of colours (..., 3) that keep their D65 look: Bradford's adaptation, the matrix from
    colormath."""
    from colormath.color_constants import ADAPTATION_MATRICES

    bradford = np.asarray(ADAPTATION_MATRICES["bradford"])
    daylight, lamp = white_xyz("D65"), white_xyz("A")
    # Bradford: the cone responses are scaled by lamp white over daylight white.
    gain = (bradford @ lamp) / (bradford @ daylight)
    return lab_from_xyz((xyz_from_lab(aim) @ bradford.T * gain) @ np.linalg.inv(bradford).T, lamp)
