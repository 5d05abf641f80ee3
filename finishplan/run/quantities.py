"""How much of everything: ml, drops and grams of each mix, paint, primer and varnish, and what to buy.

Volume = area x coats x wet film x loss (theoretical spreading of ISO 23811). A mix is measured in whole drops, the same
whole number of drops for each part of its recipe, so it is rounded up pot by pot.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from finishplan.errors import InputError
from finishplan.finish.model import PaintingOrder, Pass, PassWork, Tool
from finishplan.paint.model import Box, Mix, Paint, Premix
from finishplan.run.kinds import PaintKind, paint_kind
from finishplan.run.model import DryTimes, Quantity, Run, RunSettings
from finishplan.run.pots import Laid, pots_by_pass, pots_from_run
from finishplan.run.resin import Resin, resin_quantities
from finishplan.scheme import Scheme

DROP_ML = 0.05
"""One drop (common practice: 20 to the millilitre)."""
MOST_DROPS = 120
"""Beyond this a pot is weighed, not counted (6 ml; common practice)."""
LINE_MM = 3.0
"""Width of the line laid where an edge is recut, or gets one more coat than its area (common practice)."""


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


def premix_drops(mixes: Sequence[Mix], each: Mapping[str, Sequence[int]]) -> dict[Premix, int]:
    """Drops of each pre-mix that all pots take. each: mix id -> drops a part of its pots."""
    drops: dict[Premix, int] = {}
    for m in mixes:
        for i in m.recipe:
            if i.premix is not None:
                drops[i.premix] = drops.get(i.premix, 0) + i.parts * sum(each[m.id])
    return drops


def batches(premix: Premix, drops: int) -> int:
    """How many times the pre-mix's own whole drops are let down to have so many; what is left over keeps, covered."""
    return math.ceil(drops / (premix.parts + premix.of))


def paint_drops(mixes: Sequence[Mix], each: Mapping[str, Sequence[int]]) -> dict[str, int]:
    """Drops of each paint that all pots take. each: mix id -> drops a part of its pots. A pre-mix is let down once for
    the run, in whole batches."""
    drops: dict[str, int] = {}
    for m in mixes:
        for i in m.recipe:
            if i.premix is None:
                drops[i.paint] = drops.get(i.paint, 0) + i.parts * sum(each[m.id])
    for premix, needed in premix_drops(mixes, each).items():
        for paint, parts in ((premix.paint, premix.parts), (premix.into, premix.of)):
            drops[paint] = drops.get(paint, 0) + batches(premix, needed) * parts
    return drops


def laid_ml(
    scheme: Scheme, order: PaintingOrder, paint: DryTimes, loss: float
) -> dict[tuple[int, str, int, str], float]:
    """ml that each (pass, part, coat, mix) takes on one casting, loss on brush or gun included.

    A recut, and the last coats of an area that only its edges need, take a line of LINE_MM along those edges.
    """
    cm2 = {a.id: a.cm2 for a in scheme.areas}
    along = {c.area: c.edge_coats for c in order.coats}
    out: dict[tuple[int, str, int, str], float] = {}
    for one in order.passes:
        wet_um, overspray = _film_of(one.tool, paint)
        for work in one.work:
            line = min(cm2[work.area], _line_mm(order, one, work) * LINE_MM / 100)
            whole = 0 if _recut(one, work) else work.coats - (along.get(work.area, 0) if work.kind == "colour" else 0)
            for coat in range(1, work.coats + 1):
                key = (one.no, work.part, coat, work.mix or one.mix)
                ml = film_ml(cm2[work.area] if coat <= whole else line, wet_um) * loss * overspray
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
    used = tuple({m.id: m for m in (*mixes, *order.extra_mixes)}.values())
    laid = laid_ml(scheme, order, paint, settings.loss)
    pots = {m.id: _pots(m, order, laid, settings, paint, run) for m in used}
    used = tuple(m for m in used if pots[m.id])
    measured = {m.id: tuple(measured_pot(m, ml, drop_ml) for ml in pots[m.id]) for m in used}
    density = {p.id: p.density for p in box.paints}
    surface = sum(p.surface_cm2 for p in scheme.parts)
    name = f"{order.primer.name.removesuffix(' primer')} primer"
    return (
        *(_mix(m, _mix_ml(m, laid), measured[m.id], density, drop_ml) for m in used),
        *_premixes(used, laid, measured, box, drop_ml),
        *_paints(used, laid, measured, box, drop_ml),
        *_coating("primer", name, primer, surface, primer_coats, settings),
        *_coating("varnish", "varnish", varnish, surface, varnish_coats, settings),
        *(resin_quantities(resin, settings) if resin is not None else ()),
    )


