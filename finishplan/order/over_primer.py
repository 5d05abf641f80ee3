"""The whole order over one primer: undercoats, passes and all that follows. The cheapest is the plan."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from finishplan.order.coats import (
    DOT_COATS,
    Bare,
    Undercoat,
    coat_mm,
    films,
    spare_undercoats,
    undercoats_for,
)
from finishplan.order.items import PRIMER, Item, Need, OrderInputs, items_of, problem_of
from finishplan.order.layering import Known, Laying, PrimedOrder, Solved, ground_of
from finishplan.order.passes import solve
from finishplan.order.primer import Tone
from finishplan.order.settings import Weights
from finishplan.order.wishes import BEFORE, against
from finishplan.paint.model import Mix

ROUGH, FAIR = 0, 200
"""Knots the search may open for a first look, and to weigh undercoats; exact orders take what they need."""


class Orders:
    """The orders over all primers as far as they are known, by what each depends on: those solved (primers that ask for
    the same undercoats have one), the undercoats over each primer, the layings. Nothing here hangs on minutes, castings
    or drying, so other `Weights` find all of it again."""

    def __init__(self, given: OrderInputs) -> None:
        self.given, self.known = given, dict[tuple[int | None, tuple[tuple[Need, int], ...]], Solved]()
        self.spare = spare_undercoats(given.box, given.finish)
        self.shared = Known((*given.mixes, *self.spare))
        self.lightness = [m.lab[0] for m in self.shared.mixes]
        self.beds: dict[str, dict[Need, tuple[Undercoat, ...]]] = {}
        self.layings: dict[tuple[str, int | None, tuple[tuple[Need, Undercoat], ...]], Laying] = {}

    def undercoats(self, tone: Tone) -> dict[Need, tuple[Undercoat, ...]]:
        """The undercoats worth a thought over a primer, the best first."""
        if tone.name not in self.beds:
            self.beds[tone.name] = _undercoats(self.given, tone, self.spare)
        return self.beds[tone.name]

    def solved(self, undercoats: Mapping[Need, int], limit: int | None) -> Solved:
        """The order given, for each need with an undercoat, the mix that is laid under it; limit: of the search."""
        # Sorted: the same undercoats found in another order are the same problem.
        key = limit, tuple(sorted(undercoats.items()))
        if key not in self.known:
            items = items_of(self.given, undercoats)
            problem, behind, ties = problem_of(self.given, items, self.lightness)
            solution = solve(problem, limit)
            recut = tuple(r for k in solution.recuts if (r := behind[k]) is not None)
            # Broken and not recut: rules without an edge, most of them the maker's `first` and `last`.
            waived = tuple(r for k in solution.broken if k not in solution.recuts and (r := behind[k]) is not None)
            again = tuple(
                Item((r.second,), self.given.mix_of[r.second], "recut", self.given.areas[r.second].part) for r in recut
            )
            dropped = tuple(ties[k] for k in solution.dropped if ties[k].rule != BEFORE)
            refused = tuple(
                (ties[k], against(k, problem, behind, ties, solution))
                for k in solution.dropped
                if ties[k].rule == BEFORE
            )
            self.known[key] = Solved((*items, *again), solution, recut, waived, dropped, refused)
        return self.known[key]

    def laying(self, tone: Tone, undercoats: Mapping[Need, Undercoat], limit: int | None) -> Laying:
        """The order over a primer with these undercoats."""
        key = tone.name, limit, tuple(sorted(undercoats.items(), key=lambda pair: pair[0]))
        if key not in self.layings:
            index = {m.id: k for k, m in enumerate(self.shared.mixes)}
            solved = self.solved({need: index[u.by.id] for need, u in undercoats.items()}, limit)
            self.layings[key] = Laying(self.given, tone, undercoats, solved, self.shared)
        return self.layings[key]


def rough_order_over(orders: Orders, tone: Tone, weights: Weights) -> PrimedOrder:
    """Everything over the primer `tone` with a quick order, that may have passes too many."""
    return orders.laying(tone, _best(orders.undercoats(tone)), ROUGH).primed(weights)


def order_over(orders: Orders, tone: Tone, weights: Weights) -> PrimedOrder:
    """Everything over the primer `tone`, with the undercoats that are worth the painter's minutes."""
    undercoats, spurned = _weighed(orders, tone, weights)
    found = orders.laying(tone, undercoats, None).primed(weights)
    # By `at_least`, so that a rough search is not taken for a costly order.
    without = orders.laying(tone, {}, FAIR).primed(weights).at_least if undercoats else found.minutes
    return replace(found, spurned=spurned, without=without)


def _best(options: Mapping[Need, Sequence[Undercoat]]) -> dict[Need, Undercoat]:
    return {need: beds[0] for need, beds in options.items()}


def _weighed(
    orders: Orders, tone: Tone, weights: Weights
) -> tuple[dict[Need, Undercoat], dict[Need, tuple[Undercoat, float]]]:
    """The undercoats to lay; those that spare coats but would cost minutes, and how many.

    A mix may be opened once more for its undercoats, or the pieces taken up once more: they are tried in the other
    mix, or left out together, but for colours that would need more than the most coats without.
    """
    options = orders.undercoats(tone)
    laid, spurned = _best(options), dict[Need, tuple[Undercoat, float]]()
    best = orders.laying(tone, laid, FAIR).primed(weights)
    for mix in dict.fromkeys(p.mix for p in best.passes):
        mine = {need: bed for need, bed in laid.items() if bed.by.id == mix}
        if not mine:
            continue
        other = {need: options[need][-1] for need in mine}
        # Without its undercoat such a colour would need more coats than allowed: it is not for minutes to decide.
        spared = {need for need, bed in mine.items() if bed.alone <= orders.given.method.max_coats}
        trials = [{**laid, **other}, {need: bed for need, bed in laid.items() if need not in spared}]
        drafts = [(orders.laying(tone, beds, FAIR).primed(weights), beds) for beds in trials if beds != laid]
        for found, beds in drafts:
            # A short search may find passes too many: what is proven possible is weighed instead.
            gain = best.at_least - found.at_least
            # Half a minute is noise; the first plan stays.
            if gain > 0.5:
                spurned.update({need: (laid[need], gain) for need in laid if need not in beds})
                laid, best = beds, found
    return laid, spurned


def _undercoats(given: OrderInputs, tone: Tone, spare: Sequence[Mix]) -> dict[Need, tuple[Undercoat, ...]]:
    """For each mix and ground that is better off with one, its undercoats; shades go without."""
    if not given.method.undercoat:
        return {}
    found = {}
    in_use = [given.mixes[k] for k in sorted(set(given.mix_of.values()))]
    thick = {speck: coat_mm(given.method, "brush") * (DOT_COATS if speck else 1) for speck in (False, True)}
    primed = {speck: given.films.needed(tone.ground[None], mm, speck)[:, 0] for speck, mm in thick.items()}
    for need in sorted({given.need(i) for i in given.order if given.kind[i] != "blend"}):
        m, on, speck, least = need
        # The coats over another mix stand in the tables already; only the primer changes from call to call.
        alone = primed[speck][m] if on == PRIMER else (given.dabs if speck else given.over)[m, on]
        beds = undercoats_for(
            Bare(given.mixes[m], ground_of(given, tone, need), thick[speck], max(int(alone), least), speck, least),
            in_use,
            spare,
            lambda mixes: films(mixes, given.box, given.finish),
            given.method.max_coats,
        )
        if beds:
            found[need] = beds
    return found
