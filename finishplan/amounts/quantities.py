"""How much of everything: ml, drops and grams of each mix, paint, primer and varnish, and what to buy.

Volume = area x coats x wet film x loss (theoretical spreading of ISO 23811). A mix is measured in whole drops, the same
whole number of drops for each part of its recipe, so it is rounded up pot by pot.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from finishplan.amounts.model import Quantity
from finishplan.amounts.pots import pots_and_turns
from finishplan.amounts.resin import resin_quantities
from finishplan.basics.errors import InputError
from finishplan.basics.words import listed
from finishplan.drying.kinds import paint_kind
from finishplan.drying.model import DryTimes
from finishplan.job.settings import RESIN_G_PER_CM3, Resin, RunSettings
from finishplan.order.model import PaintingOrder
from finishplan.paint.measuring import (
    MEASURE_ML,
    MOST_DROPS,
    Measured,
    contents,
    drops_ml,
    let_down,
    let_down_words,
    measured_pot,
    mix_density,
    paint_drops,
    pot_note,
    premix_drops,
)
from finishplan.paint.model import Box, Mix, Paint
from finishplan.paint.settings import DROP_ML
from finishplan.run.build import Painted
from finishplan.run.films import Laid, film_ml, laid_ml
from finishplan.run.model import Pot, Run


@dataclass(frozen=True)
class Supplies:
    """What else the amounts hang on. resin: None where the castings are bought; density_g_cm3: of the casting."""

    varnish_coats: int = 2
    resin: Resin | None = None
    density_g_cm3: float = RESIN_G_PER_CM3
    drop_ml: float = DROP_ML


def quantities(
    figure: Painted, box: Box, settings: RunSettings, run: Run | None = None, supplies: Supplies | None = None
) -> tuple[Quantity, ...]:
    """Mixes, pre-mixes, paints, primer, varnish, resin, then passes, for one casting and for the run, loss included.

    figure: its `dry` has the varnish too. run: its pots are those measured out; without it one pot of each mix, turned
    to once a pass. ml_per_casting is what the piece and the brush's loss take; ml_run, drops and grams are what is
    measured out, pot by pot. Raises InputError for an unknown kind of coating and less than no coats.
    """
    supplies = supplies or Supplies()
    (primer, paint, varnish), order = figure.dry[:3], figure.order
    every = tuple({m.id: m for m in (*figure.mixes, *order.extra_mixes)}.values())
    laid = laid_ml(figure.scheme, order, paint, settings.loss)
    mixed = pots_and_turns(run, laid, settings.brush_ml)[0] if run is not None else ()
    pots = {m.id: [p.ml for p in mixed if p.mix == m.id] or _one_pot(m, order, laid, settings) for m in every}
    used, drop_ml = tuple(m for m in every if pots[m.id]), supplies.drop_ml
    measured = {m.id: tuple(_measured(m, ml, settings, drop_ml) for ml in pots[m.id]) for m in used}
    density = {p.id: p.density for p in box.paints}
    surface = sum(p.surface_cm2 for p in figure.scheme.parts)
    primed = "primer", f"{order.primer.name} primer", figure.primer_coats
    varnished = "varnish", "varnish", supplies.varnish_coats
    resin = supplies.resin
    return (
        *(_mix(m, _mix_ml(m, laid), measured[m.id], density, drop_ml) for m in used),
        *_premixes(used, laid, measured, box, drop_ml),
        *_paints(used, laid, measured, box, drop_ml),
        *_coating(primed, primer, surface, settings, drop_ml),
        *_coating(varnished, varnish, surface, settings, drop_ml),
        *(resin_quantities(resin, settings, supplies.density_g_cm3) if resin is not None else ()),
        *_passes(order, used, laid, density, settings.castings),
    )


def with_pots(figure: Painted, box: Box, settings: RunSettings, run: Run, drop_ml: float = DROP_ML) -> Run:
    """The run with its pots in drops and grams, and every turn to them; they add up to what `quantities` tells."""
    used = {m.id: m for m in (*figure.mixes, *figure.order.extra_mixes)}
    laid = laid_ml(figure.scheme, figure.order, figure.dry[1], settings.loss)
    return in_drops(run, laid, (used, box), settings, drop_ml)


def in_drops(
    run: Run, laid: Laid, known: tuple[Mapping[str, Mix], Box], settings: RunSettings, drop_ml: float = DROP_ML
) -> Run:
    """As `with_pots`, of what is laid on one casting. known: the mixes by the names they bear in `laid`, the paints."""
    used, density = known[0], {p.id: p.density for p in known[1].paints}
    pots, turns = pots_and_turns(run, laid, settings.brush_ml)
    made: dict[tuple[str, int, int], Pot] = {}
    for pot in pots:
        drops = _measured(used[pot.mix], pot.ml, settings, drop_ml).drops
        grams = drops * drop_ml * mix_density(used[pot.mix], density)
        made[pot.mix, pot.painter, pot.no] = replace(pot, drops=drops, grams=grams)
    counted = []
    for turn in turns:
        own = made[turn.mix, turn.painter, turn.pot]
        # A pot is measured out once: its later turns must not count it again.
        counted.append(replace(turn, drops=own.drops, grams=own.grams) if turn.fresh else turn)
    return replace(run, pots=tuple(made.values()), turns=tuple(counted))


def _measured(mix: Mix, ml: float, settings: RunSettings, drop_ml: float) -> Measured:
    """A pot in whole drops, of the least that can be mixed and taken up by a brush."""
    return measured_pot(mix, max(ml, settings.least_drops * drop_ml), drop_ml)


def _mix_ml(mix: Mix, laid: Laid) -> float:
    return sum(ml for (_, _, _, id), ml in laid.items() if id == mix.id)


def _one_pot(mix: Mix, order: PaintingOrder, laid: Laid, settings: RunSettings) -> list[float]:
    """The pot of a mix that no schedule tells of: for all it lays, one turn a pass."""
    ml = settings.castings * _mix_ml(mix, laid)
    turns = sum(mix.id in (p.mix, *p.also_open) for p in order.passes)
    return [ml + turns * settings.brush_ml] if ml else []


def _mix(mix: Mix, ml: float, pots: Sequence[Measured], density: Mapping[str, float], drop_ml: float) -> Quantity:
    drops, least, most = (pick(p.drops for p in pots) for pick in (sum, min, max))
    gram = drop_ml * mix_density(mix, density)
    note = pot_note(pots, gram)
    run_ml = drops_ml(drops, drop_ml)
    return Quantity(
        "mix",
        mix.id,
        mix.name,
        ml,
        run_ml,
        drops,
        drops * gram,
        len(pots),
        note=note,
        pot_drops=most,
        least_drops=least,
    )


def _premixes(
    mixes: Sequence[Mix], laid: Laid, measured: Mapping[str, Sequence[Measured]], box: Box, drop_ml: float
) -> list[Quantity]:
    """Each pre-mix, let down once for the whole run; drops, ml and grams are those of its last step."""
    names = {p.id: p.name for p in box.paints}
    density = {p.id: p.density for p in box.paints}
    out = []
    wanted = premix_drops(mixes, _each(measured))
    pairs = Counter((pre.paint, pre.into) for pre in wanted)
    for pre, needed in wanted.items():
        steps = let_down(pre, needed)
        whole = sum(steps[-1])
        shares = [(m, i.parts / sum(x.parts for x in m.recipe)) for m in mixes for i in m.recipe if i.premix == pre]
        one = sum(_mix_ml(m, laid) * share for m, share in shares)
        strong, base = names.get(pre.paint, pre.paint), names.get(pre.into, pre.into)
        weighed = pre.parts * density.get(pre.paint, 1.2) + pre.of * density.get(pre.into, 1.2)
        grams = whole * drop_ml * weighed / (pre.parts + pre.of)
        takers = tuple(dict.fromkeys(m.id for m, _ in shares))
        note = f"{let_down_words(steps)}, for {listed(takers)}"
        id = f"{pre.paint}:{pre.parts}:{pre.of}:{pre.into}"
        # Two strengths of one pair of paints would else bear the same name.
        strength = f", {pre.parts} to {pre.of}" if pairs[pre.paint, pre.into] > 1 else ""
        out.append(
            Quantity(
                "premix",
                id,
                f"{strong} in {base}{strength}",
                one,
                drops_ml(whole, drop_ml),
                whole,
                grams,
                1,
                note=note,
                mixes=takers,
                let_down=steps,
            )
        )
    return out


def _each(measured: Mapping[str, Sequence[Measured]]) -> dict[str, list[int]]:
    return {id: [p.each for p in pots] for id, pots in measured.items()}


def _paints(
    mixes: Sequence[Mix], laid: Laid, measured: Mapping[str, Sequence[Measured]], box: Box, drop_ml: float
) -> list[Quantity]:
    """The shopping list: every paint the pots take, in the box's order, against what is left of it."""
    drops = paint_drops(mixes, _each(measured))
    single: dict[str, float] = {}
    for m in mixes:
        whole = sum(i.parts for i in m.recipe)
        for id, count in contents(m).items():
            single[id] = single.get(id, 0.0) + _mix_ml(m, laid) * count / whole
    return [_paint(p, single[p.id], drops[p.id], drop_ml) for p in box.paints if drops.get(p.id)]


