"""The maker's wishes for the order: one area laid before another, where the rules leave that free.

A wish is weaker than a rule and than the number of passes, and stronger than a tie or light before dark. One that is
not granted says what stands against it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from finishplan.order.area_names import label
from finishplan.order.problem import Arc, OrderProblem, OrderSolution
from finishplan.order.rules import Look, Ruling
from finishplan.scheme.model import Scheme

BEFORE = "before"
"""The rule of a wish."""
COSTS_A_PASS = "it would cost another pass"
UNDER = "what lies under a colour, or a part that is painted first, goes before it"


def with_wishes(rulings: Sequence[Ruling], scheme: Scheme, looks: Mapping[int, Look]) -> tuple[Ruling, ...]:
    """The rulings and the wishes; a wish takes the place of a tie at the edge of its areas."""
    wishes = {r.pair: r for r in _wishes(scheme, looks)}
    at_edges = [wishes.pop(r.pair, r) if r.rule == "tie" else r for r in rulings]
    kept = (replace(new, edge=old.edge) for new, old in zip(at_edges, rulings, strict=True))
    # Behind them what was asked of areas that do not touch, or that a rule settles: the rule goes before it.
    return (*kept, *wishes.values())


def _wishes(scheme: Scheme, looks: Mapping[int, Look]) -> Iterator[Ruling]:
    """Every wish for two painted areas of different mixes."""
    areas = {a.id: a for a in scheme.areas}
    for first in scheme.areas:
        for second in (areas[i] for i in first.before if i in areas):
            if {first.id, second.id} <= looks.keys() and looks[first.id].mix != looks[second.id].mix:
                why = f"you asked for {label(first)} before {label(second)}"
                yield Ruling(first.id, second.id, BEFORE, why)


def against(
    wish: int,
    problem: OrderProblem,
    behind: Sequence[Ruling | None],
    ties: Sequence[Ruling],
    solution: OrderSolution,
) -> str:
    """Why the wish that is tie number `wish` was not granted: the rules that put its second area first, one after
    another, or the pass that it would cost. behind, ties: the rulings of the problem's arcs and ties."""
    rules = [(problem.arcs[k], r) for k, r in enumerate(behind) if k not in solution.broken]
    rules += [(problem.ties[k], r) for k, r in enumerate(ties) if r.rule == BEFORE and k not in solution.dropped]
    first, second = problem.ties[wish].first, problem.ties[wish].second
    if chain := _chain(rules, {second}, {first}):
        return "; ".join(chain)
    alike = [{k for k, m in enumerate(problem.mix) if m == problem.mix[item]} for item in (second, first)]
    # No chain between the areas themselves: then one between any items of the two mixes parts a pass.
    if chain := _chain(rules, *alike):
        return f"{COSTS_A_PASS}: with the same two mixes, {'; '.join(chain)}"
    return COSTS_A_PASS


def _chain(rules: Sequence[tuple[Arc, Ruling | None]], starts: set[int], goals: set[int]) -> list[str]:
    """The reasons of a shortest chain of rules from one of `starts` to one of `goals`; none where there is no chain."""
    reasons: dict[int, list[str]] = {item: [] for item in sorted(starts)}
    queue = [*reasons]
    for here in queue:
        if here in goals:
            return list(dict.fromkeys(reasons[here]))
        for arc, ruling in rules:
            if arc.first == here and arc.second not in reasons:
                reasons[arc.second] = [*reasons[here], ruling.why if ruling else UNDER]
                queue.append(arc.second)
    return []
