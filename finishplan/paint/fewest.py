"""The fewest pots that serve all colours, neighbours kept apart: exact, by integer programming (HiGHS in scipy).

  minimise  sum_r cost_r y_r + sum_ir w_i d_ir x_ir          cost_r: a pot; one that is known a little less
  so that   sum_r x_ir = 1,  x_ir <= y_r                     each colour i has one pot r that serves it
            2 y_r <= sum_i x_ir                              a pot r that is mixed only for two colours or more
            x_ir + sum_s x_js <= 1                           neighbours i, j: no s that lies too near to r
The weights add up to 1 and no difference is above the largest, so that one pot less outweighs all differences together.
Where there are few choices each is looked at instead: the solver's import takes longer than all else of most plans.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, prod

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.light import delta_e

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Pair = tuple[int, int, float]
"""Two colours that are neighbours, and the least CIEDE2000 between their pots."""

NODES = 4000
"""Of the search tree, after which the best so far is taken with its bound (our limit on the search; no clock, so that
the same drawing always gives the same mixes)."""
LOOKED_AT = 4_000_000
"""Choices times pots up to which each choice is looked at: as quick as the solver (our limit on the search)."""


@dataclass(frozen=True, eq=False)
class Pots:
    """Pots that may be mixed: labs (c, 3); off (c, n): CIEDE2000 from the aim of each colour; serves (c, n): whether it
    may be used for it; known (c,): in the maker's book, or a paint as it comes; joint (c,): mixed only for two colours
    or more."""

    labs: Array
    off: Array
    serves: Flags
    known: Flags
    joint: Flags


@dataclass(frozen=True)
class Taken:
    """pot_of: for each colour the place of its pot. least: so many pots are needed at any rate."""

    pot_of: tuple[int, ...]
    least: int

    @property
    def proven(self) -> bool:
        """Whether no fewer pots serve."""
        return len(set(self.pot_of)) <= self.least


def fewest_pots(pots: Pots, weights: Sequence[float], neighbours: Sequence[Pair], nodes: int = NODES) -> Taken:
    """The fewest pots; of equally few the most that are known, then the least difference weighted by area.

    weights: (n,), above 0. Every colour must have a pot, and some choice keep the neighbours apart: AssertionError.
    """
    # Above all differences together, as the weights add up to 1.
    step = 1.0 + float(pots.off[pots.serves].max(initial=0.0))
    # A pot less outweighs a discount on each of n pots with all differences: 2 (n + 1) - n > 1, in steps.
    cost = 2 * (pots.serves.shape[1] + 1) * step - step * pots.known
    differences = np.asarray(weights, np.float64) / np.sum(weights) * pots.off
    if prod(pots.serves.sum(axis=0).tolist()) * len(pots.labs) <= LOOKED_AT:
        pot_of = _best_of_all(pots, cost, differences, neighbours)
        return Taken(pot_of, len(set(pot_of)))
    return _solved(pots, (cost, differences, step), neighbours, nodes)


def _best_of_all(pots: Pots, cost: Array, differences: Array, neighbours: Sequence[Pair]) -> tuple[int, ...]:
    """The cheapest of all choices. cost: (c,); differences: (c, n), weighted."""
    fits = [np.flatnonzero(column) for column in pots.serves.T]
    # One axis for each colour that can be served by several: what hangs on few colours is computed on their axes alone.
    several = [i for i, pot in enumerate(fits) if len(pot) > 1]
    grid = dict(zip(several, np.ix_(*(np.arange(len(fits[i])) for i in several)), strict=True))
    at = [grid.get(i, np.zeros(1, np.int64)) for i in range(len(fits))]
    taken = [pot[place] for pot, place in zip(fits, at, strict=True)]
    total: Array = np.zeros(1)
    for i, pot in enumerate(taken):
        total = total + differences[pot, i]
    for r in np.flatnonzero(pots.serves.any(axis=1)).tolist():
        served = sum(taken[i] == r for i in np.flatnonzero(pots.serves[r]).tolist())
        price = np.where(served == 1, np.inf, cost[r]) if pots.joint[r] else cost[r]
        total = total + np.where(served, price, 0.0)
    for i, j, least in neighbours:
        total = total + np.where(_too_near(pots, fits[i], fits[j], least)[at[i], at[j]], np.inf, 0.0)
    best = int(total.argmin())
    assert np.isfinite(total.flat[best]), "each colour by its own pot is always a choice"
    return tuple(int(np.broadcast_to(pot, total.shape).flat[best]) for pot in taken)


def _solved(pots: Pots, goal: tuple[Array, Array, float], neighbours: Sequence[Pair], nodes: int) -> Taken:
    """By the solver. goal: cost (c,), weighted differences (c, n), and the step between them."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    cost, differences, step = goal
    pot, colour = np.nonzero(pots.serves)
    candidates, colours, links = len(pots.labs), pots.serves.shape[1], len(pot)
    place = np.full(pots.serves.shape, -1)
    place[pot, colour] = candidates + np.arange(links)
    one = coo_array((np.ones(links), (colour, place[pot, colour])), (colours, candidates + links))
    rows = _rows(pots, place, neighbours)
    size = (len(rows.most), candidates + links)
    # mip_rel_gap 0: the solver's usual gap would call a choice proven that has a pot too many.
    found = milp(
        np.concatenate([cost, differences[pot, colour]]),
        integrality=np.ones(candidates + links),
        bounds=Bounds(0, 1),
        constraints=[
            LinearConstraint(one.tocsr(), 1, 1),
            LinearConstraint(coo_array((rows.values, (rows.rows, rows.columns)), size).tocsr(), -np.inf, rows.most),
        ],
        options={"node_limit": nodes, "mip_rel_gap": 0.0},
    )
    assert found.x is not None, "each colour by its own pot is always a choice"
    # Near 1, not equal to it: HiGHS answers in floats.
    pot_of = tuple((found.x[place] * pots.serves).argmax(axis=0).tolist())
    # Of a search given up: the bound less all that differences can cost, over the dearest pot.
    least = len(set(pot_of)) if found.status == 0 else ceil((found.mip_dual_bound - step) / float(cost.max()) - 1e-6)
    return Taken(pot_of, max(1, least))


