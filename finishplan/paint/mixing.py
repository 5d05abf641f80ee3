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
from finishplan.paint.given import Drops, given_recipe
from finishplan.paint.hazards import hazards_in
from finishplan.paint.model import Box, Ingredient, Missed, Mix, Paint, Premix
from finishplan.paint.search import Recipe, delta_e_a, drop_error, drops_a_part, search
from finishplan.paint.settings import DROP_ML, MixSettings
from finishplan.paint.shelf import Shelf, let_down_steps, make_shelf
from finishplan.paint.sparing import sparing
from finishplan.paint.trust import expect_within, hand_keeps

Array = NDArray[np.float64]

__all__ = ["MixSettings", "Wishes", "aims", "drops_for", "find_mixes", "let_down_steps", "letters", "recipe_json"]


@dataclass(frozen=True)
class Wishes:
    """What is said of each drawn colour beside its look, all as long as the colours. groups: colours of one name share
    a mix of that name, whatever their distance. needs: about how many ml one casting takes of it; of a mix of which
    it takes little few drops are asked rather than the last step of likeness, and a shared mix is that of the colour
    that takes the most. leads: group -> place of the colour that its mix is mixed to instead. recipes: group -> the
    maker's own recipe of it, taken as it is."""

    groups: Sequence[str | None] | None = None
    needs: Sequence[float] | None = None
    leads: Mapping[str, int] = field(default_factory=dict)
    recipes: Mapping[str, Drops] = field(default_factory=dict)


def find_mixes(
    drawn: Sequence[Lab],
    box: Box,
    settings: MixSettings | None = None,
    wishes: Wishes | None = None,
    *,
    screen: bool = True,
) -> tuple[tuple[Mix, ...], tuple[int, ...]]:
    """The mixes for drawn colours, L*a*b* D65, and for each colour the index of its mix.

    Colours closer than settings.merge share a mix, and so do colours whose mixes come out closer than a hand can keep
    them apart. screen: the colours are those of a screen, see `aims`; False: they are aimed at as they are. Raises
    InputError for a colour that is no number and for more recipes than can be searched.
    """
    settings, wishes = settings or MixSettings(), wishes or Wishes()
    colours = np.asarray(drawn, np.float64).reshape(-1, 3)
    if not np.isfinite(colours).all():
        raise InputError("a colour is not a number", cure="give L, a and b as numbers")
    aimed = aims(colours, box, settings) if screen else colours
    groups = wishes.groups or [None] * len(aimed)
    weights = wishes.needs if wishes.needs is not None else [1.0] * len(aimed)
    mix_of, first = shared(aimed, groups, settings.merge, weights, wishes.leads)
    shelf = make_shelf(box, settings)
    recipes = search(shelf, aimed[list(first)], settings)
    spared = set[int]()
    if wishes.needs is not None:
        recipes, spared = sparing(shelf, aimed[list(first)], settings, recipes, _sums(mix_of, weights))
    own = {m: name for m, name in zip(mix_of, groups, strict=True) if name in wishes.recipes}
    recipes = tuple(
        given_recipe(wishes.recipes[name], shelf, box, aimed[first[n]], f"[mixes.{name}] recipe")
        if (name := own.get(n)) is not None
        else recipe
        for n, recipe in enumerate(recipes)
    )
    spared -= own.keys()
    named = {m for m, name in zip(mix_of, groups, strict=True) if name is not None}
    alike = _alike(shelf, recipes, aimed[list(first)], settings)
    mix_of, kept = joined(alike, named, _sums(mix_of, weights), mix_of)
    recipes, first = tuple(recipes[n] for n in kept), tuple(first[n] for n in kept)
    spared = {i for i, n in enumerate(kept) if n in spared}
    told = {m: name for m, name in zip(mix_of, groups, strict=True) if name is not None}
    names = unique_names([_lab(lab(_seen(shelf, r))[0]) for r in recipes], told)
    mixes = []
    for number, (recipe, at) in enumerate(zip(recipes, first, strict=True)):
        mix = _mix(letters(number), names[number], recipe, shelf, box, colours[at], aimed[at], settings)
        mine = [i for i, m in enumerate(mix_of) if m == number]
        served = {hex_from_lab(colours[i]): aimed[i] for i in [at, *mine]}
        mixes.append(_served(replace(mix, few_drops=number in spared), served, settings.reach))
    return with_additions(tuple(mixes), box, settings), mix_of


