"""Fewest passes: in which order to open the mixes so that each is opened as few times as the rules allow.

The search (fewest_passes.py) is exact up to NODE_LIMIT knots; beyond, a beam yields an order and the bound stays what
is proven. Among orders equally short light comes before dark (light_first.py).
"""

from collections.abc import Callable, Sequence
from graphlib import CycleError, TopologicalSorter

from finishplan.order.circles import cheapest_breaks
from finishplan.order.fewest_passes import Knots, ones
from finishplan.order.light_first import LightFirst
from finishplan.order.problem import Arc, Opening, OrderProblem, OrderSolution

PROVEN_MIXES = 14
NODE_LIMIT = {True: 200_000, False: 3_000}
"""Knots opened before the search is given up, up to PROVEN_MIXES mixes (none of 1,500 hard schemes asked for more than
140,000) and beyond."""
NICE_LIMIT = 1_000
"""Knots that all trials of ties together may open, and as many again what light before dark asks."""
BEAM, QUICK_BEAM = 100, 3


def solve(problem: OrderProblem, node_limit: int | None = None) -> OrderSolution:
    """Break circles at the least weight, then the fewest passes, then as many ties kept as cost no pass, then light
    before dark. Exact up to `node_limit` knots of the search, None: NODE_LIMIT, 0: a quick order; OrderSolution.bound
    says what is proven beyond."""
    n = len(problem.mix)
    if node_limit is None:
        node_limit = NODE_LIMIT[len(set(problem.mix)) <= PROVEN_MIXES]
    broken = cheapest_breaks(n, problem.arcs)
    # Along an edge a broken rule can be made good by a recut; of the others (parts, first, last) it is only told.
    mended = tuple(k for k in broken if problem.arcs[k].recut)
    mix = (*problem.mix, *(problem.mix[problem.arcs[k].second] for k in mended))
    # Breadth 0: a recut goes on top at the end and so counts for nothing in light before dark.
    breadth = (*problem.breadth, *(0.0 for _ in mended))
    arcs = [(a.first, a.second) for k, a in enumerate(problem.arcs) if k not in set(broken)]
    for item, k in enumerate(mended, start=n):
        # Both are there already where it is laid again: what was to come first, and its own first coat.
        arcs += [(problem.arcs[k].first, item), (problem.arcs[k].second, item)]
    search = Knots(mix, arcs, node_limit)
    fewest = search.fewest()
    if fewest is None:
        openings, dropped = _quick(search, problem.ties, problem.lightness, breadth)
        return OrderSolution(openings, broken, mended, dropped, search.bound(search.everything))
    search, dropped = _keep_ties(search, problem.ties, fewest)
    # The search for light before dark opens knots too; those opened so far are not held against it.
    search.node_limit = search.opened + NICE_LIMIT
    sequence = LightFirst(search, problem.lightness, breadth).sequence(fewest)
    return OrderSolution(_laid(search, sequence), broken, mended, dropped, fewest)


def _keep_ties(plain: Knots, ties: Sequence[Arc], passes: int) -> tuple[Knots, tuple[int, ...]]:
    """The search with every tie, heaviest first, that closes no circle and costs no pass; indices of the other ties.

    Wishes go before all others.
    """
    budget = NICE_LIMIT

    def tried(arcs: Sequence[tuple[int, int]]) -> Knots | None:
        nonlocal budget
        # The groups are the dearest to find, and any grouping of the mixes gives a valid bound.
        search = Knots(plain.mix, arcs, budget, plain.groups)
        found = search.fits(search.everything, passes)
        # One budget for all trials: a drawing with many ties must not take many times as long.
        budget = max(0, budget - search.opened)
        return search if found else None

    search = _with_most(plain, sorted(ties, key=lambda t: (not t.wish, -t.weight)), tried)
    # `_with_most` only adds behind the arcs that were there.
    kept = set(search.arcs[len(plain.arcs) :])
    return search, tuple(k for k, t in enumerate(ties) if (t.first, t.second) not in kept)


