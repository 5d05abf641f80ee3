"""Which colours share a pot: the candidates from the recipe table, the joint choice, the recipe of each shared pot.

A colour alone in its pot keeps its own recipe. A pot of several takes, of the recipes that serve them all and lie
within a just-visible step of the least weighted mean difference, the one of the fewest pots to open, coats and parts.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.light import delta_e, lab
from finishplan.paint.cache import stored_index
from finishplan.paint.fewest import Array, Flags, Pair, Pots, fewest_pots
from finishplan.paint.nearest import within as found_within
from finishplan.paint.recipes import Indices
from finishplan.paint.search import Recipe, coats_over_white
from finishplan.paint.settings import DRAWN_ALIKE, MixSettings
from finishplan.paint.shelf import Shelf, decode, tiers

CURVE = (1.0, 2.0, 3.0, 4.0, 5.0)
"""Tolerances, CIEDE2000, for which it is told how many pots they take (our choice)."""
_MOST_COUNTED = 500
"""Candidates beyond which a tolerance is left out of these: it would take seconds (our limit on the search)."""
KEPT_APART = 0.5
"""Share of their drawn difference that neighbours keep at least (our rule)."""
_TOUCHING = 3.0
"""Colours farther apart than this many tolerances have no recipe in common. Twice would do if CIEDE2000 were a distance
in the strict sense; a test holds this against random triples."""
_FARTHEST = 6.0
"""Of the table only recipes as near as this to two colours are candidates, whatever the tolerance (our limit on the
search: beyond, there are too many to weigh them all)."""


@dataclass(frozen=True, eq=False)
class Colours:
    """Colours that each have a mix of their own to begin with: aimed, drawn: (n, 3) L*a*b*; weights: (n,); own: the
    recipe of each; alone: which share with no other, as the maker said; neighbours: pairs that meet in the figure."""

    aimed: Array
    drawn: Array
    weights: Array
    own: tuple[Recipe, ...]
    alone: frozenset[int] = frozenset()
    neighbours: frozenset[tuple[int, int]] = frozenset()


@dataclass(frozen=True, eq=False)
class Known:
    """A recipe that the maker has in a book, and how it looks, L*a*b*."""

    name: str
    recipe: Recipe
    lab: Array


@dataclass(frozen=True, eq=False)
class Shared:
    """pot_of: for each colour the place of its pot; recipes, leads, book: of each pot its recipe, the colour it is
    mixed to, and what the book has of it, if it does; least: so many pots are needed at any rate; curve:
    (tolerance, pots) pairs."""

    pot_of: tuple[int, ...]
    recipes: tuple[Recipe, ...]
    leads: tuple[int, ...]
    book: Mapping[int, Known] = field(default_factory=dict)
    least: int = 0
    curve: tuple[tuple[float, int], ...] = ()


@dataclass(frozen=True, eq=False)
class _Table:
    """Recipes that lie near to two colours or more. ingredients, parts: (r, k); labs: (r, 3); off: (r, n), infinite
    where it was not asked."""

    ingredients: Indices
    parts: Indices
    labs: Array
    off: Array


def share(
    shelf: Shelf, colours: Colours, settings: MixSettings, known: Sequence[Known] = (), *, curve: bool = False
) -> Shared:
    """The fewest pots for these colours within the tolerance, see `fewest_pots`. curve: count them for CURVE too."""
    # One table for the widest tolerance serves all that are counted.
    widest = max(settings.within, *CURVE) if curve else settings.within
    table = _table(shelf, colours, settings, widest) if settings.within or curve else _no_table(len(colours.own))
    own = _own(shelf, colours, known)
    counted = []
    for limit in CURVE if curve else ():
        pots, _ = _pots(shelf, own, table, colours, replace(settings, within=limit))
        if len(pots.labs) <= _MOST_COUNTED:
            taken = fewest_pots(pots, colours.weights.tolist(), own.apart)
            counted.append((limit, len(set(taken.pot_of))))
    if not settings.within:
        # Tolerance 0: nobody shares, though equal recipes would.
        colours = replace(colours, alone=frozenset(range(len(colours.own))))
        own = _own(shelf, colours, ())
    pots, rows = _pots(shelf, own, table, colours, settings)
    taken = fewest_pots(pots, colours.weights.tolist(), own.apart)
    told = _Choice(shelf, colours, settings, own, table, rows).told(pots, taken.pot_of)
    return replace(told, least=taken.least, curve=tuple(counted))


@dataclass(frozen=True, eq=False)
class _Own:
    """Recipes that are candidates whatever the table holds: those of each colour, each once, then the book's.

    of: (n,) which is the colour's own; apart: neighbours that must be kept apart, and how far."""

    recipes: tuple[Recipe, ...]
    known: tuple[Known, ...]
    labs: Array
    of: tuple[int, ...]
    apart: tuple[Pair, ...]


