"""From drawn colours to mixes: what to aim at, which colours share a mix, and the recipe of each."""

import math
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, hex_from_lab, lab
from finishplan.colour.names import unique_names
from finishplan.paint.aim import aims
from finishplan.paint.book import BookMix, known_mixes
from finishplan.paint.given import Drops, given_recipe
from finishplan.paint.hazards import hazards_in
from finishplan.paint.model import Box, Ingredient, Missed, Mix, Paint, Premix
from finishplan.paint.search import Recipe, delta_e_a, drop_error, drops_a_part, search
from finishplan.paint.settings import DROP_ML, MixSettings
from finishplan.paint.sharing import Colours, Known, Shared, alike, share
from finishplan.paint.shelf import Shelf, let_down_steps, make_shelf
from finishplan.paint.sparing import sparing
from finishplan.paint.trust import expect_within, hand_keeps

Array = NDArray[np.float64]

_LEAST_WEIGHT = 1e-6
"""Of a colour of which next to nothing is needed: it must be served all the same."""

__all__ = [
    "MixChoice",
    "MixSettings",
    "Wishes",
    "aims",
    "choose",
    "drops_for",
    "find_mixes",
    "let_down_steps",
    "letters",
    "recipe_json",
]


@dataclass(frozen=True)
class Wishes:
    """What is said of each drawn colour beside its look, all as long as the colours. groups: colours of one name share
    a mix of that name, whatever their distance. needs: about how many ml one casting takes of it; of a mix of which
    it takes little few drops are asked rather than the last step of likeness, and a shared mix is that of the colour
    that takes the most. leads: group -> place of the colour that its mix is mixed to instead. recipes: group -> the
    maker's own recipe of it, taken as it is. neighbours: pairs of places whose areas meet; book: the maker's proven
    mixes, taken where they serve; curve: whether to count the pots of other tolerances too."""

    groups: Sequence[str | None] | None = None
    needs: Sequence[float] | None = None
    leads: Mapping[str, int] = field(default_factory=dict)
    recipes: Mapping[str, Drops] = field(default_factory=dict)
    neighbours: Sequence[tuple[int, int]] = ()
    book: Sequence[BookMix] = ()
    curve: bool = False


@dataclass(frozen=True)
class MixChoice:
    """mix_of: for each drawn colour the index of its mix; least: so many mixes are needed at any rate; curve:
    (tolerance, pots) pairs, where asked for; turns: numbers of castings from which a mix of little paint is made
    otherwise, so that between two of them all castings have the same mixes."""

    mixes: tuple[Mix, ...]
    mix_of: tuple[int, ...]
    least: int
    curve: tuple[tuple[float, int], ...] = ()
    turns: tuple[int, ...] = ()


def find_mixes(
    drawn: Sequence[Lab],
    box: Box,
    settings: MixSettings | None = None,
    wishes: Wishes | None = None,
    *,
    screen: bool = True,
) -> tuple[tuple[Mix, ...], tuple[int, ...]]:
    """The mixes for drawn colours, L*a*b* D65, and for each colour the index of its mix, see `choose`."""
    found = choose(drawn, box, settings, wishes, screen=screen)
    return found.mixes, found.mix_of


