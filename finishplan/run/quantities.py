"""How much of everything: ml, drops and grams of each mix, paint, primer and varnish, and what to buy.

Volume = area x coats x wet film x loss (theoretical spreading of ISO 23811). A mix is measured in whole drops, the same
whole number of drops for each part of its recipe, so it is rounded up pot by pot.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from finishplan.errors import InputError
from finishplan.finish.model import PaintingOrder, Pass, Tool
from finishplan.paint.model import Box, Mix, Paint
from finishplan.run.kinds import PaintKind, paint_kind
from finishplan.run.model import DryTimes, Quantity, Run, RunSettings
from finishplan.run.pots import pots_by_pass, pots_from_run
from finishplan.run.resin import Resin, resin_quantities
from finishplan.scheme import Scheme

DROP_ML = 0.05
"""One drop (common practice: 20 to the millilitre)."""
MOST_DROPS = 120
"""Beyond this a pot is weighed, not counted (6 ml; common practice)."""
RECUT_MM = 3.0
"""Width of the line that is laid again when an edge is recut (common practice)."""


def spreading_m2_per_l(volume_solids_pct: float, dry_um: float) -> float:
    """Theoretical spreading rate of ISO 23811: 10 x volume solids (%) / dry film (um)."""
    return 10 * volume_solids_pct / dry_um


def film_ml(cm2: float, wet_um: float) -> float:
    """Volume of a wet film: 1 cm2 x 1 um = 1e-4 ml."""
    return cm2 * wet_um * 1e-4


@dataclass(frozen=True)
class Measured:
    """One pot of a mix in whole drops. each: drops for one part of the recipe; drops and ml of the whole pot."""

    each: int
    drops: int
    ml: float


def measured_pot(mix: Mix, ml: float, drop_ml: float = DROP_ML) -> Measured:
    """The smallest pot of whole drops that holds `ml` and keeps the recipe's whole parts."""
    parts = sum(i.parts for i in mix.recipe)
    each = max(1, math.ceil(ml / (parts * drop_ml) - 1e-9))
    return Measured(each, each * parts, each * parts * drop_ml)


def paint_drops(mix: Mix, each: int) -> dict[str, int]:
    """Drops of each paint for a pot of `each` drops a part; a pre-mix is let down in whole drops, some may be left."""
    drops: dict[str, int] = {}
    for i in mix.recipe:
        needed = i.parts * each
        if i.premix is None:
            drops[i.paint] = drops.get(i.paint, 0) + needed
            continue
        batches = math.ceil(needed / (i.premix.parts + i.premix.of))
        for paint, parts in ((i.premix.paint, i.premix.parts), (i.premix.into, i.premix.of)):
            drops[paint] = drops.get(paint, 0) + batches * parts
    return drops


def laid_ml(scheme: Scheme, order: PaintingOrder, paint: DryTimes, loss: float) -> dict[tuple[int, str, int], float]:
    """ml that each (pass, part, coat) takes on one casting, loss on brush or gun included."""
    cm2 = {a.id: a.cm2 for a in scheme.areas}
    out: dict[tuple[int, str, int], float] = {}
    for one in order.passes:
        share = _recut_share(scheme, order, one) if one.kind == "recut" else 1.0
        wet_um, overspray = _film_of(one.tool, paint)
        for work in one.work:
            ml = film_ml(cm2[work.area] * share, wet_um) * loss * overspray
            for coat in range(1, work.coats + 1):
                key = (one.no, work.part, coat)
                out[key] = out.get(key, 0.0) + ml
    return out


def quantities(
    scheme: Scheme,
    order: PaintingOrder,
    mixes: Sequence[Mix],
    box: Box,
    settings: RunSettings,
    dry: Sequence[DryTimes],
    *,
    run: Run | None = None,
    primer_coats: int = 1,
    varnish_coats: int = 2,
    resin: Resin | None = None,
    drop_ml: float = DROP_ML,
) -> tuple[Quantity, ...]:
    """Mixes, paints, primer, varnish, then resin, for one casting and for the run, loss included.

    dry: primer, paint, varnish. run: its schedule tells how often a mix is made anew, else the passes' minutes do.
    ml_per_casting is what the brush takes; ml_run, drops and grams are what is measured out, rounded up pot by pot.
    """
    primer, paint, varnish = dry[:3]
    laid = laid_ml(scheme, order, paint, settings.loss)
    pots = {m.id: _pots(m, order, laid, settings, paint, run) for m in mixes}
    measured = {m.id: tuple(measured_pot(m, ml, drop_ml) for ml in pots[m.id]) for m in mixes}
    density = {p.id: p.density for p in box.paints}
    surface = sum(p.surface_cm2 for p in scheme.parts)
    return (
        *(_mix(m, _mix_ml(m, order, laid), measured[m.id], density, drop_ml) for m in mixes if pots[m.id]),
        *_paints(mixes, order, laid, measured, box, drop_ml),
        *_coating(
            "primer", f"{order.primer.name.removesuffix(' primer')} primer", primer, surface, primer_coats, settings
        ),
        *_coating("varnish", "varnish", varnish, surface, varnish_coats, settings),
        *(resin_quantities(resin, settings) if resin is not None else ()),
    )


def _recut_share(scheme: Scheme, order: PaintingOrder, one: Pass) -> float:
    """Share of its areas that a recut lays again: a line RECUT_MM wide along its edges."""
    lengths = {e.areas: e.length_mm for e in scheme.edges}
    line = sum(lengths.get(e, 0.0) for e in one.edges) * RECUT_MM / 100
    whole = sum(scheme.area(id).cm2 for id in one.areas)
    return min(1.0, line / whole) if line and whole else 1.0