def _with_most(search: Knots, ties: Sequence[Arc], tried: Callable[[Sequence[tuple[int, int]]], Knots | None]) -> Knots:
    """The search with each of these ties, in turn, that closes no circle and passes `tried`. What holds for a set of
    ties holds for fewer of them, so halves are tried instead of one tie after the other."""
    arcs = [*search.arcs, *((t.first, t.second) for t in ties)]
    if not ties:
        return search
    # All at once first: ties seldom contradict each other, and one trial then settles them.
    if _acyclic(arcs) and (found := tried(arcs)) is not None:
        return found
    if len(ties) == 1:
        return search
    half = len(ties) // 2
    return _with_most(_with_most(search, ties[:half], tried), ties[half:], tried)


def _acyclic(arcs: Sequence[tuple[int, int]]) -> bool:
    sorter = TopologicalSorter[int]()
    for a, b in arcs:
        sorter.add(b, a)
    try:
        sorter.prepare()
    except CycleError:
        return False
    return True


def _laid(search: Knots, sequence: Sequence[int]) -> tuple[Opening, ...]:
    result, left = [], search.everything
    for m in sequence:
        rest = search.lay(left, m)
        result.append(Opening(m, tuple(ones(left ^ rest))))
        left = rest
    return tuple(result)


def _quick(
    search: Knots, ties: Sequence[Arc], lightness: Sequence[float], breadth: Sequence[float]
) -> tuple[tuple[Opening, ...], tuple[int, ...]]:
    """A good order where the search is too long, with the wishes that cost no pass of it and the ties that it happens
    to keep; indices of the other ties."""
    search = _granted(search, [t for t in ties if t.wish])
    openings = _laid(search, _beam(search))
    place = {i: no for no, one in enumerate(openings) for i in one.items}
    dropped = tuple(k for k, t in enumerate(ties) if place[t.first] > place[t.second])
    kept = [(t.first, t.second) for k, t in enumerate(ties) if k not in dropped]
    # Only its arcs are needed for light before dark: 0 knots, as the exact search was given up already.
    tied = Knots(search.mix, [*search.arcs, *kept], 0, search.groups)
    return _reordered(openings, LightFirst(tied, lightness, breadth)), dropped


def _granted(plain: Knots, wishes: Sequence[Arc]) -> Knots:
    """The search with the wishes with which a quick order has no more passes than without."""
    if not wishes:
        return plain
    passes = len(_beam(plain))

    def tried(arcs: Sequence[tuple[int, int]]) -> Knots | None:
        search = Knots(plain.mix, arcs, plain.node_limit, plain.groups)
        return search if len(_beam(search)) <= passes else None

    return _with_most(plain, wishes, tried)


def _beam(search: Knots) -> list[int]:
    """Mixes to open: of every step the few most promising states go on."""
    # The quick plan is there in a moment, and is replaced by the exact order soon after.
    width = BEAM if search.node_limit > NICE_LIMIT else QUICK_BEAM
    states: dict[int, list[int]] = {search.everything: []}
    while 0 not in states:
        following: dict[int, list[int]] = {}
        for left, path in states.items():
            for m, rest in search.moves(left):
                following.setdefault(rest, [*path, m])
        # The number of the state last, so that equal states stand in one order on any machine.
        ranked = sorted(following, key=lambda r: (search.by_groups(r), r.bit_count(), r))
        states = {r: following[r] for r in ranked[:width]}
    return states[0]


def _reordered(openings: Sequence[Opening], weigh: LightFirst) -> tuple[Opening, ...]:
    """The same openings, at every step the lightest that is due; two of one mix that come together are one."""
    waiting, left, result = list(openings), weigh.search.everything, list[Opening]()
    while waiting:
        due = []
        for k, one in enumerate(waiting):
            own = sum(1 << i for i in one.items)
            # Items of one opening may wait for each other: they are laid one after another in one pass.
            waits = any(weigh.search.before[i] & left & ~own for i in one.items)
            # Openings of one mix keep their order, as the later one was made of what the earlier left.
            if not waits and all(sooner.mix != one.mix for sooner in waiting[:k]):
                due.append((one, left ^ own))
        one, rest = min(due, key=lambda d: weigh.next_key(left, d[1]))
        waiting.remove(one)
        left = rest
        if result and result[-1].mix == one.mix:
            one = Opening(one.mix, tuple(sorted((*result.pop().items, *one.items))))
        result.append(one)
    return tuple(result)