def _passes(
    order: PaintingOrder, mixes: Sequence[Mix], laid: Laid, density: Mapping[str, float], castings: int
) -> list[Quantity]:
    """What each pass lays of each mix, loss included; not rounded, for its pots are the mix's."""
    out = []
    for one in order.passes:
        for m in mixes:
            ml = sum(v for (no, _, _, id), v in laid.items() if (no, id) == (one.no, m.id))
            if ml:
                grams = castings * ml * mix_density(m, density)
                name = f"pass {one.no}, mix {m.id}"
                out.append(Quantity("pass", f"{one.no}", name, ml, castings * ml, grams=grams, mix=m.id))
    return out


def _paint(paint: Paint, ml_casting: float, drops: int, drop_ml: float) -> Quantity:
    ml, left, price = drops_ml(drops, drop_ml), paint.ml_left, paint.price_per_ml
    grams = ml * paint.density
    one = Quantity("paint", paint.id, paint.name, ml_casting, ml, drops, grams, ml_left=left, price_per_ml=price)
    return one.in_all(ml)


def _coating(
    laid: tuple[str, str, int], dry: DryTimes, surface_cm2: float, settings: RunSettings, drop_ml: float
) -> tuple[Quantity, ...]:
    """Primer or varnish over everything, rounded up to what can be measured; nothing for no coat. laid: what it is,
    its name, its coats."""
    (what, name, coats), kind = laid, paint_kind(dry.kind)
    if coats < 0:
        raise InputError(f"{coats} coats of {what} cannot be laid", where=what, cure="give 0 or more")
    if not coats:
        return ()
    one = film_ml(surface_cm2, dry.wet_um) * coats * settings.loss * kind.overspray
    # Nobody counts drops out of a can, nor more of them than of a mix.
    counted = not kind.sprayed and one * settings.castings <= MOST_DROPS * drop_ml
    unit = drop_ml if counted else max(kind.measure_ml, MEASURE_ML)
    # 1e-9: what is a whole number of units but for the last digit must not take one more.
    whole = round(math.ceil(one * settings.castings / unit - 1e-9) * unit, 6)
    drops = round(whole / drop_ml) if counted else 0
    note = f"{kind.name}, " + ("one coat" if coats == 1 else f"{coats} coats")
    return (Quantity(what, kind.key, name, one, whole, drops, whole * kind.density, note=note),)
