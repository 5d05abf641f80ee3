"""The painting order: the public entry. Which mix is laid when, on which areas, in how many coats, over which primer.

What the order settles, and in which sequence:
1. every edge gets a ruling (rules.py) from the mixes as they dry; the maker's wishes go before the rules of the trade;
2. if rulings run in a circle, the cheapest edge is broken (circles.py: length x coats to recut, a wish counting a
   thousandfold) and becomes a recut: the colour that came too early is laid again along that edge, in a later pass of
   its mix if there is one;
3. the mixes are opened as few times as the rulings allow (passes.py), every part and area that is due taken along;
   undercoats and recuts are passes too, merged with a pass of the same mix where one serves;
4. ties are kept, longest first, while they cost no pass; among orders as short, light before dark over the whole
   figure (light_first.py), then broad before fine;
5. coats follow from the ground really below (coats.py), tools and minutes from those (layering.py);
6. all that is done for every primer, and the one with the fewest painter's minutes for the whole run is chosen, or
   a lighter one within a twentieth of it on which no more coats are laid.
Blending: an edge the maker marks `blend` is worked wet in wet, both colours in one pass; an area flagged `blend` is
shaded over its dry base in a pass that follows. The parts' `after` binds every area of the later part.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from finishplan.basics.words import counted, duration
from finishplan.colour.hiding import CLOSE
from finishplan.job.settings import Gloss
from finishplan.order.area_names import label, listed
from finishplan.order.brushes import brush_for, hold_for, mask_for
from finishplan.order.coats import Undercoat, films
from finishplan.order.items import Need, OrderInputs, order_inputs
from finishplan.order.layering import PrimedOrder
from finishplan.order.model import PaintingOrder, Pass, WishedOrder
from finishplan.order.over_primer import Orders, order_over, rough_order_over
from finishplan.order.primer import NEAR, Tone, chosen, tones
from finishplan.order.reasons import pass_reasons
from finishplan.order.settings import OrderSettings, Weights
from finishplan.order.wishes import BEFORE
from finishplan.paint.model import Box, Mix
from finishplan.scheme.model import Scheme


def paint_order(
    scheme: Scheme,
    mixes: tuple[Mix, ...],
    mix_of: Mapping[int, int],
    box: Box,
    settings: OrderSettings,
) -> PaintingOrder:
    """The painting order of a scheme. mix_of: area id -> index into mixes; bare areas may lack one.

    Raises InputError: an area without a mix, nothing to paint, an unknown primer.
    """
    facts = order_inputs(scheme, (mixes, mix_of), box, settings.method, settings.finish)
    return order_of(Orders(facts), settings)


def order_of(known: Orders, settings: OrderSettings) -> PaintingOrder:
    """The painting order where the orders over some primers may be known. settings: of the method and finish for which
    they are. Raises InputError: an unknown primer."""
    facts, primer_coats = known.given, settings.primer_coats
    wished = settings.method.primer.strip().lower() != "auto"
    orders = _weighed(known, tones(settings.method.primer, facts.box, primer_coats), settings.weights, wished)
    best = orders[0]
    primer = chosen(best, orders[1:], settings.castings, wished, primer_coats)
    passes = _told(facts, best, settings.sticks)
    used = {p.mix for p in passes}
    solution = best.solved.solution
    return PaintingOrder(
        passes=passes,
        edges=best.edges,
        coats=best.coats,
        primer=primer,
        bound=solution.bound,
        proven=solution.proven,
        notes=_notes(facts, best),
        # Spare undercoats are made ready for every order; only those that were laid are told.
        extra_mixes=tuple(m for m in best.mixes[len(facts.mixes) :] if m.id in used),
        primers=tuple((d.tone.name, d.minutes) for d in orders),
        broken=tuple(r.edge.areas for r in best.solved.recut if r.edge is not None),
        minutes_per_casting=sum(p.minutes for p in passes),
        wished=_wished(facts, best),
    )


def _weighed(known: Orders, choice: Sequence[Tone], weights: Weights, wished: bool) -> list[PrimedOrder]:
    """An order for every primer: the one to take first, then the others by painter's minutes. Exact for the cheapest
    two and the one to take, as rough as they can be without a chance of being among them for the rest."""
    orders = [rough_order_over(known, tone, weights) for tone in choice]
    # The rough order may have passes too many: what it takes at least cannot shut out the best primer.
    minutes = [d.at_least for d in orders]
    rough = set(range(len(orders)))
    while True:
        ranks = sorted(range(len(orders)), key=lambda k: (wished and k > 0, round(minutes[k], 3), k))
        first = ranks[0]
        near = [k for k in ranks if minutes[k] <= NEAR * minutes[first] and orders[k].laid <= orders[first].laid]
        taken = first if wished else max(near, key=lambda k: orders[k].tone.reflectance)
        # Only what could be first, second or taken is searched in full, and its exact minutes may change that.
        leading = [k for k in (*ranks[:2], taken) if k in rough]
        if not leading:
            return [orders[k] for k in sorted(ranks, key=lambda k: k != taken)]
        k = leading[0]
        orders[k] = order_over(known, choice[k], weights)
        minutes[k] = orders[k].minutes
        rough.remove(k)


def _told(facts: OrderInputs, best: PrimedOrder, sticks: bool) -> tuple[Pass, ...]:
    """The passes with brush, hold, masks and reasons."""
    scheme, areas = facts.scheme, facts.areas
    coats = {c.area: c for c in best.coats}
    lightness = {i: facts.mixes[m].lab[0] for i, m in facts.mix_of.items()}
    result, painted = [], set[int]()
    for one in best.passes:
        due = [areas[i] for i in one.areas]
        parts = [p for p in scheme.parts if any(a.part == p.name for a in due)]
        result.append(
            replace(
                one,
                brush=brush_for(due, one.kind, one.tool),
                holds=hold_for(scheme, parts, one.areas, painted, sticks),
                masks=mask_for(scheme, parts, one, painted, lightness),
                why=(*pass_reasons(one, best.passes, best.edges, coats, areas), *one.why),
            )
        )
        # Behind the pass: while it is laid it cannot be held or masked as painted.
        painted.update(one.areas)
    return tuple(result)


def _wished(facts: OrderInputs, best: PrimedOrder) -> tuple[WishedOrder, ...]:
    """What the maker wished of the order, granted or refused; of areas of one mix and bare ones, nothing."""
    refused = {(r.first, r.second): why for r, why in best.solved.refused}
    pairs = [(r.first, r.second) for r in facts.rulings if r.rule == BEFORE]
    return tuple(WishedOrder(*pair, refused.get(pair, "")) for pair in pairs)


def _notes(facts: OrderInputs, best: PrimedOrder) -> tuple[str, ...]:
    return (*_order_notes(facts, best), *_undercoat_notes(facts, best), *_film_notes(facts, best))


def _order_notes(facts: OrderInputs, best: PrimedOrder) -> list[str]:
    areas, solution = facts.areas, best.solved.solution
    passes = counted(len(solution.openings), "pass")
    fewer = "no order within the rules has fewer"
    notes = [f"{passes}, and {fewer}" if solution.proven else f"{passes}; {fewer} than {solution.bound}"]
    for r in best.solved.recut:
        pair = f"{label(areas[r.first])} and {label(areas[r.second])}"
        notes.append(
            f"the rules contradict each other; the edge of {pair} is the cheapest to touch up ({r.why}{r.if_cut})"
        )
    notes += [f"a wish is given up, the others run against it: {r.why}{r.if_cut}" for r in best.solved.waived]
    notes += [f"a tie is given up, it would cost a pass: {r.why}" for r in best.solved.dropped]
    notes += [f"{r.why}; not granted: {why}" for r, why in best.solved.refused]
    sprayed = [str(p.no) for p in best.passes if p.tool == "airbrush"]
    if sprayed:
        noun = "pass" if len(sprayed) == 1 else "passes"
        told = f"{noun} {listed(sprayed)} sprayed, the rest brushed"
        notes.append(f"{told}; let over-spray fall only on what is darker and still to come")
    elif any(p.why for p in best.passes):
        notes.append("nothing is sprayed: what is broad enough for it holds what must not be breathed")
    elif facts.method.tool == "airbrush":
        notes.append("nothing here is broad enough to spray: all is brushed")
    return notes


def _undercoat_notes(facts: OrderInputs, best: PrimedOrder) -> list[str]:
    """Which undercoats, what they spare in coats and, all together, in minutes of the run; and which are not worth
    it."""

    def told(need: Need, bed: Undercoat) -> tuple[str, str]:
        over = [label(facts.areas[i]) for i in sorted(facts.order) if facts.need(i) == need]
        return f"{bed.by.name} under {listed(over)}", counted(bed.saves, "coat")

    laid = [told(need, bed) for need, bed in sorted(best.undercoats.items())]
    notes = [f"{what} spares {coats}" for what, coats in laid]
    for need, (bed, minutes) in sorted(best.spurned.items()):
        what, coats = told(need, bed)
        cost = f"{duration(minutes, days=False)} more work"
        notes.append(f"{what} would spare {coats}, but cost {cost} in all: not laid")
    if laid:
        gap = best.without - best.minutes
        work = f"about {duration(abs(gap), days=False)} of work in the run"
        most = f"; without them, a colour would take more than {counted(facts.method.max_coats, 'coat')}"
        notes.append("all undercoats together " + (f"spare {work}" if gap >= 0 else f"cost {work}{most}"))
    return notes


def _film_notes(facts: OrderInputs, best: PrimedOrder) -> list[str]:
    shows = [label(facts.areas[c.area]) for c in best.coats if c.curve[-1] > CLOSE]
    notes = (
        [f"{listed(shows)}: the ground shows even after the most coats counted; choose another mix"] if shows else []
    )
    metallic = "how metallic and pearl paints cover cannot be predicted: try their coats on a scrap"
    return [*notes, _varnish_note(facts), metallic]


def _varnish_note(facts: OrderInputs) -> str:
    """How the finish moves the dried colours, measured on the darkest mix of the scheme."""
    used = [facts.mixes[m] for m in sorted(set(facts.mix_of.values()))]
    finishes: tuple[Gloss, ...] = ("matt", "satin", "gloss")
    seen = {g: (f := films(used, facts.box, g)).seen(f.opaque)[:, 0] for g in finishes}
    # The shine of the surface shows most on the darkest.
    k = int(seen["satin"].argmin())
    moves = [(g, float(seen[g][k] - seen[facts.finish][k])) for g in finishes if g != facts.finish]
    shift = " and ".join(f"{abs(v):.1f} {'lighter' if v > 0 else 'darker'} under {g}" for g, v in moves)
    told = f"colours are those under a {facts.finish} varnish; the darkest, {used[k].name}, would dry {shift}"
    return f"{told} (black is 0, white 100)"
