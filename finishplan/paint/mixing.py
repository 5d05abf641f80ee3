"""From drawn colours to mixes: what to aim at, which colours share a mix, and the recipe of each."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.basics.errors import InputError
from finishplan.colour.film import opaque, saunderson, surface
from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, hex_from_lab, lab, lab_from_xyz, white_xyz, xyz, xyz_from_lab
from finishplan.colour.names import unique_names
from finishplan.paint.hazards import hazards_in
from finishplan.paint.model import Box, Ingredient, Missed, Mix, Paint, Premix
from finishplan.paint.search import Recipe, delta_e_a, drop_error, drops_a_part, search
from finishplan.paint.settings import DROP_ML, NEXT_TO_NOTHING_ML, MixSettings
from finishplan.paint.shelf import Shelf, let_down_steps, make_shelf
from finishplan.paint.trust import expect_within

Array = NDArray[np.float64]

__all__ = ["MixSettings", "aims", "drops_for", "find_mixes", "let_down_steps", "letters", "recipe_json"]


def aims(drawn_labs: ArrayLike, box: Box, settings: MixSettings | None = None) -> Array:
    """L*a*b* (n, 3) to aim at for the drawn ones (n, 3): black point compensation.

    XYZ is scaled and shifted so that the screen's white lands on the box's white paint and its black on the box's
    black (where it has none: on its lightest and its darkest paint), under the finish: as ISO 18619 scales it (from
    memory), but with both paints' own tint. Where they lie less than 10 of Y apart, the drawn colours are the aim.
    Raises InputError for an unknown finish.
    """
    settings = settings or MixSettings()
    k1, k2 = surface(settings.finish, box.table.k1, box.table.k2)
    masstones = xyz(saunderson(opaque([p.K for p in box.paints], [p.S for p in box.paints]), k1, k2))
    ids = [p.id for p in box.paints]
    light = masstones[ids.index(box.white) if box.white else int(masstones[:, 1].argmax())]
    dark = masstones[ids.index(box.black) if box.black else int(masstones[:, 1].argmin())]
    if light[1] - dark[1] < 10:
        return np.asarray(drawn_labs, np.float64).reshape(-1, 3)
    drawn = xyz_from_lab(np.asarray(drawn_labs, np.float64).reshape(-1, 3))
    return lab_from_xyz(dark + (light - dark) * drawn / white_xyz())


def find_mixes(
    drawn: Sequence[Lab],
    box: Box,
    settings: MixSettings | None = None,
    groups: Sequence[str | None] | None = None,
    screen: bool = True,
    needs: Sequence[float] | None = None,
) -> tuple[tuple[Mix, ...], tuple[int, ...]]:
    """The mixes for drawn colours, L*a*b* D65, and for each colour the index of its mix.

    Colours closer than settings.merge share the mix of the most frequent of them, and so do colours out of reach whose
    mixes come out that close; colours of the same name in `groups` share one of that name whatever their distance.
    screen: the colours are those of a screen, see `aims`; False: they are aimed at as they are. needs: about how many
    ml one casting takes of each colour; a mix of which it takes next to nothing has few drops rather than the last
    step of likeness. Raises InputError for a colour that is no number and for more recipes than can be searched.
    """
    settings = settings or MixSettings()
    colours = np.asarray(drawn, np.float64).reshape(-1, 3)
    if not np.isfinite(colours).all():
        raise InputError("a colour is not a number", cure="give L, a and b as numbers")
    aimed = aims(colours, box, settings) if screen else colours
    groups = groups or [None] * len(aimed)
    mix_of, first = shared(aimed, groups, settings.merge)
    shelf = make_shelf(box, settings)
    recipes = search(shelf, aimed[list(first)], settings)
    few = set[int]()
    if needs is not None:
        recipes, few = _fewer_drops(shelf, aimed[list(first)], settings, recipes, _needed(mix_of, needs))
    named = {m for m, name in zip(mix_of, groups, strict=True) if name is not None}
    alike = Counter(_key(r) for r in recipes)
    missed = [n for n, r in enumerate(recipes) if (r.best > settings.reach or alike[_key(r)] > 1) and n not in named]
    mix_of, kept = joined([_lab(lab(_seen(shelf, r))[0]) for r in recipes], missed, mix_of, settings.merge)
    recipes, first = tuple(recipes[n] for n in kept), tuple(first[n] for n in kept)
    few = {i for i, n in enumerate(kept) if n in few}
    told = {m: name for m, name in zip(mix_of, groups, strict=True) if name is not None}
    names = unique_names([_lab(lab(_seen(shelf, r))[0]) for r in recipes], told)
    mixes = []
    for number, (recipe, at) in enumerate(zip(recipes, first, strict=True)):
        others = [hex_from_lab(colours[i]) for i, m in enumerate(mix_of) if m == number and i != at]
        merged = tuple(h for h in dict.fromkeys(others) if h != hex_from_lab(colours[at]))
        mix = _mix(number, names[number], recipe, shelf, box, colours[at], aimed[at], merged, settings)
        served = {hex_from_lab(colours[i]): aimed[i] for i, m in enumerate(mix_of) if m == number}
        mixes.append(replace(mix, few_drops=number in few, missed=_missed(mix, served, settings.reach)))
    return with_additions(tuple(mixes), box, settings), mix_of


def _missed(mix: Mix, served: Mapping[str, Array], reach: float) -> tuple[Missed, ...]:
    """Of the colours that the mix serves, hex -> aim, those it does not reach."""
    if mix.reachable:
        return ()
    found = (Missed(hex, _lab(aim), float(delta_e(np.array(mix.lab), aim))) for hex, aim in served.items())
    return tuple(one for one in found if one.delta_e > reach)


def _needed(mix_of: Sequence[int], needs: Sequence[float]) -> list[float]:
    """What one casting takes of each mix."""
    total = [0.0] * (max(mix_of) + 1)
    for m, ml in zip(mix_of, needs, strict=True):
        total[m] += ml
    return total


def _fewer_drops(
    shelf: Shelf, aimed: Array, settings: MixSettings, recipes: tuple[Recipe, ...], needed: Sequence[float]
) -> tuple[tuple[Recipe, ...], set[int]]:
    """The recipes, those of next to nothing chosen anew for the fewest drops within reach, and which changed so."""
    small = [n for n, r in enumerate(recipes) if needed[n] < NEXT_TO_NOTHING_ML and r.best <= settings.reach]
    small = [n for n in small if len(recipes[n].parts) > 1]
    if not small:
        return recipes, set()
    found = search(shelf, aimed[small], replace(settings, step=max(settings.step, settings.reach), few_drops=True))
    new = {n: r for n, r in zip(small, found, strict=True) if _drops(shelf, r) < _drops(shelf, recipes[n])}
    return tuple(new.get(n, r) for n, r in enumerate(recipes)), set(new)


def _drops(shelf: Shelf, recipe: Recipe) -> int:
    return int(shelf.drops(recipe.ingredients[None], recipe.parts[None])[0])


def with_additions(mixes: tuple[Mix, ...], box: Box, settings: MixSettings) -> tuple[Mix, ...]:
    """The mixes, each unreachable one with the paint of the table that would bring it within reach, if one does."""
    if all(m.reachable for m in mixes):
        return mixes
    from finishplan.paint.additions import paint_to_add

    missed = [m for m in mixes if not m.reachable]
    found = dict(zip([m.id for m in missed], paint_to_add([m.aim for m in missed], box, settings), strict=True))
    names = {p.id: p.name for p in box.table.paints}
    return tuple(replace(m, add_paint=(id := found.get(m.id)), add_name=names[id] if id else "") for m in mixes)


def shared(aimed: Array, groups: Sequence[str | None], merge: float) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """For each colour the number of its mix, and for each mix the colour it is mixed to.

    aimed: (n, 3) L*a*b*. The most frequent colour is taken first, then by L*a*b*, so that the order in which colours
    come decides nothing but the numbers. A colour joins the first mix all of whose colours are nearer than `merge`
    (CIEDE2000); named ones join the mix of that name, and a mix with a name takes no other.
    """
    colours = [tuple(row) for row in aimed.tolist()]
    near = delta_e(aimed[:, None], aimed[None]) < merge
    near |= (aimed[:, None] == aimed[None]).all(axis=-1)
    taken = sorted(range(len(colours)), key=lambda i: (groups[i] or "", -colours.count(colours[i]), colours[i]))
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
    predicted: Sequence[Lab], missed: Sequence[int], mix_of: Sequence[int], merge: float
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The mixes with those of colours out of reach (`missed`) that come out nearer than `merge` made one: for each
    colour the number of its mix, and for each mix its number before. That of the most colours stays, then the first by
    L*a*b*."""
    home = list(range(len(predicted)))
    stay: list[int] = []
    for n in sorted(missed, key=lambda n: (-mix_of.count(n), predicted[n], mix_of.index(n))):
        home[n] = next((h for h in stay if float(delta_e(predicted[n], predicted[h])) < merge), n)
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
    number: int,
    name: str,
    recipe: Recipe,
    shelf: Shelf,
    box: Box,
    drawn: Array,
    aim: Array,
    merged: tuple[str, ...],
    settings: MixSettings,
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
        id=letters(number),
        name=name,
        drawn=_lab(drawn),
        drawn_hex=hex_from_lab(drawn),
        aim=_lab(aim),
        recipe=named,
        lab=_lab(predicted),
        hex=hex_from_lab(predicted),
        delta_e=recipe.delta_e,
        delta_e_a=float(delta_e_a(shelf, *one, aim)[0]),
        reachable=recipe.best <= settings.reach,
        expect_within=expect_within(shelf, ingredients, parts),
        K=K[0],
        S=S[0],
        drop_paint=named[worst].paint if len(parts) > 1 else "",
        drop_delta_e=float(moved[worst]),
        estimate=any(shelf.estimate[shelf.paint[i]] for i in ingredients),
        merged_hex=merged,
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


