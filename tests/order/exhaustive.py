"""Reference answers by trying everything; for small problems only, and with nothing in common with the solver."""

from collections.abc import Collection, Iterator, Sequence
from functools import cache
from itertools import permutations

from finishplan.order.problem import Arc, OrderProblem


def least_broken(n: int, arcs: Sequence[Arc]) -> tuple[float, set[frozenset[int]]]:
    """(least weight of arcs to break, every set of arcs of that weight), over all orders of the items."""
    best, sets = float("inf"), set[frozenset[int]]()
    for order in permutations(range(n)):
        place = {v: p for p, v in enumerate(order)}
        broken = frozenset(k for k, a in enumerate(arcs) if place[a.first] > place[a.second])
        weight = sum(arcs[k].weight for k in broken)
        if weight < best - 1e-9:
            best, sets = weight, {broken}
        elif weight < best + 1e-9:
            sets.add(broken)
    return best, sets


def with_recuts(problem: OrderProblem, broken: Sequence[int]) -> tuple[tuple[int, ...], list[tuple[int, int]]]:
    """The mixes of all items and the arcs left, recuts added after both sides of the edge they mend."""
    mix = list(problem.mix)
    arcs = [(a.first, a.second) for k, a in enumerate(problem.arcs) if k not in broken]
    for k in broken:
        arc = problem.arcs[k]
        if arc.recut:
            arcs += [(arc.first, len(mix)), (arc.second, len(mix))]
            mix.append(problem.mix[arc.second])
    return tuple(mix), arcs


def least_passes(mix: Sequence[int], arcs: Sequence[tuple[int, int]]) -> int:
    """The fewest changes of mix over every order of the items that keeps the arcs, laid one item at a time."""
    n = len(mix)
    before = [{a for a, b in arcs if b == i} for i in range(n)]

    @cache
    def rest(done: frozenset[int], brush: int) -> int:
        if len(done) == n:
            return 0
        due = [i for i in range(n) if i not in done and before[i] <= done]
        return min((mix[i] != brush) + rest(done | {i}, mix[i]) for i in due)

    return rest(frozenset(), -1)


def darkness(problem: OrderProblem, sequence: Sequence[Collection[int]]) -> float:
    """Over every two items laid in this sequence, specks left out: by how much the later is lighter, from 3 L* on."""
    light = [round(problem.lightness[m], 2) for m in problem.mix]
    total = 0.0
    for k, sooner in enumerate(sequence):
        later = [j for items in sequence[k + 1 :] for j in items]
        for i in sooner:
            gaps = (light[j] - light[i] for j in later if problem.breadth[i] and problem.breadth[j])
            total += sum(gap for gap in gaps if gap >= 3)
    return round(total, 6)


def pass_sequences(mix: Sequence[int], arcs: Sequence[tuple[int, int]], length: int) -> Iterator[list[frozenset[int]]]:
    """Every sequence of `length` passes, each laying all that is due of its mix, that lays everything."""
    n = len(mix)
    before = [{a for a, b in arcs if b == i} for i in range(n)]

    def lay(done: frozenset[int], m: int) -> frozenset[int]:
        grown = done
        while True:
            more = {i for i in range(n) if i not in grown and mix[i] == m and before[i] <= grown}
            if not more:
                return grown
            grown |= more

    def go(done: frozenset[int], left: int) -> Iterator[list[frozenset[int]]]:
        if len(done) == n:
            yield []
        if left == 0 or len(done) == n:
            return
        for m in sorted(set(mix)):
            then = lay(done, m)
            if then != done:
                for more in go(then, left - 1):
                    yield [then - done, *more]

    return (s for s in go(frozenset(), length) if len(s) == length)