def _rows(pots: Pots, place: NDArray[np.int64], neighbours: Sequence[Pair]) -> "_Rows":
    """What binds pots and colours beside one pot a colour. place: (c, n) the variable of each colour in each pot."""
    rows = _Rows()
    # One row a link, not one a pot: the relaxation is much tighter, and the search tree small.
    for r, i in zip(*np.nonzero(pots.serves), strict=True):
        rows.add([int(place[r, i]), int(r)], [1.0, -1.0], 0.0)
    for r in np.flatnonzero(pots.joint).tolist():
        mine = place[r, pots.serves[r]].tolist()
        rows.add([r, *mine], [2.0, *[-1.0] * len(mine)], 0.0)
    for pair in neighbours:
        _keep_apart(pots, place, pair, rows)
    return rows


class _Rows:
    """Rows of a sparse matrix as they come: what they sum is at most `most`."""

    def __init__(self) -> None:
        self.rows: list[int] = []
        self.columns: list[int] = []
        self.values: list[float] = []
        self.most: list[float] = []

    def add(self, columns: Sequence[int], values: Sequence[float], most: float) -> None:
        self.rows += [len(self.most)] * len(columns)
        self.columns += columns
        self.values += values
        self.most.append(most)


def _keep_apart(pots: Pots, place: NDArray[np.int64], pair: Pair, rows: _Rows) -> None:
    """The rows for two neighbours: a pot of the one takes from the other all that lie too near to it."""
    i, j, least = pair
    mine, others = np.flatnonzero(pots.serves[:, i]), np.flatnonzero(pots.serves[:, j])
    for r, row in zip(mine, _too_near(pots, mine, others, least), strict=True):
        if row.any():
            columns = [int(place[r, i]), *place[others[row], j].tolist()]
            rows.add(columns, [1.0] * len(columns), 1.0)


def _too_near(pots: Pots, mine: NDArray[np.int64], others: NDArray[np.int64], least: float) -> Flags:
    """Whether a pot of the one (rows) and a pot of the other (columns) come too near for neighbours."""
    # A pair that is just far enough must not be forbidden by the last digit.
    near: Flags = delta_e(pots.labs[mine, None], pots.labs[others]) < least - 1e-9
    # Neighbours drawn apart never share a pot, whatever their least distance comes to.
    near |= mine[:, None] == others
    return near