def _key(recipe: Recipe) -> tuple[tuple[int, ...], tuple[int, ...]]:
    return tuple(recipe.ingredients.tolist()), tuple(recipe.parts.tolist())


def _own(shelf: Shelf, colours: Colours, known: Sequence[Known]) -> _Own:
    places: dict[object, int] = {}
    recipes: list[Recipe] = []
    of = []
    for i, recipe in enumerate(colours.own):
        # A colour that the maker wants alone has a pot of its own even where another has the same recipe.
        key = i if i in colours.alone else _key(recipe)
        if key not in places:
            places[key] = len(recipes)
            recipes.append(recipe)
        of.append(places[key])
    labs = np.array([lab(shelf.seen(r.ingredients[None], r.parts[None]))[0] for r in recipes]).reshape(-1, 3)
    pairs = [(i, j) for i, j in sorted(colours.neighbours) if of[i] != of[j]]
    drawn = [float(delta_e(colours.drawn[i], colours.drawn[j])) for i, j in pairs]
    came = [float(delta_e(labs[of[i]], labs[of[j]])) for i, j in pairs]
    apart = tuple(
        # No more than their own recipes keep: each colour by its own pot must stay a choice, or nothing may fit.
        (i, j, min(KEPT_APART * far, got))
        for (i, j), far, got in zip(pairs, drawn, came, strict=True)
        if far > DRAWN_ALIKE
    )
    return _Own(tuple(recipes), tuple(known), np.concatenate([labs, *(k.lab[None] for k in known)]), tuple(of), apart)


def _limits(colours: Colours, settings: MixSettings) -> Array:
    """(n,) how far a pot may lie from each colour: the tolerance, or as far as its own recipe where that is
    farther; a just-visible step more where it is out of reach."""
    own = np.array([r.delta_e for r in colours.own])
    missed = np.array([r.best > settings.reach for r in colours.own])
    alone: Array = own + missed * min(settings.step, settings.within)
    return np.maximum(alone, settings.within)


def _no_table(count: int) -> _Table:
    none = np.zeros((0, 1), np.int64)
    return _Table(none, none, np.zeros((0, 3)), np.zeros((0, count)))


def _table(shelf: Shelf, colours: Colours, settings: MixSettings, widest: float) -> _Table:
    """The table's recipes that lie within the widest tolerance of two colours or more; those with pre-mixes where one
    of these colours has one."""
    wide = replace(settings, within=widest)
    limits = _limits(colours, wide)
    # Half the sum of both limits: the two need not reach equally far.
    near = delta_e(colours.aimed[:, None], colours.aimed) <= _TOUCHING / 2 * (limits[:, None] + limits)
    np.fill_diagonal(near, False)
    near[:, list(colours.alone)] = False
    asked = [i for i in np.flatnonzero(near.any(axis=1)).tolist() if i not in colours.alone]
    premixed = any((shelf.of[colours.own[i].ingredients] > 0).any() for i in asked)
    found = [_no_table(len(limits))]
    for groups in tiers(shelf, settings)[: 2 if premixed else 1] if asked else ():
        index = stored_index(shelf, groups, settings)
        hits = [found_within(index, colours.aimed[i], min(float(limits[i]), _FARTHEST), 0.0)[0] for i in asked]
        # Each colour's hits are distinct, so a count above 1 means as many colours.
        rows, count = np.unique(np.concatenate(hits), return_counts=True)
        rows = rows[count > 1]
        ingredients, parts = decode(groups, rows, settings.max_paints)
        labs = lab(shelf.seen(ingredients, parts)) if len(rows) else np.zeros((0, 3))
        # Infinite, so that a colour that was not asked is served by none of them.
        off = np.full((len(rows), len(limits)), np.inf)
        off[:, asked] = delta_e(labs[:, None], colours.aimed[asked])
        found.append(_Table(ingredients, parts, labs, off))
    width = max(t.parts.shape[1] for t in found)
    # Tiers differ in how many ingredients their recipes have.
    padded = [[np.pad(v, ((0, 0), (0, width - v.shape[1]))) for v in (t.ingredients, t.parts)] for t in found]
    return _Table(
        np.concatenate([p[0] for p in padded]),
        np.concatenate([p[1] for p in padded]),
        np.concatenate([t.labs for t in found]),
        np.concatenate([t.off for t in found]),
    )