def choose(
    drawn: Sequence[Lab],
    box: Box,
    settings: MixSettings | None = None,
    wishes: Wishes | None = None,
    *,
    screen: bool = True,
) -> MixChoice:
    """The mixes for drawn colours, L*a*b* D65: the fewest pots that lie within settings.within of each, see `share`.

    Colours whose mixes come out closer than a hand can keep them apart share one too. screen: the colours are those of
    a screen, see `aims`; False: they are aimed at as they are. Raises InputError for a colour that is no number and
    for more recipes than can be searched.
    """
    settings, wishes = settings or MixSettings(), wishes or Wishes()
    colours = np.asarray(drawn, np.float64).reshape(-1, 3)
    if not np.isfinite(colours).all():
        raise InputError("a colour is not a number", cure="give L, a and b as numbers")
    if not len(colours):
        return MixChoice((), (), 0)
    aimed = aims(colours, box, settings) if screen else colours
    groups = wishes.groups or [None] * len(aimed)
    weights = wishes.needs if wishes.needs is not None else [1.0] * len(aimed)
    like, first = gathered(aimed, groups, weights, wishes.leads)
    told = {n: name for n, name in zip(like, groups, strict=True) if name is not None}
    shelf = make_shelf(box, settings)
    recipes, spared, turns = _own_recipes(shelf, box, aimed[list(first)], _sums(like, weights), told, wishes, settings)
    meet = {(like[i], like[j]) for i, j in wishes.neighbours if like[i] != like[j]}
    at = Colours(
        aimed[list(first)],
        colours[list(first)],
        np.maximum(_sums(like, weights), _LEAST_WEIGHT),
        recipes,
        frozenset(told),
        frozenset((min(pair), max(pair)) for pair in meet),
    )
    found = share(shelf, at, settings, known_mixes(wishes.book, shelf, box), curve=wishes.curve)
    found = _without_twins(shelf, found, at, frozenset(told), settings)
    mix_of, leads = tuple(found.pot_of[n] for n in like), tuple(first[n] for n in found.leads)
    given = {found.pot_of[n]: name for n, name in told.items()} | {n: k.name for n, k in found.book.items()}
    names = unique_names([_lab(lab(_seen(shelf, r))[0]) for r in found.recipes], given)
    mixes = []
    for number, (recipe, place) in enumerate(zip(found.recipes, leads, strict=True)):
        mix = _mix(letters(number), names[number], recipe, shelf, box, colours[place], aimed[place], settings)
        if (one := found.book.get(number)) is not None:
            mix = _from_book(mix, one)
        mine = [i for i, m in enumerate(mix_of) if m == number]
        served = {hex_from_lab(colours[i]): aimed[i] for i in [place, *mine]}
        few = any(found.pot_of[n] == number and recipes[n].parts is recipe.parts for n in spared)
        own = [i for i in [*mine, place] if groups[i] is None or first[like[i]] == i]
        nearest = {hex_from_lab(colours[i]): recipes[like[i]].best for i in own}
        missed = {hex for hex, best in nearest.items() if best > settings.reach}
        mixes.append(_served(replace(mix, few_drops=few), served, missed, settings.reach))
    made = with_additions(tuple(mixes), box, settings)
    return MixChoice(made, mix_of, found.least, found.curve, turns)


def _own_recipes(
    shelf: Shelf,
    box: Box,
    aimed: Array,
    needs: Sequence[float],
    told: Mapping[int, str],
    wishes: Wishes,
    settings: MixSettings,
) -> tuple[tuple[Recipe, ...], set[int], tuple[int, ...]]:
    """The recipe of each colour (n, 3) by itself, the maker's own where there is one; the places of the spared ones;
    numbers of castings, see `sparing`."""
    recipes, spared, turns = search(shelf, aimed, settings), set[int](), tuple[int, ...]()
    if wishes.needs is not None:
        recipes, spared, turns = sparing(shelf, aimed, settings, recipes, needs)
    own = {n: name for n, name in told.items() if name in wishes.recipes}
    recipes = tuple(
        given_recipe(wishes.recipes[own[n]], shelf, box, aimed[n], f"[mixes.{own[n]}] recipe") if n in own else recipe
        for n, recipe in enumerate(recipes)
    )
    return recipes, spared - own.keys(), turns


def _without_twins(
    shelf: Shelf, found: Shared, colours: Colours, named: frozenset[int], settings: MixSettings
) -> Shared:
    """The pots without those for which another serves, see `alike`; those with a name of the maker's stay."""
    if not found.recipes:
        return found
    hand = np.array([hand_keeps(shelf, r.ingredients, r.parts) for r in found.recipes])
    twins = alike(shelf, found, colours, hand, settings)
    closed = {found.pot_of[n] for n in named}
    pot_of, kept = joined(twins, closed, _sums(found.pot_of, colours.weights.tolist()), found.pot_of)
    book = {n: found.book[old] for n, old in enumerate(kept) if old in found.book}
    recipes, leads = tuple(found.recipes[n] for n in kept), tuple(found.leads[n] for n in kept)
    return replace(found, pot_of=pot_of, recipes=recipes, leads=leads, book=book, least=min(found.least, len(kept)))


def _from_book(mix: Mix, known: Known) -> Mix:
    """The mix as the book has it: of the colour in which it came out, where that was measured."""
    came = _lab(known.lab)
    off, drawn = (float(delta_e(known.lab, np.array(to))) for to in (mix.aim, mix.drawn))
    return replace(mix, lab=came, hex=hex_from_lab(came), delta_e=off, delta_e_drawn=drawn, from_book=known.name)