def drops_for(mix: Mix, volume_ml: float) -> tuple[int, ...]:
    """Whole drops of each ingredient of the mix for a pot of at least `volume_ml`; none is less than one drop.

    Raises InputError for a volume that is not above 0 and at most ten thousand litres.
    """
    if not 0 < volume_ml <= 1e7:
        raise InputError(f"a volume of {volume_ml:g} ml", cure="give millilitres, above 0 and at most 10 million")
    parts = np.array([i.parts for i in mix.recipe])
    return tuple((parts * drops_a_part(parts[None], volume_ml)[0]).tolist())


def recipe_json(mix: Mix, volume_ml: float, box: Box) -> dict[str, Any]:
    """The mix as the JSON of `finishplan mix`: drops and ml make a pot of at least `volume_ml`; hazards: those of its
    paints, by the box they come from. Raises InputError as `drops_for`."""
    rows = []
    for ingredient, drops in zip(mix.recipe, drops_for(mix, volume_ml), strict=True):
        amount = {"parts": ingredient.parts, "drops": drops, "ml": round(drops * DROP_ML, 2)}
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
        "reachable": mix.reachable,
        "expect_within": math.ceil(mix.expect_within * 10) / 10,
        "one_drop_more": {"paint": mix.drop_paint, "delta_e": round(mix.drop_delta_e, 2)},
        "estimate": mix.estimate,
        "add_paint": mix.add_paint,
        "merged": list(mix.merged_hex),
        "hazards": list(hazards_in([mix], box)),
    }