def _recut(one: Pass, work: PassWork) -> bool:
    return "recut" in (one.kind, work.kind)


def _line_mm(order: PaintingOrder, one: Pass, work: PassWork) -> float:
    """Length of the edges along which the work is drawn: those the pass recuts, else those the area is second at."""
    if _recut(one, work):
        return sum(e.length_mm for e in order.edges if e.areas in one.edges and work.area in e.areas)
    return sum(e.length_mm for e in order.edges if e.second == work.area)


def _film_of(tool: Tool, paint: DryTimes) -> tuple[float, float]:
    """Wet film in um and overspray of one coat: the paint's own, or the usual kind of the tool where the two differ."""
    kind, sprayed = paint_kind(paint.kind), tool == "airbrush"
    if kind.sprayed == sprayed:
        return paint.wet_um, kind.overspray
    usual = paint_kind("airbrush" if sprayed else "acrylic")
    return usual.wet_um(usual.dry_um), usual.overspray


def _mix_ml(mix: Mix, laid: Laid) -> float:
    return sum(ml for (_, _, _, id), ml in laid.items() if id == mix.id)


def _pots(
    mix: Mix, order: PaintingOrder, laid: Laid, settings: RunSettings, paint: DryTimes, run: Run | None
) -> tuple[float, ...]:
    if run is not None and (pots := pots_from_run(run, mix.id, laid, settings.mix_life_min)):
        return pots
    by_pass = {p.no: sum(ml for (no, _, _, id), ml in laid.items() if (no, id) == (p.no, mix.id)) for p in order.passes}
    passes = [p for p in order.passes if by_pass[p.no]]
    volumes = [settings.castings * by_pass[p.no] for p in passes]
    return pots_by_pass(passes, volumes, settings.castings, settings.painters, paint.recoat_min, settings.mix_life_min)


def _mix(mix: Mix, ml: float, pots: Sequence[Measured], density: Mapping[str, float], drop_ml: float) -> Quantity:
    drops, largest = sum(p.drops for p in pots), max(p.drops for p in pots)
    parts = sum(i.parts for i in mix.recipe)
    gram = drop_ml / parts * sum(density.get(id, 1.2) * count for id, count in _contents(mix, 1).items())
    note = _pot_note(pots, gram)
    run_ml = _ml(drops, drop_ml)
    return Quantity("mix", mix.id, mix.name, ml, run_ml, drops, drops * gram, len(pots), note=note, pot_drops=largest)


def _pot_note(pots: Sequence[Measured], gram: float) -> str:
    """How often and how much at a time; a pot too large to count in drops is weighed. gram: of one drop."""
    sizes = sorted({p.drops for p in pots})
    heavy = sizes[-1] > MOST_DROPS
    if len(pots) == 1 and not heavy:
        return ""
    words = [f"{n * gram:.1f}" if heavy else f"{n}" for n in (sizes[0], sizes[-1])]
    size = words[0] if len(sizes) == 1 else " to ".join(words)
    many = f"made {len(pots)} times, " if len(pots) > 1 else ""
    each = " each" if len(pots) > 1 else ""
    return f"{many}{size} g{each}: weigh it" if heavy else f"{many}{size} drops{each}"


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


def _premixes(
    mixes: Sequence[Mix], laid: Laid, measured: Mapping[str, Sequence[Measured]], box: Box, drop_ml: float
) -> list[Quantity]:
    """Each pre-mix, let down once for the whole run in whole batches."""
    names = {p.id: p.name for p in box.paints}
    density = {p.id: p.density for p in box.paints}
    out = []
    for pre, needed in premix_drops(mixes, _each(measured)).items():
        count = batches(pre, needed)
        whole = count * (pre.parts + pre.of)
        shares = [(m, i.parts / sum(x.parts for x in m.recipe)) for m in mixes for i in m.recipe if i.premix == pre]
        one = sum(_mix_ml(m, laid) * share for m, share in shares)
        strong, base = names.get(pre.paint, pre.paint), names.get(pre.into, pre.into)
        grams = count * drop_ml * (pre.parts * density.get(pre.paint, 1.2) + pre.of * density.get(pre.into, 1.2))
        drop = "1 drop" if count * pre.parts == 1 else f"{count * pre.parts} drops"
        note = f"{drop} into {count * pre.of}, for " + ", ".join(dict.fromkeys(m.id for m, _ in shares))
        id = f"{pre.paint}:{pre.parts}:{pre.of}:{pre.into}"
        out.append(Quantity("premix", id, f"{strong} in {base}", one, _ml(whole, drop_ml), whole, grams, 1, note=note))
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
        for id, count in _contents(m, 1).items():
            single[id] = single.get(id, 0.0) + _mix_ml(m, laid) * count / whole
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
