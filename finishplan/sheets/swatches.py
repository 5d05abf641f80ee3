"""Pots, and the colours that swatches show: a mix in thin coats over white and over black, each ingredient alone."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from finishplan.amounts.model import Quantity
from finishplan.basics.words import listed
from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson, surface
from finishplan.colour.light import hex_from_lab, lab
from finishplan.order.coats import coat_mm
from finishplan.order.model import Pass
from finishplan.paint.measuring import MOST_DROPS, let_down, let_down_words, measured_pot, pot_sizes
from finishplan.paint.model import Ingredient, Mix, Paint
from finishplan.paint.settings import DROP_ML
from finishplan.plan.plan import Plan
from finishplan.run.model import Turn
from finishplan.sheets.look import PAPER_WHITE

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
    mm = coats * coat_mm(plan.method, plan.method.tool)
    k1, k2 = plan.box.table.k1, plan.box.table.k2
    white, black = (
        _seen(film(mix.K, mix.S, mm, inverse_saunderson(ground, k1, k2)), plan) for ground in (_CARD_WHITE, _CARD_BLACK)
    )
    return white, black


def ingredient_hex(ingredient: Ingredient, plan: Plan) -> str:
    """'#rrggbb' of a paint alone, or of a pre-mix, opaque; white where the box has it not."""
    paints = {p.id: p for p in plan.box.paints}
    pre = ingredient.premix
    made = {pre.paint: pre.parts, pre.into: pre.of} if pre else {ingredient.paint: 1}
    if not made.keys() <= paints.keys():
        return PAPER_WHITE
    K, S = (sum(n * getattr(paints[id], name) for id, n in made.items()) for name in ("K", "S"))
    return _seen(opaque(K, S), plan)


def all_mixes(plan: Plan) -> dict[str, Mix]:
    """Every mix by id, undercoats that the order adds last."""
    return {m.id: m for m in (*plan.mixes, *plan.order.extra_mixes)}


def taken_by(mix: Mix, plan: Plan) -> tuple[list[int], list[int]]:
    """Ids of the areas that take a mix as their colour, and of those that take it as an undercoat, ascending."""
    own = sorted(i for i, k in plan.mix_of if plan.mixes[k].id == mix.id)
    work = (w for p in plan.order.passes for w in p.work if w.kind == "undercoat" and (w.mix or p.mix) == mix.id)
    return own, sorted({w.area for w in work})


def _density(ingredient: Ingredient, paints: Mapping[str, Paint]) -> float:
    """g/ml of an ingredient; a pre-mix weighs what it is made of."""
    own = paints[ingredient.paint].density if ingredient.paint in paints else 1.2
    pre = ingredient.premix
    if pre is None or pre.into not in paints:
        return own
    return (own * pre.parts + paints[pre.into].density * pre.of) / (pre.parts + pre.of)


def _pot(mix: Mix, plan: Plan, ml: float, times: int = 1) -> Pot:
    """The smallest pot of whole drops that holds `ml`."""
    each = measured_pot(mix, ml).each
    paints = {p.id: p for p in plan.box.paints}
    drops = tuple(each * i.parts for i in mix.recipe)
    grams = tuple(n * DROP_ML * _density(i, paints) for n, i in zip(drops, mix.recipe, strict=True))
    return Pot(drops, grams, times)


def pots(mix: Mix, plan: Plan) -> tuple[Pot, Pot]:
    """The pot for one casting and the largest pot of the run; whole drops, one part never under one drop."""
    need = _need(mix, plan)
    if need is None:
        return _pot(mix, plan, 0), _pot(mix, plan, 0)
    times = max(1, need.times_mixed)
    most = need.pot_drops * DROP_ML or need.ml_run / times
    return _pot(mix, plan, need.ml_per_casting), _pot(mix, plan, most, times)


def pots_for(mix: Mix, plan: Plan, laid: Pass, part: str) -> tuple[Turn, ...]:
    """The pots of the mix from which a pass paints a part in the run, each once, in order of making."""
    coats = max((w.coats for w in laid.work if w.part == part and (w.mix or laid.mix) == mix.id), default=0)
    turns = [o for o in plan.run.turns if o.mix == mix.id]
    found: dict[tuple[float, int], Turn] = {}
    for t in plan.run.tasks:
        if (t.kind, t.pass_no) != ("coat", laid.no) or t.part not in ("", part) or t.coat > coats:
            continue
        mine = (k for k, o in enumerate(turns) if o.painter == t.painter and o.start_min <= t.start_min + 1e-6)
        turn = max(mine, default=-1)
        made = next((o for o in reversed(turns[: turn + 1]) if o.drops), None)
        if made is not None:
            found[made.start_min, made.painter] = made
    return tuple(o for _, o in sorted(found.items()))


def pot_for(mix: Mix, plan: Plan, laid: Pass, part: str) -> tuple[Pot, str]:
    """The largest of the pots from which a pass paints a part, and as `pot_words` which of them it is; the largest of
    the run where no pots are known."""
    made = pots_for(mix, plan, laid, part)
    if not made:
        return pots(mix, plan)[1], pot_words(mix, plan)
    pot = _pot(mix, plan, max(o.drops for o in made) * DROP_ML, len(made))
    least, most = (pick(made, key=lambda o: o.drops) for pick in (min, max))
    return pot, _which(pot, least.drops, most.drops, most.grams / most.drops)


def pot_words(mix: Mix, plan: Plan) -> str:
    """'drops', or, of several pots, 'drops for each of 2 pots', 'drops for the largest of 2 pots (33 to 77)'."""
    pot, need = pots(mix, plan)[1], _need(mix, plan)
    return _which(pot, need.least_drops, need.pot_drops, need.grams / max(need.drops, 1)) if need else _unit(pot)


def _unit(pot: Pot) -> str:
    return "grams" if pot.weighed else "drops"


def _which(pot: Pot, least: int, most: int, gram: float) -> str:
    """Drops of the least and of the largest pot, and the weight of a drop."""
    if pot.times == 1:
        return _unit(pot)
    if least == most:
        return f"{_unit(pot)} for each of {pot.times} pots"
    return f"{_unit(pot)} for the largest of {pot.times} pots ({pot_sizes(least, most, gram)})"


def _need(mix: Mix, plan: Plan) -> Quantity | None:
    return next((q for q in plan.quantities if q.what == "mix" and q.id == mix.id), None)


def ingredient_name(ingredient: Ingredient) -> str:
    """'yellow ochre', and of a pre-mix how far it is let down, and in what if not in a white: 'red pre-mix, 1:49'."""
    pre = ingredient.premix
    if pre is None:
        return ingredient.name
    base = pre.into_name if "white" not in pre.into_name.lower() else ""
    return f"{ingredient.name} pre-mix, {pre.parts}:{pre.of}" + (f" in {base}" if base else "")


def premix_lines(mix: Mix, plan: Plan) -> list[str]:
    """How each pre-mix of a mix is made for the run, as the amounts say: 'red pre-mix, 1:49, in white: 1 drop into 9,
    4 of that into 16; once for the run, in a lidded pot'; by one drop where no amounts are known."""
    names = {p.id: p.name for p in plan.box.paints}
    made = {q.id: q for q in plan.quantities if q.what == "premix"}
    lines = []
    for pre, name in {i.premix: ingredient_name(i) for i in mix.recipe if i.premix is not None}.items():
        base = names.get(pre.into, pre.into)
        whose = name if name.endswith(f" in {base}") else f"{name}, in {base}"
        q = made.get(f"{pre.paint}:{pre.parts}:{pre.of}:{pre.into}")
        how = let_down_words(q.let_down if q else let_down(pre, 1))
        shared = f", for mixes {listed(q.mixes)} together" if q and len(q.mixes) > 1 else ""
        lines.append(f"{whose}: {how}; once for the run, in a lidded pot{shared}")
    return lines


def mixes_of(laid: Pass) -> tuple[str, ...]:
    """Ids of the mixes open in a pass, the main one first."""
    return tuple(dict.fromkeys((laid.mix, *laid.also_open, *(w.mix for w in laid.work if w.mix))))
