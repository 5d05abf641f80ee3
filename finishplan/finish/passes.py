"""Fewest passes: in which order to open the mixes so that each is opened as few times as the rules allow.

A pass takes every item of its mix that is due (laying more never hurts: whatever could follow still can), so a state is
the set of items done and a move is a mix. Two facts make the search small:

- a mix whose items are all due at once is opened at once: it must be opened some time, and nothing is lost by now;
- a mix needs at least as many openings as the longest chain of its items with another mix between (`_levels`), which
  bounds what is left from below.

A best-first search (A*) over the states is therefore exact; it is given up after NODE_LIMIT states, and a
beam then yields an order while the search's least open value stays as the stated bound. Among orders equally short
the broadest brush comes first, at every step (`_broad_first`).
"""

import heapq
from collections.abc import Sequence

from finishplan.finish.circles import cheapest_breaks
from finishplan.finish.problem import Arc, Opening, OrderProblem, OrderSolution

NODE_LIMIT = 20_000
BEAM = 100


def solve(problem: OrderProblem, node_limit: int = NODE_LIMIT) -> OrderSolution:
    """Break circles at the least weight, then the fewest passes, then as many ties kept as cost no pass, then broad
    before fine. Exact up to `node_limit` states of the search; OrderSolution.bound says what is proven beyond."""
    n = len(problem.mix)
    broken = cheapest_breaks(n, problem.arcs)
    mended = tuple(k for k in broken if problem.arcs[k].recut)
    mix = (*problem.mix, *(problem.mix[problem.arcs[k].second] for k in mended))
    breadth = (*problem.breadth, *(0.0 for _ in mended))
    arcs = [(a.first, a.second) for k, a in enumerate(problem.arcs) if k not in set(broken)]
    for item, k in enumerate(mended, start=n):
        arcs += [(problem.arcs[k].first, item), (problem.arcs[k].second, item)]
    least = _Search(mix, arcs, node_limit).root()
    kept, dropped = _keep_ties(mix, arcs, problem.ties, least, node_limit)
    search = _Search(mix, kept, node_limit)
    return OrderSolution(search.openings(breadth), broken, mended, dropped, least[0])


def _keep_ties(
    mix: Sequence[int],
    arcs: list[tuple[int, int]],
    ties: Sequence[Arc],
    least: tuple[int, int],
    node_limit: int,
) -> tuple[list[tuple[int, int]], tuple[int, ...]]:
    """The arcs with every tie, heaviest first, that closes no circle and costs no pass; and the indices of the others."""
    order = sorted(range(len(ties)), key=lambda k: -ties[k].weight)
    loose, dropped = list(arcs), []
    for k in order:
        pair = (ties[k].first, ties[k].second)
        if _reaches(loose, pair[1], pair[0]):
            dropped.append(k)
        else:
            loose.append(pair)
    if _Search(mix, loose, node_limit).root()[1] <= least[1]:
        return loose, tuple(sorted(dropped))
    kept, dropped = list(arcs), []
    for k in order:
        pair = (ties[k].first, ties[k].second)
        if _reaches(kept, pair[1], pair[0]) or _Search(mix, [*kept, pair], node_limit).root()[1] > least[1]:
            dropped.append(k)
        else:
            kept.append(pair)
    return kept, tuple(sorted(dropped))


def _reaches(arcs: Sequence[tuple[int, int]], start: int, goal: int) -> bool:
    leaving: dict[int, list[int]] = {}
    for a, b in arcs:
        leaving.setdefault(a, []).append(b)
    seen, queue = {start}, [start]
    for v in queue:
        fresh = [w for w in leaving.get(v, ()) if w not in seen]
        seen.update(fresh)
        queue += fresh
    return goal in seen


