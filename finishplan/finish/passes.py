"""Fewest passes: in which order to open the mixes so that each is opened as few times as the rules allow.

A pass takes every item of its mix that is due (laying more never hurts: whatever could follow still can), so what is
left is a set of items, and a move opens a mix. What makes the search small:

- mixes that wait for each other in a circle form a knot (a strongly connected component of the mixes left). Knots
  share no mix and no circle, so the fewest passes are the sum over the knots, and a mix in no circle costs exactly one;
- a knot of k mixes needs at least k + 1 passes, and as many as the longest chains of its items with another mix between
  (`_levels`) ask for;
- knots recur, so the least passes of each are kept (dynamic programming over knots, deepened one pass at a time).

This is exact. After NODE_LIMIT knots it is given up: a beam then yields an order, and the sum of what is proven of
the knots stays as the bound. Among orders equally short the broadest brush comes first, at every step (`_broad_first`).
"""

from collections.abc import Iterator, Sequence
from graphlib import CycleError, TopologicalSorter
from itertools import combinations

from finishplan.finish.circles import cheapest_breaks
from finishplan.finish.problem import Arc, Opening, OrderProblem, OrderSolution

PROVEN_MIXES = 14
NODE_LIMIT = {True: 20_000, False: 2_000}
"""Knots opened before the search is given up, up to PROVEN_MIXES mixes and beyond."""
TIE_SHARE = 20
"""A trial of ties may open this fraction of the knots: they are not worth more."""
BEAM = 10


class _GivenUp(Exception):
    """The search has opened as many knots as it may."""


def solve(problem: OrderProblem, node_limit: int | None = None) -> OrderSolution:
    """Break circles at the least weight, then the fewest passes, then as many ties kept as cost no pass, then broad
    before fine. Exact up to `node_limit` knots of the search, None: NODE_LIMIT, 0: a quick order; OrderSolution.bound
    says what is proven beyond."""
    n = len(problem.mix)
    if node_limit is None:
        node_limit = NODE_LIMIT[len(set(problem.mix)) <= PROVEN_MIXES]
    broken = cheapest_breaks(n, problem.arcs)
    mended = tuple(k for k in broken if problem.arcs[k].recut)
    mix = (*problem.mix, *(problem.mix[problem.arcs[k].second] for k in mended))
    breadth = (*problem.breadth, *(0.0 for _ in mended))
    arcs = [(a.first, a.second) for k, a in enumerate(problem.arcs) if k not in set(broken)]
    for item, k in enumerate(mended, start=n):
        arcs += [(problem.arcs[k].first, item), (problem.arcs[k].second, item)]
    plain = _Search(mix, arcs, node_limit)
    search, dropped = _keep_ties(plain, problem.ties)
    search.node_limit = 2 * node_limit
    return OrderSolution(search.openings(breadth), broken, mended, dropped, plain.fewest()[0])


def _keep_ties(plain: "_Search", ties: Sequence[Arc]) -> tuple["_Search", tuple[int, ...]]:
    """The search with every tie, heaviest first, that closes no circle and costs no pass; indices of the other ties.

    What holds for a set of ties holds for fewer of them, so halves are tried instead of one tie after the other.
    """
    order = sorted(range(len(ties)), key=lambda k: -ties[k].weight)
    most = plain.fewest()[1]

    def keep(search: "_Search", some: Sequence[int]) -> "_Search":
        arcs = [*search.arcs, *((ties[k].first, ties[k].second) for k in some)]
        if _acyclic(arcs):
            tried = plain.with_arcs(arcs)
            if tried.within(most):
                return tried
        if len(some) <= 1:
            return search
        half = len(some) // 2
        return keep(keep(search, some[:half]), some[half:])

    search = keep(plain, order)
    kept = set(search.arcs[len(plain.arcs) :])
    return search, tuple(k for k, t in enumerate(ties) if (t.first, t.second) not in kept)


def _acyclic(arcs: Sequence[tuple[int, int]]) -> bool:
    sorter = TopologicalSorter[int]()
    for a, b in arcs:
        sorter.add(b, a)
    try:
        sorter.prepare()
    except CycleError:
        return False
    return True