def _served(mix: Mix, served: Mapping[str, Array], reach: float) -> Mix:
    """The mix with the colours that it serves, hex -> aim, its own first: how far off each is, and those missed."""
    off = {hex: float(delta_e(np.array(mix.lab), aim)) for hex, aim in served.items()}
    others = tuple(off)[1:]
    missed = (Missed(hex, _lab(served[hex]), far) for hex, far in off.items() if far > reach and not mix.reachable)
    return replace(mix, merged_hex=others, merged_off=tuple(off[hex] for hex in others), missed=tuple(missed))


def _sums(mix_of: Sequence[int], weights: Sequence[float]) -> list[float]:
    """The weights of each mix's colours together."""
    total = [0.0] * (max(mix_of, default=-1) + 1)
    for m, weight in zip(mix_of, weights, strict=True):
        total[m] += weight
    return total


def _alike(shelf: Shelf, recipes: Sequence[Recipe], aimed: Array, settings: MixSettings) -> NDArray[np.bool_]:
    """(n, n) whether the second mix may serve for the first: the same recipe; both out of reach, and they come out
    nearer than merge; or nearer than a hand keeps either, the second still near enough to the first's aim."""
    if not recipes:
        return np.zeros((0, 0), np.bool_)
    seen = np.stack([lab(_seen(shelf, r))[0] for r in recipes])
    apart, off = delta_e(seen[:, None], seen), delta_e(aimed[:, None], seen)
    hand = np.array([hand_keeps(shelf, r.ingredients, r.parts) for r in recipes])
    missed = np.array([r.best > settings.reach for r in recipes])
    same = np.array([[_key(a) == _key(b) for b in recipes] for a in recipes])
    loose = (apart < np.minimum(hand[:, None], hand)) & (off <= max(settings.reach, settings.plain))
    out = missed[:, None] & missed & (apart < settings.merge)
    result: NDArray[np.bool_] = (same | out | loose) & (settings.merge > 0)
    return result


def with_additions(mixes: tuple[Mix, ...], box: Box, settings: MixSettings) -> tuple[Mix, ...]:
    """The mixes, each unreachable one with the paint of the table that would bring it within reach, if one does."""
    if all(m.reachable for m in mixes):
        return mixes
    from finishplan.paint.additions import paint_to_add

    missed = [m for m in mixes if not m.reachable]
    found = dict(zip([m.id for m in missed], paint_to_add([m.aim for m in missed], box, settings), strict=True))
    names = {p.id: p.name for p in box.table.paints}
    return tuple(replace(m, add_paint=(id := found.get(m.id)), add_name=names[id] if id else "") for m in mixes)


def shared(
    aimed: Array,
    groups: Sequence[str | None],
    merge: float,
    weights: Sequence[float] | None = None,
    leads: Mapping[str, int] | None = None,
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """For each colour the number of its mix, and for each mix the colour it is mixed to.

    aimed: (n, 3) L*a*b*. The colour of the most weight (1 each if not given) is taken first, then by L*a*b*, so that
    the order in which colours come decides nothing but the numbers. A colour joins the first mix all of whose colours
    are nearer than `merge` (CIEDE2000); named ones join the mix of that name, and a mix with a name takes no other.
    leads: name -> place of the colour that its mix is mixed to, instead of that of the most weight.
    """
    colours = [tuple(row) for row in aimed.tolist()]
    heavy: dict[tuple[str, tuple[float, ...]], float] = {}
    keys = [(name or "", colour) for name, colour in zip(groups, colours, strict=True)]
    for key, weight in zip(keys, weights or [1.0] * len(keys), strict=True):
        heavy[key] = heavy.get(key, 0.0) + weight
    near = delta_e(aimed[:, None], aimed[None]) < merge
    near |= (aimed[:, None] == aimed[None]).all(axis=-1)
    lead = {(leads or {}).get(name) for name in groups if name is not None}
    taken = sorted(range(len(colours)), key=lambda i: (keys[i][0], i not in lead, -heavy[keys[i]], colours[i]))
    mixes: list[list[int]] = []
    named: dict[str, list[int]] = {}
    for i in taken:
        name = groups[i]
        if name is not None:
            home = named.get(name)
        else:
            home = next((m for m in mixes if near[m, i].all() and m not in named.values()), None)
        if home is None:
            home = []
            mixes.append(home)
            if name is not None:
                named[name] = home
        home.append(i)
    mixes.sort(key=min)
    number = {i: n for n, members in enumerate(mixes) for i in members}
    return tuple(number[i] for i in range(len(colours))), tuple(members[0] for members in mixes)


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
        "merged": list(mix.merged_hex),
        "hazards": list(hazards_in([mix], box)),
    }
