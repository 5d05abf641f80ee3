"""Circles of rules: which arcs to break so that nothing runs in a circle, at the least total weight.

This is the minimum feedback arc set. Each strongly connected component is solved by itself: by dynamic programming over
subsets up to SUBSET_LIMIT items (Lawler's recursion: the best order of a set ends with one of its members), beyond
that as a covering problem whose circles are added as they turn up. Both are exact.
"""

from collections.abc import Iterable, Sequence
from graphlib import CycleError, TopologicalSorter

import numpy as np
from numpy.typing import NDArray

from finishplan.order.problem import Arc

SUBSET_LIMIT = 14


def cheapest_breaks(n: int, arcs: Sequence[Arc]) -> tuple[int, ...]:
    """Indices of the arcs to break, ascending, so that the rest over items 0..n-1 has no circle, at least total
    weight."""
    broken: list[int] = []
    for members in _components(n, arcs):
        inner = [k for k, a in enumerate(arcs) if a.first in members and a.second in members]
        solve = _by_subsets if len(members) <= SUBSET_LIMIT else _by_covering
        broken += solve(members, arcs, inner)
    return tuple(sorted(broken))


def _components(n: int, arcs: Sequence[Arc]) -> list[tuple[int, ...]]:
    """Strongly connected components of two items or more, ascending."""
    # Most drawings have no circle: this look spares them the import of SciPy's graphs.
    if not _runs_in_a_circle(arcs):
        return []
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    ends = ([a.first for a in arcs], [a.second for a in arcs])
    graph = coo_array((np.ones(len(arcs)), ends), shape=(n, n))
    _, label = connected_components(graph, connection="strong")
    # Labels in the order of their first item, not in SciPy's, so that the result hangs on the arcs alone.
    groups = (tuple(int(i) for i in np.flatnonzero(label == k)) for k in dict.fromkeys(label.tolist()))
    return [g for g in groups if len(g) > 1]


def _runs_in_a_circle(arcs: Sequence[Arc]) -> bool:
    earlier: dict[int, list[int]] = {}
    for arc in arcs:
        earlier.setdefault(arc.second, []).append(arc.first)
    try:
        TopologicalSorter(earlier).prepare()
    except CycleError:
        return True
    return False


def _by_subsets(members: tuple[int, ...], arcs: Sequence[Arc], inner: Sequence[int]) -> list[int]:
    """best[set] = min over its last member v of best[set - v] + weight of the arcs from v back into the set."""
    k, place = len(members), {v: p for p, v in enumerate(members)}
    weight = np.zeros((k, k))
    for a in (arcs[i] for i in inner):
        # Two arcs between the same items (two edges of one pair of mixes) weigh together.
        weight[place[a.first], place[a.second]] += a.weight
    back = np.zeros((k, 1))
    for p in range(k):  # back[v, set]: weight of the arcs v -> set
        back = np.concatenate([back, back + weight[:, p : p + 1]], axis=1)
    sets = np.arange(1 << k)
    size = sum((sets >> p) & 1 for p in range(k))
    best = np.full(1 << k, np.inf)
    best[0], last = 0.0, np.zeros(1 << k, dtype=int)
    # By size: each set asks only for sets with one member fewer.
    for level in range(1, k + 1):
        here = sets[size == level]
        for p in range(k):
            having = here[(here >> p) & 1 == 1]
            cost = best[having ^ (1 << p)] + back[p, having ^ (1 << p)]
            # The margin keeps sums that differ by rounding alone from settling which arc is broken.
            better = cost < best[having] - 1e-9
            best[having[better]], last[having[better]] = cost[better], p
    rank, left = {}, (1 << k) - 1
    while left:
        p = int(last[left])
        # Walked back from the whole set: its last member leaves, then the last of what remains.
        left ^= 1 << p
        rank[members[p]] = left.bit_count()
    # An arc is broken where its first stands behind its second in the best order.
    return [i for i in inner if rank[arcs[i].first] > rank[arcs[i].second]]


def _capped(weights: NDArray[np.float64]) -> NDArray[np.float64]:
    """The weights with the same cheapest sets, the greatest no more than all others together and one."""
    top = weights.max()
    # One of 1e9 beside tens would leave the others below the solver's tolerances.
    return np.where(weights == top, min(top, weights[weights < top].sum() + 1), weights)


def _by_covering(members: tuple[int, ...], arcs: Sequence[Arc], inner: Sequence[int]) -> list[int]:
    """Least weight that meets every circle found so far, until breaking it leaves none (milp proves each round)."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import lil_array

    circles: list[frozenset[int]] = []
    broken: set[int] = set()
    # Only circles that the last answer left whole are added: all circles of a figure would be far too many.
    while found := _short_circles(members, arcs, [i for i in inner if i not in broken]):
        circles += [c for c in found if c not in circles]
        column = {i: c for c, i in enumerate(inner)}
        rows = lil_array((len(circles), len(inner)))
        for row, circle in enumerate(circles):
            for i in circle:
                rows[row, column[i]] = 1
        scale = _capped(np.array([arcs[i].weight for i in inner]))
        answer = milp(
            # Scaled to the largest weight, as the solver's tolerances are absolute.
            scale / scale.max(),
            integrality=np.ones(len(inner)),
            bounds=Bounds(0, 1),
            constraints=LinearConstraint(rows.tocsr(), 1, np.inf),
            options={"mip_rel_gap": 0},
        )
        # HiGHS answers with floats near 0 and 1.
        broken = {i for i, chosen in zip(inner, answer.x, strict=True) if chosen > 0.5}
    return sorted(broken)


def _short_circles(members: Iterable[int], arcs: Sequence[Arc], alive: Sequence[int]) -> list[frozenset[int]]:
    """A shortest circle through each arc that lies on one, as sets of arc indices."""
    leaving: dict[int, list[int]] = {v: [] for v in members}
    for i in alive:
        leaving[arcs[i].first].append(i)
    found: dict[frozenset[int], None] = {}
    for start in alive:
        came: dict[int, int] = {arcs[start].second: start}
        queue = [arcs[start].second]
        for v in queue:
            for i in leaving[v]:
                if arcs[i].second not in came:
                    came[arcs[i].second] = i
                    queue.append(arcs[i].second)
        v, trail = arcs[start].first, [start]
        if v not in came:
            continue
        while v != arcs[start].second:
            trail.append(came[v])
            v = arcs[came[v]].first
        found[frozenset(trail)] = None
    return list(found)
