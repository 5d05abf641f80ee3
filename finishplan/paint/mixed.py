"""From the pots that were chosen to the mixes that everybody else reads: names, looks, whom they serve."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, hex_from_lab, lab
from finishplan.colour.names import unique_names
from finishplan.paint.asked import Asked
from finishplan.paint.model import Box, Ingredient, Missed, Mix, Paint, Premix
from finishplan.paint.search import Recipe, delta_e_a, drop_error
from finishplan.paint.sharing import Known, Shared
from finishplan.paint.shelf import Shelf
from finishplan.paint.trust import expect_within

Array = NDArray[np.float64]


def mixes_of(asked: Asked, found: Shared) -> Iterator[Mix]:
    """The mix of each pot, lettered in their order."""
    # What the maker named stays: in the job, and before that in the book.
    given = {found.pot_of[n]: name for n, name in asked.names.items()} | {n: k.name for n, k in found.book.items()}
    names = unique_names([_lab(lab(_seen(asked.shelf, r))[0]) for r in found.recipes], given)
    for number, name in enumerate(names):
        mix = _mix(asked, found.recipes[number], asked.first[found.leads[number]])
        if (one := found.book.get(number)) is not None:
            mix = _from_book(mix, one)
        yield _served(asked, found, number, replace(mix, id=letters(number), name=name))


def letters(number: int) -> str:
    """'A', 'B', ... 'Z', 'AA', 'AB' for 0, 1, ... 25, 26, 27."""
    text = ""
    while number >= 0:
        # There is no digit for nothing: after Z comes AA, hence the 1 taken off.
        number, digit = divmod(number, 26)
        text, number = chr(65 + digit) + text, number - 1
    return text


def _mix(asked: Asked, recipe: Recipe, place: int) -> Mix:
    """The mix of a recipe for the colour in that place, before it has letter and name."""
    shelf, drawn, aim = asked.shelf, asked.drawn[place], asked.aimed[place]
    # The main paint first, as a recipe is read.
    order = np.lexsort((recipe.ingredients, -recipe.parts))
    ingredients, parts = recipe.ingredients[order], recipe.parts[order]
    one = ingredients[None], parts[None]
    K, S = shelf.mixed(*one)
    predicted = lab(shelf.seen(*one))[0]
    pot = asked.settings.volume_ml, asked.settings.drop_ml
    # A paint by itself has no drop too many.
    moved = drop_error(shelf, *one, *pot)[0] if len(parts) > 1 else np.zeros(1)
    worst = int(moved.argmax())
    named = tuple(
        _ingredient(shelf, asked.box, i, n) for i, n in zip(ingredients.tolist(), parts.tolist(), strict=True)
    )
    return Mix(
        id="",
        name="",
        drawn=_lab(drawn),
        drawn_hex=hex_from_lab(drawn),
        aim=_lab(aim),
        recipe=named,
        lab=_lab(predicted),
        hex=hex_from_lab(predicted),
        delta_e=recipe.delta_e,
        delta_e_a=float(delta_e_a(shelf, *one, aim)[0]),
        delta_e_drawn=float(delta_e(predicted, drawn)),
        # By the nearest recipe of the box, not by the simpler one that may have been taken.
        reachable=recipe.best <= asked.settings.reach,
        expect_within=expect_within(shelf, ingredients, parts),
        K=K[0],
        S=S[0],
        drop_paint=named[worst].paint if len(parts) > 1 else "",
        drop_delta_e=float(moved[worst]),
        estimate=any(shelf.estimate[shelf.paint[i]] for i in ingredients),
        best_delta_e=recipe.best,
    )


def _from_book(mix: Mix, known: Known) -> Mix:
    """The mix as the book has it: of the colour in which it came out, where that was measured."""
    came = _lab(known.lab)
    off, drawn = (float(delta_e(known.lab, np.array(to))) for to in (mix.aim, mix.drawn))
    return replace(mix, lab=came, hex=hex_from_lab(came), delta_e=off, delta_e_drawn=drawn, from_book=known.name)


def _served(asked: Asked, found: Shared, number: int, mix: Mix) -> Mix:
    """The mix of that pot with the colours that it serves, its own first: how far off each is, and those missed."""
    place = asked.first[found.leads[number]]
    mine = [place, *(i for i, n in enumerate(asked.like) if found.pot_of[n] == number)]
    # Its own colour is the first key, and is told by the mix itself: the others are those behind it.
    served = {hex_from_lab(asked.drawn[i]): asked.aimed[i] for i in mine}
    off = {hex: float(delta_e(np.array(mix.lab), aim)) for hex, aim in served.items()}
    others = tuple(off)[1:]
    # By identity: a shared pot has a recipe of its own, even where the parts come to the same.
    few = any(found.pot_of[n] == number and asked.recipes[n].parts is found.recipes[number].parts for n in asked.spared)
    beyond = _beyond(asked, mine)
    missed = tuple(
        Missed(h, _lab(served[h]), far) for h, far in off.items() if h in beyond and far > asked.settings.reach
    )
    return replace(mix, few_drops=few, merged_hex=others, merged_off=tuple(off[hex] for hex in others), missed=missed)


def _beyond(asked: Asked, places: list[int]) -> set[str]:
    """Of the colours in these places those that no recipe of the box comes near; of a mix that the maker named only
    the one it is mixed to was searched."""
    own = [i for i in places if asked.groups[i] is None or asked.first[asked.like[i]] == i]
    best = {hex_from_lab(asked.drawn[i]): asked.recipes[asked.like[i]].best for i in own}
    return {hex for hex, near in best.items() if near > asked.settings.reach}


def _seen(shelf: Shelf, recipe: Recipe) -> Array:
    return shelf.seen(recipe.ingredients[None], recipe.parts[None])


def _lab(values: Array) -> Lab:
    L, a, b = values.tolist()
    return L, a, b


def _ingredient(shelf: Shelf, box: Box, index: int, parts: int) -> Ingredient:
    paint: Paint = box.paints[int(shelf.paint[index])]
    # Of a neat paint `into` is -1: a base that is not asked for.
    of, base = int(shelf.of[index]), box.paints[int(shelf.into[index])]
    premix = Premix(paint.id, 1, base.id, of, base.name) if of else None
    return Ingredient(paint.id, paint.name, paint.ci, parts, premix)
