"""Circles are broken at the least weight: against every order tried, and against a cover of all circles networkx
finds."""

import random

import networkx as nx
import numpy as np
import pytest
from exhaustive import least_broken
from scipy.optimize import LinearConstraint, milp

from finishplan.order import circles
from finishplan.order.problem import Arc


def random_arcs(n: int, count: int, seed: int) -> list[Arc]:
    rng = random.Random(seed)
    pairs = rng.sample([(a, b) for a in range(n) for b in range(n) if a != b], count)
    return [Arc(a, b, rng.uniform(1, 40)) for a, b in pairs]


def cover_of_all_circles(n: int, arcs: list[Arc]) -> float:
    """Least weight that meets every simple circle, all of them enumerated by networkx."""
    graph = nx.DiGraph([(a.first, a.second) for a in arcs])
    column = {(a.first, a.second): k for k, a in enumerate(arcs)}
    rows = []
    for circle in nx.simple_cycles(graph):
        row = np.zeros(len(arcs))
        for a, b in zip(circle, [*circle[1:], circle[0]], strict=True):
            row[column[a, b]] = 1
        rows.append(row)
    if not rows:
        return 0.0
    weights = np.array([a.weight for a in arcs])
    constraint = LinearConstraint(np.array(rows), 1, np.inf)
    return float(milp(weights, integrality=np.ones(len(arcs)), constraints=constraint).fun)


@pytest.mark.parametrize("seed", range(40))
def test_equals_every_order_tried(seed: int) -> None:
    arcs = random_arcs(6, 12, seed)
    weight, sets = least_broken(6, arcs)
    broken = circles.cheapest_breaks(6, arcs)
    assert frozenset(broken) in sets
    assert sum(arcs[k].weight for k in broken) == pytest.approx(weight)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("limit", [14, 1])
def test_equals_networkx_on_larger_graphs(seed: int, limit: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both methods, by subsets and by covering."""
    monkeypatch.setattr(circles, "SUBSET_LIMIT", limit)
    n = 10 + seed % 4
    arcs = random_arcs(n, 2 * n + 4, seed)
    broken = circles.cheapest_breaks(n, arcs)
    left = nx.DiGraph([(a.first, a.second) for k, a in enumerate(arcs) if k not in broken])
    assert nx.is_directed_acyclic_graph(left)
    assert sum(arcs[k].weight for k in broken) == pytest.approx(cover_of_all_circles(n, arcs))


@pytest.mark.parametrize("seed", range(6))
def test_an_arc_that_may_hardly_be_broken_leaves_the_others_weighed(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A part that comes after another weighs 1e9 beside edges of tens: by covering as by subsets."""
    arcs = [Arc(a.first, a.second, 1e9 if k < 3 else a.weight) for k, a in enumerate(random_arcs(11, 28, seed))]
    by_subsets = circles.cheapest_breaks(11, arcs)
    monkeypatch.setattr(circles, "SUBSET_LIMIT", 1)
    by_covering = circles.cheapest_breaks(11, arcs)
    cost = [sum(arcs[k].weight for k in broken) for broken in (by_subsets, by_covering)]
    assert cost[1] == pytest.approx(cost[0], abs=1e-6)


def test_nothing_is_broken_without_a_circle() -> None:
    arcs = [Arc(a, b, 1.0) for a in range(9) for b in range(a + 1, 9)]
    assert circles.cheapest_breaks(9, arcs) == ()
    assert circles.cheapest_breaks(3, []) == ()


def test_two_circles_in_different_places_are_broken_apart() -> None:
    arcs = [Arc(0, 1, 5), Arc(1, 0, 2), Arc(2, 3, 1), Arc(3, 4, 4), Arc(4, 2, 3), Arc(1, 2, 0.1)]
    assert circles.cheapest_breaks(5, arcs) == (1, 2)