def _served(mix: Mix, served: Mapping[str, Array], beyond: Container[str], reach: float) -> Mix:
    """The mix with the colours that it serves, hex -> aim, its own first: how far off each is, and those missed.
    beyond: those that no recipe of the box comes near."""
    off = {hex: float(delta_e(np.array(mix.lab), aim)) for hex, aim in served.items()}
    others = tuple(off)[1:]
    out = (hex for hex, far in off.items() if hex in beyond and far > reach)
    missed = tuple(Missed(hex, _lab(served[hex]), off[hex]) for hex in out)
    return replace(mix, merged_hex=others, merged_off=tuple(off[hex] for hex in others), missed=missed)


def _sums(mix_of: Sequence[int], weights: Sequence[float]) -> list[float]:
    """The weights of each mix's colours together."""
    total = [0.0] * (max(mix_of, default=-1) + 1)
    for m, weight in zip(mix_of, weights, strict=True):
        total[m] += weight
    return total


def with_additions(mixes: tuple[Mix, ...], box: Box, settings: MixSettings) -> tuple[Mix, ...]:
    """The mixes, each unreachable one with the paint of the table that would bring it within reach, if one does."""
    if all(m.reachable for m in mixes):
        return mixes
    from finishplan.paint.additions import paint_to_add

    missed = [m for m in mixes if not m.reachable]
    found = dict(zip([m.id for m in missed], paint_to_add([m.aim for m in missed], box, settings), strict=True))
    names = {p.id: p.name for p in box.table.paints}
    return tuple(replace(m, add_paint=(id := found.get(m.id)), add_name=names[id] if id else "") for m in mixes)