def _film_of(tool: Tool, paint: DryTimes) -> tuple[float, float]:
    """Wet film in um and overspray of one coat: the paint's own, or the usual kind of the tool where the two differ."""
    kind, sprayed = paint_kind(paint.kind), tool == "airbrush"
    if kind.sprayed == sprayed:
        return paint.wet_um, kind.overspray
    usual = paint_kind("airbrush" if sprayed else "acrylic")
    return usual.wet_um(usual.dry_um), usual.overspray


def _of_mix(mix: Mix, order: PaintingOrder) -> list[Pass]:
    return [p for p in order.passes if p.mix == mix.id]


def _mix_ml(mix: Mix, order: PaintingOrder, laid: Mapping[tuple[int, str, int], float]) -> float:
    numbers = {p.no for p in _of_mix(mix, order)}
    return sum(ml for (no, _, _), ml in laid.items() if no in numbers)


def _pots(
    mix: Mix,
    order: PaintingOrder,
    laid: Mapping[tuple[int, str, int], float],
    settings: RunSettings,
    paint: DryTimes,
    run: Run | None,
) -> tuple[float, ...]:
    if run is not None and (pots := pots_from_run(run, mix.id, laid, settings.mix_life_min)):
        return pots
    passes = _of_mix(mix, order)
    volumes = [settings.castings * sum(ml for (no, _, _), ml in laid.items() if no == p.no) for p in passes]
    return pots_by_pass(passes, volumes, settings.castings, settings.painters, paint.recoat_min, settings.mix_life_min)


def _mix(mix: Mix, ml: float, pots: Sequence[Measured], density: Mapping[str, float], drop_ml: float) -> Quantity:
    drops = sum(p.drops for p in pots)
    grams = sum(count * drop_ml * density.get(id, 1.2) for p in pots for id, count in _contents(mix, p.each).items())
    return Quantity(
        "mix", mix.id, mix.name, ml, _ml(drops, drop_ml), drops, grams, len(pots), note=_pot_note(pots, grams)
    )


def _pot_note(pots: Sequence[Measured], grams: float) -> str:
    """How often and how much at a time; a pot too large to count in drops is weighed."""
    sizes = sorted({p.drops for p in pots})
    many = f"made {len(pots)} times, " if len(pots) > 1 else ""
    if sizes[-1] > MOST_DROPS:
        return f"{many}{grams / len(pots):.1f} g each: weigh it" if many else f"{grams:.1f} g: weigh it"
    each = f"{sizes[0]}" if len(sizes) == 1 else f"{sizes[0]} to {sizes[-1]}"
    return f"{many}{each} drops each" if many else ""


def _ml(drops: int, drop_ml: float) -> float:
    """Drops as ml, without the dust of binary fractions."""
    return round(drops * drop_ml, 6)


def _contents(mix: Mix, each: int) -> dict[str, float]:
    """Drops of each paint in a pot itself, fractions of a pre-mix included."""
    drops: dict[str, float] = {}
    for i in mix.recipe:
        shares = [(i.paint, 1.0)]
        if i.premix is not None:
            whole = i.premix.parts + i.premix.of
            shares = [(i.premix.paint, i.premix.parts / whole), (i.premix.into, i.premix.of / whole)]
        for id, share in shares:
            drops[id] = drops.get(id, 0.0) + i.parts * each * share
    return drops


def _paints(
    mixes: Sequence[Mix],
    order: PaintingOrder,
    laid: Mapping[tuple[int, str, int], float],
    measured: Mapping[str, Sequence[Measured]],
    box: Box,
    drop_ml: float,
) -> list[Quantity]:
    """The shopping list: every paint the pots take, in the box's order, against what is left of it."""
    drops: dict[str, int] = {}
    single: dict[str, float] = {}
    for m in mixes:
        whole = sum(i.parts for i in m.recipe)
        for id, count in _contents(m, 1).items():
            single[id] = single.get(id, 0.0) + _mix_ml(m, order, laid) * count / whole
        for pot in measured[m.id]:
            for id, count in paint_drops(m, pot.each).items():
                drops[id] = drops.get(id, 0) + count
    return [_paint(p, single[p.id], drops[p.id], drop_ml) for p in box.paints if drops.get(p.id)]


def _paint(paint: Paint, ml_casting: float, drops: int, drop_ml: float) -> Quantity:
    ml = _ml(drops, drop_ml)
    short = 0.0 if paint.ml_left is None else max(0.0, ml - paint.ml_left)
    return Quantity(
        "paint",
        paint.id,
        paint.name,
        ml_casting,
        ml,
        drops,
        ml * paint.density,
        ml_left=paint.ml_left,
        short_ml=short,
        cost=None if paint.price_per_ml is None else ml * paint.price_per_ml,
        note=f"buy {math.ceil(short * 10 - 1e-6) / 10:g} ml" if short else "",
    )


def _coating(
    what: str, name: str, dry: DryTimes, surface_cm2: float, coats: int, settings: RunSettings
) -> tuple[Quantity, ...]:
    """Primer or varnish over everything, rounded up to what can be measured; nothing for no coat."""
    kind: PaintKind = paint_kind(dry.kind)
    if coats < 0:
        raise InputError(f"{coats} coats of {what} cannot be laid", where=what, cure="give 0 or more")
    if not coats:
        return ()
    one = film_ml(surface_cm2, dry.wet_um) * coats * settings.loss * kind.overspray
    whole = round(math.ceil(one * settings.castings / kind.measure_ml - 1e-9) * kind.measure_ml, 6)
    drops = 0 if kind.sprayed else round(whole / DROP_ML)
    note = f"{kind.name}, " + ("one coat" if coats == 1 else f"{coats} coats")
    return (Quantity(what, kind.key, name, one, whole, drops, whole * kind.density, note=note),)
