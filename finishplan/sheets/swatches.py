"""The colours that swatches show: a mix in thin coats over white and over black, and each paint by itself."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil

import numpy as np

from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson, surface
from finishplan.colour.light import hex_from_lab, lab
from finishplan.finish.model import Pass
from finishplan.paint.model import Ingredient, Mix, Paint
from finishplan.plan import Plan
from finishplan.run.measuring import DROP_ML, MOST_DROPS
from finishplan.sheets.words import one_drop

_COAT_UM = {"brush": 20.0, "airbrush": 10.0}
_CARD_WHITE, _CARD_BLACK = 0.80, 0.01
"""Reflectance of the white and the black of a drawdown card (at least 78 %, at most 1 %: ISO 6504-3)."""


@dataclass(frozen=True)
class Pot:
    """One making of a mix: drops and grams of each ingredient in the recipe's order, and how often it is made."""

    drops: tuple[int, ...]
    grams: tuple[float, ...]
    times: int

    @property
    def ml(self) -> float:
        """Volume of the pot."""
        return sum(self.drops) * DROP_ML

    @property
    def weighed(self) -> bool:
        """Too many drops to count."""
        return sum(self.drops) > MOST_DROPS

    @property
    def amounts(self) -> tuple[str, ...]:
        """What to print for each ingredient: drops, or grams where the pot is weighed."""
        return tuple(f"{g:.1f} g" for g in self.grams) if self.weighed else tuple(map(str, self.drops))


def _seen(internal: np.ndarray, plan: Plan) -> str:
    k1, k2 = surface(plan.finish, plan.box.table.k1, plan.box.table.k2)
    return hex_from_lab(lab(saunderson(internal, k1, k2)))


def coats_over(mix: Mix, plan: Plan, coats: int) -> tuple[str, str]:
    """'#rrggbb' of so many thin coats of the mix over a white and over a black card."""
    micrometres = plan.method.coat_um or _COAT_UM[plan.method.tool]
    k1, k2 = plan.box.table.k1, plan.box.table.k2
    white, black = (
        _seen(film(mix.K, mix.S, coats * micrometres / 1000, inverse_saunderson(ground, k1, k2)), plan)
        for ground in (_CARD_WHITE, _CARD_BLACK)
    )
    return white, black


def paint_hex(paint: Paint, plan: Plan) -> str:
    """'#rrggbb' of the paint alone, opaque."""
    return _seen(opaque(paint.K, paint.S), plan)


def all_mixes(plan: Plan) -> dict[str, Mix]:
    """Every mix by id, undercoats that the order adds last."""
    return {m.id: m for m in (*plan.mixes, *plan.order.extra_mixes)}


def _density(ingredient: Ingredient, paints: Mapping[str, Paint]) -> float:
    """g/ml of an ingredient; a pre-mix weighs what it is made of."""
    own = paints[ingredient.paint].density if ingredient.paint in paints else 1.2
    pre = ingredient.premix
    if pre is None or pre.into not in paints:
        return own
    return (own * pre.parts + paints[pre.into].density * pre.of) / (pre.parts + pre.of)


def _pot(mix: Mix, plan: Plan, drops: float, times: int = 1) -> Pot:
    """The smallest pot of at least so many drops that keeps the recipe's whole parts."""
    each = max(1, ceil(drops / max(1, sum(i.parts for i in mix.recipe)) - 1e-9))
    paints = {p.id: p for p in plan.box.paints}
    counted = tuple(each * i.parts for i in mix.recipe)
    grams = tuple(n * DROP_ML * _density(i, paints) for n, i in zip(counted, mix.recipe, strict=True))
    return Pot(counted, grams, times)


def pots(mix: Mix, plan: Plan) -> tuple[Pot, Pot]:
    """The pot for one casting and the largest pot of the run; whole drops, one part never under one drop."""
    need = next((q for q in plan.quantities if q.what == "mix" and q.id == mix.id), None)
    if need is None:
        return _pot(mix, plan, 0), _pot(mix, plan, 0)
    times = max(1, need.times_mixed)
    most = need.pot_drops or need.ml_run / DROP_ML / times
    return _pot(mix, plan, need.ml_per_casting / DROP_ML), _pot(mix, plan, most, times)


def pot_words(mix: Mix, plan: Plan) -> str:
    """'drops', or, of several pots, 'drops for the largest of 2 pots in the run (33 to 77 drops each)'."""
    pot = pots(mix, plan)[1]
    unit = "grams" if pot.weighed else "drops"
    if pot.times == 1:
        return unit
    note = next((q.note for q in plan.quantities if q.what == "mix" and q.id == mix.id), "")
    sizes = one_drop(note).removeprefix(f"made {pot.times} times, ").removesuffix(": weigh it")
    if " to " in sizes:
        return f"{unit} for the largest of {pot.times} pots in the run ({sizes})"
    return f"{unit} for one pot; {pot.times} pots in the run" + (f", {sizes}" if sizes else "")


def ingredient_name(ingredient: Ingredient, names: Mapping[str, str]) -> str:
    """'yellow ochre', and for a pre-mix what it is made of."""
    if ingredient.premix is None:
        return ingredient.name
    pre = ingredient.premix
    into = names.get(pre.into, pre.into)
    return f"pre-mix: {pre.parts} {ingredient.name} in {pre.of} {into}"


def mixes_of(laid: Pass) -> tuple[str, ...]:
    """Ids of the mixes open in a pass, the main one first."""
    return tuple(dict.fromkeys((laid.mix, *laid.also_open, *(w.mix for w in laid.work if w.mix))))
