"""Colours asked for: what is said of each, which are one, and the recipe that each has by itself."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from finishplan.paint.book import BookMix
from finishplan.paint.given import Drops, given_recipe
from finishplan.paint.model import Box
from finishplan.paint.search import Recipe, search
from finishplan.paint.settings import MixSettings
from finishplan.paint.sharing import Colours
from finishplan.paint.shelf import Shelf
from finishplan.paint.sparing import sparing

Array = NDArray[np.float64]

_LEAST_WEIGHT = 1e-6
"""Of a colour of which next to nothing is needed: it must be served all the same."""


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


@dataclass(frozen=True, eq=False)
class Asked:
    """Colours and the shelf they are mixed from. drawn, aimed: (n, 3) L*a*b* D65."""

    shelf: Shelf
    box: Box
    settings: MixSettings
    wishes: Wishes
    drawn: Array
    aimed: Array

    @cached_property
    def groups(self) -> Sequence[str | None]:
        """The name that the maker gave the mix of each colour."""
        return self.wishes.groups or [None] * len(self.aimed)

    @cached_property
    def weights(self) -> Sequence[float]:
        """How much is needed of each colour."""
        return self.wishes.needs if self.wishes.needs is not None else [1.0] * len(self.aimed)

    @cached_property
    def like(self) -> tuple[int, ...]:
        """For each colour the number of its like, see `gathered`."""
        return self._gathered[0]

    @cached_property
    def first(self) -> tuple[int, ...]:
        """For each number the colour that stands for it, see `gathered`."""
        return self._gathered[1]

    @cached_property
    def _gathered(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        return gathered(self.aimed, self.groups, self.weights, self.wishes.leads)

    @cached_property
    def names(self) -> dict[int, str]:
        """Of the numbers that the maker named, the names."""
        return {n: name for n, name in zip(self.like, self.groups, strict=True) if name is not None}

    @cached_property
    def recipes(self) -> tuple[Recipe, ...]:
        """The recipe of each number by itself, the maker's own where there is one. Raises InputError."""
        return self._recipes[0]

    @cached_property
    def spared(self) -> set[int]:
        """Numbers that have a simpler recipe than the nearest, as little is needed of them."""
        return self._recipes[1]

    @cached_property
    def turns(self) -> tuple[int, ...]:
        """Numbers of castings from which a mix of little paint is made otherwise, see `sparing`."""
        return self._recipes[2]

    @cached_property
    def _recipes(self) -> tuple[tuple[Recipe, ...], set[int], tuple[int, ...]]:
        aimed = self.aimed[list(self.first)]
        recipes, spared, turns = search(self.shelf, aimed, self.settings), set[int](), tuple[int, ...]()
        if self.wishes.needs is not None:
            needed = sums(self.like, self.weights)
            recipes, spared, turns = sparing(self.shelf, aimed, self.settings, recipes, needed)
        # The maker's own recipe goes before all that was searched, and is not made simpler.
        own = {n: name for n, name in self.names.items() if name in self.wishes.recipes}
        given = {
            n: given_recipe(self.wishes.recipes[name], self.shelf, self.box, aimed[n], f"[mixes.{name}] recipe")
            for n, name in own.items()
        }
        return tuple(given.get(n, recipe) for n, recipe in enumerate(recipes)), spared - own.keys(), turns

    @cached_property
    def colours(self) -> Colours:
        """What is to be shared out: each number once. Raises InputError."""
        pairs = ((self.like[i], self.like[j]) for i, j in self.wishes.neighbours)
        first, weights = list(self.first), sums(self.like, self.weights)
        return Colours(
            self.aimed[first],
            self.drawn[first],
            # Weighted sums must not lose a colour of which next to nothing is needed.
            np.maximum(weights, _LEAST_WEIGHT),
            self.recipes,
            frozenset(self.names),
            frozenset((min(pair), max(pair)) for pair in pairs if pair[0] != pair[1]),
        )


def sums(mix_of: Sequence[int], weights: Sequence[float]) -> list[float]:
    """The weights of each mix's colours together."""
    total = [0.0] * (max(mix_of, default=-1) + 1)
    for m, weight in zip(mix_of, weights, strict=True):
        total[m] += weight
    return total


def gathered(
    aimed: Array,
    groups: Sequence[str | None],
    weights: Sequence[float],
    leads: Mapping[str, int] | None = None,
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """For each colour the number of its like: the same colour, the same name, or none and the very colour that a named
    mix is mixed to; and for each the colour that stands for it, the named lead, else that of the most weight, then by
    L*a*b*, so that the order in which colours come decides nothing but the numbers.

    aimed: (n, 3) L*a*b*. leads: name -> place of the colour that its mix is mixed to.
    """
    colours = [tuple(row) for row in aimed.tolist()]
    heavy: dict[tuple[str | None, tuple[float, ...]], float] = {}
    for name, colour, weight in zip(groups, colours, weights, strict=True):
        heavy[name, colour] = heavy.get((name, colour), 0.0) + weight
    lead = {(leads or {}).get(name) for name in groups if name is not None}
    # Named leads first; then by weight and look, never by the order in which the colours came.
    ranked = sorted(range(len(colours)), key=lambda i: (i not in lead, -heavy[groups[i], colours[i]], colours[i]))
    mixed_to = {name: colours[i] for i in reversed(ranked) if (name := groups[i]) is not None}
    # Who named a mix for some areas need not name it for the others of the very same colour.
    taken = {colour: name for name, colour in sorted(mixed_to.items(), reverse=True)}
    joined = [taken.get(colour) if name is None else name for name, colour in zip(groups, colours, strict=True)]
    # A named mix is one, whatever the colours in it; without a name every colour is one.
    keys = [(name, colour if name is None else None) for name, colour in zip(joined, colours, strict=True)]
    number = {key: n for n, key in enumerate(dict.fromkeys(keys))}
    first: dict[int, int] = {}
    # A colour that bears the name goes before one that only looks like it.
    for i in sorted(ranked, key=lambda i: groups[i] is None):
        first.setdefault(number[keys[i]], i)
    return tuple(number[key] for key in keys), tuple(first[n] for n in range(len(number)))
