"""Recipes of the maker's own: taken as they are, in drops of neat paint."""

from collections.abc import Sequence
from math import gcd

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import NAMED, InputError, nearest
from finishplan.colour.light import delta_e, lab
from finishplan.paint.model import Box
from finishplan.paint.search import Recipe
from finishplan.paint.shelf import Shelf

Drops = Sequence[tuple[str, int]]
"""Paint, by id, Colour Index name or common name, and how many drops of it."""


def given_recipe(drops: Drops, shelf: Shelf, box: Box, aim: NDArray[np.float64], where: str = "[mixes]") -> Recipe:
    """The maker's recipe as one of the shelf; how far it is from the aim, L*a*b* (3,), is told, not judged.

    where: what to call it in messages. Raises InputError for a paint that the box has not, or named twice.
    """
    places = paints_meant(drops, box, where)
    # 4 : 2 is 2 : 1, as on the shelf: so the same recipe is seen to be the same.
    whole = gcd(*(n for _, n in drops))
    ingredients, parts = np.array(places), np.array([n // whole for _, n in drops])
    seen = lab(shelf.seen(ingredients[None], parts[None]))[0]
    return Recipe(ingredients, parts, float(delta_e(seen, aim)), 0.0)


def paints_meant(drops: Drops, box: Box, where: str = "[mixes]") -> list[int]:
    """Which paints of the box a recipe names. Raises InputError for one that it has not, or named twice."""
    places = [_place(paint, box, where) for paint, _ in drops]
    if len(set(places)) < len(places):
        raise InputError("names a paint twice", where=where, cure="name each once")
    return places


def _place(said: str, box: Box, where: str) -> int:
    """Which paint of the box is meant; capitals and the space in 'PW 6' do not matter."""
    plain = "".join(said.lower().split())
    for k, paint in enumerate(box.paints):
        if plain in ("".join(name.lower().split()) for name in (paint.id, paint.ci, paint.name) if name):
            return k
    known = [p.id for p in box.paints] + [p.ci for p in box.paints if p.ci]
    raise InputError(f"no paint '{said[:60]}' in the box", where=where, cure=nearest(said, known, NAMED))