def gathered(
    aimed: Array,
    groups: Sequence[str | None],
    weights: Sequence[float],
    leads: Mapping[str, int] | None = None,
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """For each colour the number of its like: the same colour, or the same name; and for each the colour that stands
    for it, the named lead, else that of the most weight, then by L*a*b*, so that the order in which colours come
    decides nothing but the numbers.

    aimed: (n, 3) L*a*b*. leads: name -> place of the colour that its mix is mixed to.
    """
    colours = [tuple(row) for row in aimed.tolist()]
    keys = [(name, colour if name is None else None) for name, colour in zip(groups, colours, strict=True)]
    number = {key: n for n, key in enumerate(dict.fromkeys(keys))}
    heavy: dict[tuple[str | None, tuple[float, ...]], float] = {}
    for name, colour, weight in zip(groups, colours, weights, strict=True):
        heavy[name, colour] = heavy.get((name, colour), 0.0) + weight
    lead = {(leads or {}).get(name) for name in groups if name is not None}
    first: dict[int, int] = {}
    for i in sorted(range(len(keys)), key=lambda i: (i not in lead, -heavy[groups[i], colours[i]], colours[i])):
        first.setdefault(number[keys[i]], i)
    return tuple(number[key] for key in keys), tuple(first[n] for n in range(len(number)))


def joined(
    alike: NDArray[np.bool_], named: Container[int], weights: Sequence[float], mix_of: Sequence[int]
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The mixes with those for which another serves (`alike`, see `_alike`) given up, named ones never: for each colour
    the number of its mix, and for each mix its number before. Those of the most weight stay, then the first."""
    home = list(range(len(alike)))
    stay: list[int] = []
    for n in sorted((n for n in home if n not in named), key=lambda n: (-weights[n], mix_of.index(n))):
        home[n] = next((h for h in stay if alike[n, h]), n)
        if home[n] == n:
            stay.append(n)
    kept = tuple(dict.fromkeys(home[m] for m in mix_of))
    number = {n: i for i, n in enumerate(kept)}
    return tuple(number[home[m]] for m in mix_of), kept


def letters(number: int) -> str:
    """'A', 'B', ... 'Z', 'AA', 'AB' for 0, 1, ... 25, 26, 27."""
    text = ""
    while number >= 0:
        number, digit = divmod(number, 26)
        text, number = chr(65 + digit) + text, number - 1
    return text


def _mix(
    id: str, name: str, recipe: Recipe, shelf: Shelf, box: Box, drawn: Array, aim: Array, settings: MixSettings
) -> Mix:
    order = np.lexsort((recipe.ingredients, -recipe.parts))
    ingredients, parts = recipe.ingredients[order], recipe.parts[order]
    one = ingredients[None], parts[None]
    K, S = shelf.mixed(*one)
    predicted = lab(shelf.seen(*one))[0]
    moved = drop_error(shelf, *one, settings.volume_ml)[0] if len(parts) > 1 else np.zeros(1)
    worst = int(moved.argmax())
    named = tuple(_ingredient(shelf, box, i, n) for i, n in zip(ingredients.tolist(), parts.tolist(), strict=True))
    return Mix(
        id=id,
        name=name,
        drawn=_lab(drawn),
        drawn_hex=hex_from_lab(drawn),
        aim=_lab(aim),
        recipe=named,
        lab=_lab(predicted),
        hex=hex_from_lab(predicted),
        delta_e=recipe.delta_e,
        delta_e_a=float(delta_e_a(shelf, *one, aim)[0]),
        delta_e_drawn=float(delta_e(predicted, drawn)),
        reachable=recipe.best <= settings.reach,
        expect_within=expect_within(shelf, ingredients, parts),
        K=K[0],
        S=S[0],
        drop_paint=named[worst].paint if len(parts) > 1 else "",
        drop_delta_e=float(moved[worst]),
        estimate=any(shelf.estimate[shelf.paint[i]] for i in ingredients),
        best_delta_e=recipe.best,
    )


def _key(recipe: Recipe) -> tuple[tuple[int, ...], tuple[int, ...]]:
    return tuple(recipe.ingredients.tolist()), tuple(recipe.parts.tolist())


def _seen(shelf: Shelf, recipe: Recipe) -> Array:
    return shelf.seen(recipe.ingredients[None], recipe.parts[None])


def _lab(values: Array) -> Lab:
    L, a, b = values.tolist()
    return L, a, b


def _ingredient(shelf: Shelf, box: Box, index: int, parts: int) -> Ingredient:
    paint: Paint = box.paints[int(shelf.paint[index])]
    of, base = int(shelf.of[index]), box.paints[int(shelf.into[index])]
    premix = Premix(paint.id, 1, base.id, of, base.name) if of else None
    return Ingredient(paint.id, paint.name, paint.ci, parts, premix)


def drops_for(mix: Mix, volume_ml: float, drop_ml: float = DROP_ML) -> tuple[int, ...]:
    """Whole drops of each ingredient of the mix for a pot of at least `volume_ml`; none is less than one drop.

    Raises InputError for a volume that is not above 0 and at most ten thousand litres.
    """
    if not 0 < volume_ml <= 1e7:
        raise InputError(f"a volume of {volume_ml:g} ml", cure="give millilitres, above 0 and at most 10 million")
    parts = np.array([i.parts for i in mix.recipe])
    return tuple((parts * drops_a_part(parts[None], volume_ml, drop_ml)[0]).tolist())


def recipe_json(mix: Mix, volume_ml: float, box: Box, drop_ml: float = DROP_ML) -> dict[str, Any]:
    """The mix as the JSON of `finishplan mix`: drops and ml make a pot of at least `volume_ml`; hazards: those of its
    paints, by the box they come from. Raises InputError as `drops_for`."""
    rows = []
    for ingredient, drops in zip(mix.recipe, drops_for(mix, volume_ml, drop_ml), strict=True):
        amount = {"parts": ingredient.parts, "drops": drops, "ml": round(drops * drop_ml, 2)}
        if ingredient.premix is None:
            rows.append({"paint": ingredient.paint, "ci": ingredient.ci, **amount})
        else:
            p = ingredient.premix
            let_down = {"paint": p.paint, "parts": p.parts, "into": p.into, "of": p.of}
            rows.append({"premix": let_down, "ci": ingredient.ci, **amount})
    return {
        "id": mix.id,
        "name": mix.name,
        "target": mix.drawn_hex,
        "aim_lab": [round(v, 2) for v in mix.aim],
        "recipe": rows,
        "lab": [round(v, 2) for v in mix.lab],
        "hex": mix.hex,
        "delta_e": round(mix.delta_e, 2),
        "delta_e_a": round(mix.delta_e_a, 2),
        "delta_e_drawn": round(mix.delta_e_drawn, 2),
        "reachable": mix.reachable,
        "expect_within": math.ceil(mix.expect_within * 10) / 10,
        "one_drop_more": {"paint": mix.drop_paint, "delta_e": round(mix.drop_delta_e, 2)},
        "estimate": mix.estimate,
        "add_paint": mix.add_paint,
        "book": mix.from_book,
        "merged": list(mix.merged_hex),
        "hazards": list(hazards_in([mix], box)),
    }