class _Search:
    """The search over sets of items done, as bits of an int, for items with mixes and acyclic arcs."""

    def __init__(self, mix: Sequence[int], arcs: Sequence[tuple[int, int]], node_limit: int) -> None:
        self.mix, self.node_limit = mix, node_limit
        self.full = (1 << len(mix)) - 1
        self.before = [0] * len(mix)
        self.after: list[list[int]] = [[] for _ in mix]
        for a, b in arcs:
            self.before[b] |= 1 << a
            self.after[a].append(b)
        self.topological = self._topological()
        self.of_mix: dict[int, list[int]] = {m: [] for m in sorted(set(mix))}
        for i in self.topological:
            self.of_mix[mix[i]].append(i)
        self.bits = {m: sum(1 << i for i in items) for m, items in self.of_mix.items()}
        self.levels = self._levels()
        self.memo: dict[int, tuple[int, int]] = {}

    def _topological(self) -> list[int]:
        waiting = [b.bit_count() for b in self.before]
        ready = [i for i, w in enumerate(waiting) if w == 0]
        for i in ready:
            for j in set(self.after[i]):
                waiting[j] -= 1
                if waiting[j] == 0:
                    ready.append(j)
        return ready

    def _levels(self) -> list[int]:
        """Masks such that each one not yet done needs an opening of its own: items that begin a chain of that length."""
        need: list[dict[int, int]] = [{} for _ in self.mix]
        for i in reversed(self.topological):
            own = self.mix[i]
            need[i][own] = 1
            for j in self.after[i]:
                for m, times in need[j].items():
                    again = times + (m == own != self.mix[j])
                    need[i][m] = max(need[i].get(m, 0), again)
        masks: dict[tuple[int, int], int] = {}
        for i, own in enumerate(self.mix):
            for level in range(1, need[i][own] + 1):
                masks[own, level] = masks.get((own, level), 0) | 1 << i
        return [masks[key] for key in sorted(masks)]

    def lay(self, done: int, mix: int) -> int:
        """The set done after one pass of `mix`: every item of it that is due, one after another."""
        for i in self.of_mix[mix]:
            if not done >> i & 1 and not self.before[i] & ~done:
                done |= 1 << i
        return done

    def at_least(self, done: int) -> int:
        """A lower bound of the passes still to come."""
        return sum(1 for mask in self.levels if mask & ~done)

    def settle(self, done: int) -> tuple[int, list[int]]:
        """Open every mix that one pass completes: the set done and those mixes."""
        opened: list[int] = []
        left = [m for m in self.of_mix if self.bits[m] & ~done]
        again = True
        while again:
            again = False
            for m in list(left):
                then = self.lay(done, m)
                if not self.bits[m] & ~then:
                    done, again = then, True
                    left.remove(m)
                    opened.append(m)
        return done, opened

    def root(self) -> tuple[int, int]:
        """(bound, passes found) for the whole problem; equal when proven."""
        return self.least(0)

    def least(self, done: int) -> tuple[int, int]:
        """Passes still needed from `done`: (no order has fewer, an order found has this many)."""
        if done not in self.memo:
            start, opened = self.settle(done)
            bound = self._best_first(start)
            passes = bound if bound >= 0 else len(self._beam(start))
            low = bound if bound >= 0 else -bound
            self.memo[done] = (len(opened) + low, len(opened) + passes)
        return self.memo[done]

    def _best_first(self, start: int) -> int:
        """The least passes from `start`; minus a lower bound when the search is given up."""
        heap = [(self.at_least(start), 0, 0, start)]
        seen = {start: 0}
        count = 0
        while heap:
            value, _, made, done = heapq.heappop(heap)
            if done == self.full:
                return made
            if made > seen[done]:
                continue
            count += 1
            if count > self.node_limit:
                return -value
            for m in self.of_mix:
                then = self.lay(done, m) if self.bits[m] & ~done else done
                if then == done:
                    continue
                then, opened = self.settle(then)
                cost = made + 1 + len(opened)
                if cost < seen.get(then, cost + 1):
                    seen[then] = cost
                    heapq.heappush(heap, (cost + self.at_least(then), -then.bit_count(), cost, then))
        return 0

    def _beam(self, start: int) -> list[int]:
        """Mixes to open from `start`, a good order when the search is too long: the BEAM most promising states go on."""
        states: dict[int, list[int]] = {start: []}
        while self.full not in states:
            following: dict[int, list[int]] = {}
            for done, path in states.items():
                for m in self.of_mix:
                    then = self.lay(done, m) if self.bits[m] & ~done else done
                    if then == done:
                        continue
                    then, opened = self.settle(then)
                    longer = [*path, m, *opened]
                    if len(longer) < len(following.get(then, [0] * (len(longer) + 1))):
                        following[then] = longer
            ranked = sorted(following, key=lambda d: (len(following[d]) + self.at_least(d), -d.bit_count(), d))
            states = {d: following[d] for d in ranked[:BEAM]}
        return states[self.full]

    def openings(self, breadth: Sequence[float]) -> tuple[Opening, ...]:
        """The passes in order: at every step the broadest that leaves the number of passes the least."""
        low, passes = self.root()
        sequence = self._broad_first(breadth) if low == passes else self._given_up()
        result, done = [], 0
        for m in sequence:
            then = self.lay(done, m)
            result.append(Opening(m, tuple(i for i in range(len(self.mix)) if (then & ~done) >> i & 1)))
            done = then
        return tuple(result)

    def _broad_first(self, breadth: Sequence[float]) -> list[int]:
        done, sequence = 0, []
        while done != self.full:
            goal = self.least(done)[1] - 1
            moves = [(m, self.lay(done, m)) for m in self.of_mix]
            moves = [(m, then) for m, then in moves if then != done]
            moves.sort(key=lambda move: -_broadest(breadth, move[1] & ~done))
            m, done = next(move for move in moves if self.least(move[1])[1] == goal)
            sequence.append(m)
        return sequence

    def _given_up(self) -> list[int]:
        start, opened = self.settle(0)
        return [*opened, *self._beam(start)]


def _broadest(breadth: Sequence[float], items: int) -> float:
    return max(width for i, width in enumerate(breadth) if items >> i & 1)
