"""From drawn colours to mixes: what to aim at, which colours share a mix, and the recipe of each."""

import math
from collections.abc import Container, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError
from finishplan.colour.lab import Lab
from finishplan.paint.aim import aims
from finishplan.paint.asked import Asked, Wishes, gathered, sums
from finishplan.paint.book import known_mixes
from finishplan.paint.hazards import hazards_in
from finishplan.paint.measuring import measured_pot
from finishplan.paint.mixed import letters, mixes_of
from finishplan.paint.model import Box, Mix
from finishplan.paint.settings import DROP_ML, MixSettings
from finishplan.paint.sharing import Colours, Shared, alike, share
from finishplan.paint.shelf import Shelf, let_down_steps, make_shelf
from finishplan.paint.trust import hand_keeps

# The door of the room: what others ask of mixing, wherever in here it is written.
__all__ = [
    "MixChoice",
    "MixSettings",
    "Wishes",
    "aims",
    "choose",
    "drops_for",
    "find_mixes",
    "gathered",
    "let_down_steps",
    "letters",
    "recipe_json",
]


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
    asked = Asked(make_shelf(box, settings), box, settings, wishes, colours, aimed)
    at = asked.colours
    found = share(asked.shelf, at, settings, known_mixes(wishes.book, asked.shelf, box), curve=wishes.curve)
    found = _without_twins(asked.shelf, found, at, settings)
    mixes = with_additions(tuple(mixes_of(asked, found)), box, settings)
    return MixChoice(mixes, tuple(found.pot_of[n] for n in asked.like), found.least, found.curve, asked.turns)


def _without_twins(shelf: Shelf, found: Shared, colours: Colours, settings: MixSettings) -> Shared:
    """The pots without those for which another serves, see `alike`; those with a name of the maker's stay."""
    if not found.recipes:
        return found
    hand = np.array([hand_keeps(shelf, r.ingredients, r.parts) for r in found.recipes])
    twins = alike(shelf, found, colours, hand, settings)
    # A colour that the maker wants alone neither moves to another pot nor takes one in.
    closed = {found.pot_of[n] for n in colours.alone}
    pot_of, kept = joined(twins, closed, sums(found.pot_of, colours.weights.tolist()), found.pot_of)
    book = {n: found.book[old] for n, old in enumerate(kept) if old in found.book}
    recipes, leads = tuple(found.recipes[n] for n in kept), tuple(found.leads[n] for n in kept)
    return replace(found, pot_of=pot_of, recipes=recipes, leads=leads, book=book, least=min(found.least, len(kept)))


def with_additions(mixes: tuple[Mix, ...], box: Box, settings: MixSettings) -> tuple[Mix, ...]:
    """The mixes, each unreachable one with the paint of the table that would bring it within reach, if one does."""
    if all(m.reachable for m in mixes):
        return mixes
    from finishplan.paint.additions import paint_to_add

    missed = [m for m in mixes if not m.reachable]
    found = dict(zip([m.id for m in missed], paint_to_add([m.aim for m in missed], box, settings), strict=True))
    names = {p.id: p.name for p in box.table.paints}
    return tuple(replace(m, add_paint=(id := found.get(m.id)), add_name=names[id] if id else "") for m in mixes)


def joined(
    alike: NDArray[np.bool_], named: Container[int], weights: Sequence[float], mix_of: Sequence[int]
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The mixes with those for which another serves (`alike`, see `_alike`) given up, named ones never: for each colour
    the number of its mix, and for each mix its number before. Those of the most weight stay, then the first."""
    home = list(range(len(alike)))
    stay: list[int] = []
    # The heaviest first: lighter mixes then move to it, and most of the figure keeps its own recipe.
    for n in sorted((n for n in home if n not in named), key=lambda n: (-weights[n], mix_of.index(n))):
        home[n] = next((h for h in stay if alike[n, h]), n)
        if home[n] == n:
            stay.append(n)
    kept = tuple(dict.fromkeys(home[m] for m in mix_of))
    number = {n: i for i, n in enumerate(kept)}
    return tuple(number[home[m]] for m in mix_of), kept


def drops_for(mix: Mix, volume_ml: float, drop_ml: float = DROP_ML) -> tuple[int, ...]:
    """Whole drops of each ingredient of the mix for a pot of at least `volume_ml`; none is less than one drop.

    Raises InputError for a volume that is not above 0 and at most ten thousand litres.
    """
    if not 0 < volume_ml <= 1e7:
        raise InputError(f"a volume of {volume_ml:g} ml", cure="give millilitres, above 0 and at most 10 million")
    each = measured_pot(mix, volume_ml, drop_ml).each
    return tuple(each * i.parts for i in mix.recipe)


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
        # Rounded up: a promise may be kept too well, not too badly.
        "expect_within": math.ceil(mix.expect_within * 10) / 10,
        "one_drop_more": {"paint": mix.drop_paint, "delta_e": round(mix.drop_delta_e, 2)},
        "estimate": mix.estimate,
        "add_paint": mix.add_paint,
        "book": mix.from_book,
        "merged": list(mix.merged_hex),
        "hazards": list(hazards_in([mix], box)),
    }
