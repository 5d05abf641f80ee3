"""Simpler recipes where little is needed: nobody lets down a paint in two steps for the glint of an eye."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from finishplan.paint.search import Recipe, search
from finishplan.paint.settings import LEAST_PREMIXED_ML, NEXT_TO_NOTHING_ML, UNMIXED_WITHIN, MixSettings
from finishplan.paint.shelf import Shelf

Array = NDArray[np.float64]


def sparing(
    shelf: Shelf, aimed: Array, settings: MixSettings, recipes: tuple[Recipe, ...], needed: Sequence[float]
) -> tuple[tuple[Recipe, ...], set[int], tuple[int, ...]]:
    """The recipes, with simpler ones where little is needed (`best` stays: a simpler one puts nothing out of reach);
    the places of those that changed; the numbers of castings from which another is left as it is.

    aimed: (n, 3) L*a*b*; needed: ml that one casting takes. Where one takes next to nothing, the fewest drops within
    reach; where the pot for all castings holds less than LEAST_PREMIXED_ML, no pre-mix if the best without one lies
    within UNMIXED_WITHIN.
    """
    specks = [
        n
        for n, r in enumerate(recipes)
        # Out of reach, the fewest drops would only be farther off still.
        if needed[n] < NEXT_TO_NOTHING_ML and r.best <= settings.reach and len(r.parts) > 1
    ]
    little = [n for n in range(len(recipes)) if _little(needed[n], settings.castings)]
    premixed = [n for n, r in enumerate(recipes) if (shelf.of[r.ingredients] > 0).any()]
    made = [n for n in premixed if n in little]
    turns = {_enough(needed[n]) for n in premixed if needed[n] > 0}
    plain = replace(settings, premixes=False)
    new = _found(shelf, aimed, plain, made, UNMIXED_WITHIN)
    # A step as wide as the reach makes every recipe within reach as good as the best.
    wish = replace(plain, step=max(settings.step, settings.reach), few_drops=True)
    fewest = _found(shelf, aimed, wish, specks, settings.reach)
    for n, recipe in fewest.items():
        # The plain recipe stays unless drops are truly spared.
        if _drops(shelf, recipe) < _drops(shelf, new.get(n, recipes[n])):
            new[n] = recipe
    kept = (replace(new[n], best=min(new[n].best, r.best)) if n in new else r for n, r in enumerate(recipes))
    return tuple(kept), set(new), tuple(sorted(turns))


def _little(ml: float, castings: int) -> bool:
    """Whether the pot for all castings is of next to nothing."""
    return ml * castings < LEAST_PREMIXED_ML


def _enough(ml: float) -> int:
    """The fewest castings whose pot is of more than that."""
    near = max(1, math.floor(LEAST_PREMIXED_ML / ml) - 1)  # the quotient may be rounded
    return next(n for n in range(near, near + 4) if not _little(ml, n))


def _found(shelf: Shelf, aimed: Array, settings: MixSettings, places: list[int], most: float) -> dict[int, Recipe]:
    """Recipes for the aims at these places that lie within `most`; a simple one farther off gives way to a nearer."""
    found = dict(zip(places, search(shelf, aimed[places], settings) if places else (), strict=True))
    for n, recipe in found.items():
        if recipe.best <= most < recipe.delta_e:
            (found[n],) = search(shelf, aimed[[n]], replace(settings, step=min(settings.step, most - recipe.best)))
    return {n: r for n, r in found.items() if r.delta_e <= most}


def _drops(shelf: Shelf, recipe: Recipe) -> int:
    return int(shelf.drops(recipe.ingredients[None], recipe.parts[None])[0])