def _pots(shelf: Shelf, own: _Own, table: _Table, colours: Colours, settings: MixSettings) -> tuple[Pots, Indices]:
    """The candidates under a tolerance, own ones and the book's first; and the rows of the table that come after."""
    limits = _limits(colours, settings)
    off = delta_e(own.labs[:, None], colours.aimed[None])
    serves = off <= limits + 1e-9
    for i, k in enumerate(own.of):
        if i in colours.alone:
            serves[:, i] = serves[k] = False
    # Whatever was ruled out above, a colour's own recipe serves it.
    serves[own.of, np.arange(len(own.of))] = True
    fits = table.off <= limits + 1e-9
    rows = _of_a_kind(shelf, table, fits, colours.weights)
    # A plain paint that the book has is the book's: the maker knows it by that name.
    kept = {_key(k.recipe) for k in own.known}
    plain = [len(r.parts) == 1 and _key(r) not in kept for r in own.recipes]
    pots = Pots(
        np.concatenate([own.labs, table.labs[rows]]),
        np.concatenate([off, delta_e(table.labs[rows][:, None], colours.aimed[None])]),
        np.concatenate([serves, fits[rows]]),
        np.array([*plain, *(True for _ in own.known), *(False for _ in rows)], np.bool_),
        np.arange(len(own.labs) + len(rows)) >= len(own.labs),
    )
    return pots, rows


def _of_a_kind(shelf: Shelf, table: _Table, fits: Flags, weights: Array) -> Indices:
    """Of the recipes that serve the same two colours or more the nearest, by weighted difference, and the simplest."""
    rows = np.flatnonzero(fits.sum(axis=1) > 1)
    if not len(rows):
        return rows
    # The set of colours served, packed into bytes, is the kind.
    kinds = np.unique(np.packbits(fits[rows], axis=1), axis=0, return_inverse=True)[1].ravel()
    total = (np.where(fits[rows], table.off[rows], 0.0) * weights).sum(axis=1)
    effort = shelf.effort(table.ingredients[rows], table.parts[rows])
    kept = set[int]()
    for key in ((total,), (total, table.parts[rows].sum(axis=1), effort)):
        order = np.lexsort((*key, kinds))
        first = np.flatnonzero(np.diff(kinds[order], prepend=-1))
        kept |= set(order[first].tolist())
    return rows[sorted(kept)]