def _ones(bits: int) -> Iterator[int]:
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


class _Search:
    """The search over sets of items left, as bits of an int, for items with mixes and acyclic arcs."""

    def __init__(self, mix: Sequence[int], arcs: Sequence[tuple[int, int]], node_limit: int) -> None:
        self.mix, self.arcs, self.node_limit = mix, list(arcs), node_limit
        self.before, self.after = [0] * len(mix), [0] * len(mix)
        for a, b in arcs:
            self.before[b] |= 1 << a
            self.after[a] |= 1 << b
        self.topological = self._topological()
        for i in self.topological:
            for j in _ones(self.before[i]):
                self.before[i] |= self.before[j]
        for i in reversed(self.topological):
            for j in _ones(self.after[i]):
                self.after[i] |= self.after[j]
        self.of_mix: dict[int, list[int]] = {m: [] for m in sorted(set(mix))}
        for i in self.topological:
            self.of_mix[mix[i]].append(i)
        self.bits = {m: sum(1 << i for i in items) for m, items in self.of_mix.items()}
        self.masks = list(self.bits.values())
        self.levels = self._levels()
        self.opened = 0
        self.low: dict[int, int] = {}
        self.pairs: dict[int, int] = {}
        self.later: dict[int, int] = {}
        self.chains: dict[int, int] = {}
        self.known: dict[int, int] = {}
        self.split: dict[int, tuple[int, tuple[int, ...]]] = {}
        self.answer: tuple[int, int] | None = None
        self.beam = BEAM if node_limit else 1

    def with_arcs(self, arcs: Sequence[tuple[int, int]]) -> "_Search":
        """The same items bound by other arcs, searched no longer than is worth it."""
        if len(arcs) == len(self.arcs):
            return self
        low, passes = self.fewest()
        return _Search(self.mix, arcs, self.node_limit // TIE_SHARE if low == passes else 0)

    def _topological(self) -> list[int]:
        waiting = [b.bit_count() for b in self.before]
        ready = [i for i, w in enumerate(waiting) if w == 0]
        for i in ready:
            for j in _ones(self.after[i]):
                waiting[j] -= 1
                if waiting[j] == 0:
                    ready.append(j)
        return ready

    def _levels(self) -> list[int]:
        """Masks such that each one with items left needs an opening of its own: items that begin a chain of that
        length."""
        need: list[dict[int, int]] = [{} for _ in self.mix]
        for i in reversed(self.topological):
            own = self.mix[i]
            need[i][own] = 1
            for j in _ones(self.after[i]):
                for m, times in need[j].items():
                    again = times + (m == own != self.mix[j])
                    need[i][m] = max(need[i].get(m, 0), again)
        masks: dict[tuple[int, int], int] = {}
        for i, own in enumerate(self.mix):
            for level in range(1, need[i][own] + 1):
                masks[own, level] = masks.get((own, level), 0) | 1 << i
        return [masks[key] for key in sorted(masks)]

    def lay(self, left: int, mix: int) -> int:
        """What is left after one pass of `mix` on every item of it that is due, one after another."""
        for i in self.of_mix[mix]:
            if left >> i & 1 and not self.before[i] & left:
                left ^= 1 << i
        return left

    def knots(self, left: int) -> tuple[int, tuple[int, ...]]:
        """(mixes left that are in no circle of mixes, the knots as sets of their items)."""
        if left not in self.split:
            items = [own for b in self.masks if (own := b & left)]
            reach = self._reaches(items)
            single, knots, seen = 0, [], 0
            for p, own in enumerate(items):
                if not reach[p] >> p & 1:
                    single += 1
                elif not seen >> p & 1:
                    knot = own
                    for q in range(p + 1, len(items)):
                        if reach[p] >> q & 1 and reach[q] >> p & 1:
                            seen, knot = seen | 1 << q, knot | items[q]
                    knots.append(knot)
            self.split[left] = single, tuple(knots)
        return self.split[left]

    def _reaches(self, items: Sequence[int]) -> list[int]:
        """For each mix (a mask of its items), as bits, the mixes that must follow some of it, directly or through
        others."""
        reach = []
        for own in items:
            later, row, bit = self._following(own), 0, 1
            for other in items:
                if later & other:
                    row |= bit
                bit <<= 1
            reach.append(row)
        for q, bit in enumerate([1 << q for q in range(len(items))]):
            beyond = reach[q]
            if beyond:
                reach = [row | beyond if row & bit else row for row in reach]
        return reach

    def _following(self, own: int) -> int:
        """Items of other mixes that wait for any of these, all of one mix."""
        if own not in self.later:
            later = 0
            for i in _ones(own):
                later |= self.after[i]
            self.later[own] = later & ~self.bits[self.mix[own.bit_length() - 1]]
        return self.later[own]

    def at_least(self, knot: int) -> int:
        """A proven lower bound of the passes of a knot: levels, and what mixes that share no mix with others must
        repeat."""
        if knot not in self.low:
            mixes = [own for b in self.masks if (own := b & knot)]
            total = sum(map(self._chains, mixes))
            pairs = [(r, p, q) for p, q in combinations(mixes, 2) if (r := self._repeats(p, q)) > 0]
            pairs.sort(key=lambda pair: -pair[0])
            rest = knot
            for repeats, p, q in pairs:
                if rest & p and rest & q:
                    total, rest = total + repeats, rest & ~(p | q)
            if rest != knot:
                total += sum(self._beyond_chains(k) for k in self.knots(rest)[1])
            self.low[knot] = max(len(mixes) + 1, total)
        return self.low[knot]

    def _chains(self, own: int) -> int:
        """Openings that the longest chains of one mix ask for."""
        if own not in self.chains:
            self.chains[own] = sum(1 for mask in self.levels if mask & own)
        return self.chains[own]

    def _beyond_chains(self, knot: int) -> int:
        return self.at_least(knot) - sum(self._chains(own) for b in self.masks if (own := b & knot))

    def _repeats(self, p: int, q: int) -> int:
        """Passes two mixes need by themselves, laid in turns, beyond what their chains ask for."""
        pair = p | q
        if pair not in self.pairs:
            first, second = self.mix[p.bit_length() - 1], self.mix[q.bit_length() - 1]
            turns = min(self._in_turns(pair, first, second), self._in_turns(pair, second, first))
            self.pairs[pair] = turns - self._chains(p) - self._chains(q)
        return self.pairs[pair]

    def _in_turns(self, left: int, mix: int, other: int) -> int:
        passes = 0
        while left:
            left = self.lay(left, mix)
            mix, other, passes = other, mix, passes + 1
        return passes

    def bound(self, left: int) -> int:
        """What is proven so far of the passes for all that is left."""
        single, knots = self.knots(left)
        return single + sum(self.known.get(k) or self.at_least(k) for k in knots)

    def least(self, knot: int, limit: int) -> int | None:
        """The fewest passes of a knot, None when they are more than `limit`."""
        while knot not in self.known and self.at_least(knot) <= limit:
            if self._reachable(knot, self.low[knot]):
                self.known[knot] = self.low[knot]
            else:
                self.low[knot] += 1
        value = self.known.get(knot)
        return value if value is not None and value <= limit else None

    def _reachable(self, knot: int, passes: int) -> bool:
        """Whether some first move leaves no more than `passes` - 1."""
        self.opened += 1
        if self.opened > self.node_limit:
            raise _GivenUp
        rests = [self.lay(knot, m) for m, b in self.bits.items() if b & knot]
        rests = sorted((r for r in rests if r != knot), key=lambda r: (self.bound(r), r.bit_count()))
        return any(self.bound(r) < passes and self._total(r, passes - 1) is not None for r in rests)

    def _total(self, left: int, limit: int) -> int | None:
        """The fewest passes for all that is left, None when they are more than `limit`."""
        single, knots = self.knots(left)
        spare = limit - self.bound(left)
        if spare < 0:
            return None
        for knot in knots:
            low = self.known.get(knot) or self.at_least(knot)
            value = self.least(knot, low + spare)
            if value is None:
                return None
            spare -= value - low
        return single + sum(self.known[k] for k in knots)

    def fewest(self) -> tuple[int, int]:
        """For the whole problem: (no order has fewer passes, an order found has this many)."""
        if self.answer is None:
            full = (1 << len(self.mix)) - 1
            try:
                total = self._total(full, len(self.mix))
                assert total is not None
                self.answer = total, total
            except _GivenUp:
                self.answer = self.bound(full), len(self._beam())
        return self.answer

    def within(self, passes: int) -> bool:
        """Whether an order of that few passes is found."""
        full = (1 << len(self.mix)) - 1
        return self._fits(full, passes) or (self.node_limit == 0 and len(self._beam()) <= passes)

    def _fits(self, left: int, passes: int) -> bool:
        """Whether what is left is known or found to take no more passes; once given up, only what is known."""
        try:
            return self._total(left, passes) is not None
        except _GivenUp:
            return False

    def _moves(self, left: int) -> list[tuple[int, int]]:
        """(mix, what is left after opening it) for every mix with something due."""
        after = [(m, self.lay(left, m)) for m, b in self.bits.items() if b & left]
        return [(m, rest) for m, rest in after if rest != left]

    def _beam(self) -> list[int]:
        """Mixes to open, a good order when the search is too long: the few most promising states go on."""
        states: dict[int, list[int]] = {(1 << len(self.mix)) - 1: []}
        while 0 not in states:
            following: dict[int, list[int]] = {}
            for left, path in states.items():
                for m, rest in self._moves(left):
                    following.setdefault(rest, [*path, m])
            ranked = sorted(following, key=lambda r: (self.bound(r), r.bit_count(), r))
            states = {r: following[r] for r in ranked[: self.beam]}
        return states[0]

    def openings(self, breadth: Sequence[float]) -> tuple[Opening, ...]:
        """The passes in order: at every step the broadest that leaves the number of passes the least."""
        passes = self.fewest()[1]
        if self._fits((1 << len(self.mix)) - 1, passes):
            return self._laid(self._broad_first(breadth, passes))
        return self._broadened(self._laid(self._beam()), breadth)

    def _broadened(self, openings: Sequence[Opening], breadth: Sequence[float]) -> tuple[Opening, ...]:
        """The same openings, at every step the broadest that is due; two of one mix that come together are one."""
        left, done, result = list(openings), 0, list[Opening]()
        while left:
            due = []
            for k, one in enumerate(left):
                own = sum(1 << i for i in one.items)
                waits = any(self.before[i] & ~(done | own) for i in one.items)
                if not waits and all(sooner.mix != one.mix for sooner in left[:k]):
                    due.append((one, own))
            one, own = max(due, key=lambda d: _broadest(breadth, d[1]))
            left.remove(one)
            done |= own
            if result and result[-1].mix == one.mix:
                one = Opening(one.mix, tuple(sorted((*result.pop().items, *one.items))))
            result.append(one)
        return tuple(result)

    def _laid(self, sequence: Sequence[int]) -> tuple[Opening, ...]:
        result, left = [], (1 << len(self.mix)) - 1
        for m in sequence:
            rest = self.lay(left, m)
            result.append(Opening(m, tuple(_ones(left ^ rest))))
            left = rest
        return tuple(result)

    def _broad_first(self, breadth: Sequence[float], passes: int) -> list[int]:
        """Mixes to open; some move always fits, as the search keeps what it found on its way."""
        left, sequence = (1 << len(self.mix)) - 1, []
        for following in range(passes - 1, -1, -1):
            moves = sorted(self._moves(left), key=lambda move: -_broadest(breadth, left ^ move[1]))
            m, left = next(move for move in moves if self._fits(move[1], following))
            sequence.append(m)
        return sequence


def _broadest(breadth: Sequence[float], items: int) -> float:
    return max(breadth[i] for i in _ones(items))