@dataclass(frozen=True, eq=False)
class _Choice:
    """What pots were chosen from. rows: of the table, those that come after the own candidates."""

    shelf: Shelf
    colours: Colours
    settings: MixSettings
    own: _Own
    table: _Table
    rows: Indices

    def told(self, pots: Pots, pot_of: Sequence[int]) -> Shared:
        """The pots taken, in the order of their first colours, each with its recipe."""
        order = tuple(dict.fromkeys(pot_of))
        members = [[i for i, p in enumerate(pot_of) if p == pot] for pot in order]
        number = {i: n for n, m in enumerate(members) for i in m}
        leads = tuple(max(m, key=lambda i: (self.colours.weights[i], -i)) for m in members)
        # Kept up to date below: a pot keeps apart from the recipe its neighbour got, not from the candidate.
        labs = pots.labs[list(order)].copy()
        recipes, book = [], {}
        for n, (pot, lead) in enumerate(zip(order, leads, strict=True)):
            recipe, known = self._own_recipe(pot)
            if known is not None:
                book[n] = known
            if recipe is None:
                beside = [(labs[number[j]], least) for j, least in _beyond(members[n], self.own.apart)]
                recipe, labs[n] = self._simplest(members[n], beside, self._row(pot))
            off = float(delta_e(labs[n], self.colours.aimed[lead]))
            recipes.append(replace(recipe, delta_e=off, best=min(self.colours.own[lead].best, off)))
        return Shared(tuple(number[i] for i in range(len(pot_of))), tuple(recipes), leads, book)

    def _own_recipe(self, pot: int) -> tuple[Recipe | None, Known | None]:
        """The recipe of an own candidate, and what the book has of it; None for both of one of the table."""
        if pot < len(self.own.recipes):
            return self.own.recipes[pot], None
        known = self.own.known[pot - len(self.own.recipes) :]
        return (known[0].recipe, known[0]) if known else (None, None)

    def _row(self, pot: int) -> int:
        return int(self.rows[pot - len(self.own.recipes) - len(self.own.known)])

    def _simplest(self, members: list[int], beside: Sequence[tuple[Array, float]], taken: int) -> tuple[Recipe, Array]:
        """The recipe of the table to mix for these colours and how it looks; that of the row `taken` where no simpler
        one keeps away from the pots beside it (their looks, and how far)."""
        table, weights = self.table, self.colours.weights[members]
        limits = _limits(self.colours, self.settings)[members]
        rows = np.flatnonzero((table.off[:, members] <= limits + 1e-9).all(axis=1))
        mean = table.off[rows][:, members] @ (weights / weights.sum())
        inside = mean <= mean.min() + self.settings.step
        rows, mean = rows[inside], mean[inside]
        for look, least in beside:
            keeps = delta_e(table.labs[rows], look) >= least - 1e-9
            rows, mean = rows[keeps], mean[keeps]
        row = self._preferred(rows, mean) if len(rows) else taken
        used = table.parts[row] > 0
        return Recipe(table.ingredients[row][used], table.parts[row][used], 0.0, 0.0), table.labs[row]

    def _preferred(self, rows: Indices, mean: Array) -> int:
        """Of these rows the one of the fewest pots to open, coats and parts, then the nearest on the mean."""
        ingredients, parts = self.table.ingredients[rows], self.table.parts[rows]
        effort = self.shelf.effort(ingredients, parts)
        few = np.flatnonzero(effort == effort.min())
        coats = coats_over_white(self.shelf, ingredients[few], parts[few])
        return int(rows[few[np.lexsort((mean[few].round(2), parts[few].sum(axis=1), coats))[0]]])


def _beyond(members: Sequence[int], apart: Sequence[Pair]) -> Iterator[tuple[int, float]]:
    """The colours that meet one of these and must be kept apart from it, and how far."""
    for i, j, least in apart:
        if i in members:
            yield j, least
        if j in members:
            yield i, least


def alike(shelf: Shelf, found: Shared, colours: Colours, hand: NDArray[np.float64], settings: MixSettings) -> Flags:
    """(p, p) whether the second pot may serve for the first: the same recipe; both out of reach, and they come out
    alike; or nearer than a hand keeps either (hand: (p,) CIEDE2000), the second still near enough to the first's aim.
    Never where neighbours drawn apart would come to one."""
    seen = np.array([lab(shelf.seen(r.ingredients[None], r.parts[None]))[0] for r in found.recipes]).reshape(-1, 3)
    aimed = colours.aimed[list(found.leads)]
    near, off = delta_e(seen[:, None], seen), delta_e(aimed[:, None], seen)
    missed = np.array([r.best > settings.reach for r in found.recipes], np.bool_)
    keys = [(r.ingredients.tolist(), r.parts.tolist()) for r in found.recipes]
    same = np.array([[a == b for b in keys] for a in keys], np.bool_).reshape(len(keys), -1)
    loose = (near < np.minimum(hand[:, None], hand)) & (off <= max(settings.reach, settings.plain))
    out = missed[:, None] & missed & (near < DRAWN_ALIKE)
    result: Flags = (same | out | loose) & (settings.within > 0)
    for i, j in colours.neighbours:
        one, other = found.pot_of[i], found.pot_of[j]
        if float(delta_e(colours.drawn[i], colours.drawn[j])) > DRAWN_ALIKE and not same[one, other]:
            result[one, other] = result[other, one] = False
    return result
