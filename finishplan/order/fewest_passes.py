"""The search for the fewest passes: sets of items left to lay, as bits of an int.

A pass takes every item of its mix that is due (laying more never hurts: whatever could follow still can), so what is
left is a set of items, and a move opens a mix. What makes the search small:

- mixes that wait for each other in a circle form a knot (a strongly connected component of the mixes left). Knots
  share no mix and no circle, so the fewest passes are the sum over the knots, and a mix in no circle costs exactly one;
- a knot of k mixes needs at least k + 1 passes. The mixes are also parted into groups: what a group needs by itself,
  the rest forgotten but for keeping two of its items apart that have another mix between them, is found once for every
  set of its items, and as no two groups share a mix, the groups' passes add up to a bound (`alone`);
- knots recur, so the least passes of each are kept (dynamic programming over knots, deepened one pass at a time).

This is exact. After `node_limit` knots it is given up, and the sum of what is proven of the knots stays as the bound.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations

GROUP_STATES = 10_000
"""A group of mixes grows while the sets of its items that may be left are no more than this."""


class _GivenUp(Exception):
    """The search has opened as many knots as it may."""


class Knots:
    """What is known of the passes for items with mixes and acyclic arcs. groups: of mixes, as masks of their items,
    where they have been chosen before."""

    def __init__(
        self,
        mix: Sequence[int],
        arcs: Sequence[tuple[int, int]],
        node_limit: int,
        groups: Sequence[int] | None = None,
    ) -> None:
        self.mix, self.arcs, self.node_limit, self.opened = mix, list(arcs), node_limit, 0
        # Sets of items are bits of an int, so that they can be keys, and unions and cuts are single operations.
        self.everything = (1 << len(mix)) - 1
        self.before, self.after = [0] * len(mix), [0] * len(mix)
        for a, b in arcs:
            self.before[b] |= 1 << a
            self.after[a] |= 1 << b
        self.of_mix: dict[int, list[int]] = {m: [] for m in sorted(set(mix))}
        # Topological order within a mix: `lay` then finds what becomes due within the same pass in one sweep.
        for i in self._closed():
            self.of_mix[mix[i]].append(i)
        self.bits = {m: sum(1 << i for i in items) for m, items in self.of_mix.items()}
        self.apart = [self._apart(i) for i in range(len(mix))]
        self.due_first: dict[int, int] = {}
        self.due_later: dict[int, int] = {}
        self.solo: dict[int, int] = {0: 0}
        self.low: dict[int, int] = {}
        self.known: dict[int, int] = {}
        # These tables are never emptied: they hold for every `left`, whatever the order it was come to in.
        self.split: dict[int, tuple[int, tuple[int, ...]]] = {}
        self.groups = tuple(groups or self._grouped())

    def _closed(self) -> list[int]:
        """A topological order; on the way `before` and `after` come to hold all that is before and after."""
        waiting = [b.bit_count() for b in self.before]
        order = [i for i, w in enumerate(waiting) if w == 0]
        for i in order:
            for j in ones(self.after[i]):
                waiting[j] -= 1
                if waiting[j] == 0:
                    order.append(j)
        # In topological order the sets of those before are complete when they are asked for.
        for i in order:
            for j in ones(self.before[i]):
                self.before[i] |= self.before[j]
        for i in reversed(order):
            for j in ones(self.after[i]):
                self.after[i] |= self.after[j]
        return order

    def lay(self, left: int, mix: int) -> int:
        """What is left after one pass of `mix` on every item of it that is due, one after another."""
        for i in self.of_mix[mix]:
            if left >> i & 1 and not self.before[i] & left:
                left ^= 1 << i
        return left

    def moves(self, left: int) -> list[tuple[int, int]]:
        """(mix, what is left after opening it) for every mix with something due."""
        # Mixes with nothing left are skipped by the mask before the costlier look at their items.
        after = [(m, self.lay(left, m)) for m, b in self.bits.items() if b & left]
        return [(m, rest) for m, rest in after if rest != left]

    def knots(self, left: int) -> tuple[int, tuple[int, ...]]:
        """(mixes left that are in no circle of mixes, the knots as sets of their items)."""
        if left not in self.split:
            self.split[left] = self._split(left)
        return self.split[left]

    def _split(self, left: int) -> tuple[int, tuple[int, ...]]:
        """Mixes that wait for nothing, or that nothing waits for, are in no circle; of the others, those that the
        first can reach and that reach it are one knot, and so on with what remains."""
        single, knots = 0, []
        rows = [(own, self._first(own), self._later(own)) for b in self.bits.values() if (own := b & left)]
        while rows:
            # What waits for nothing, or is waited for by nothing, cannot be in a circle; taking it out may free others.
            inner = [row for row in rows if row[1] & left and row[2] & left]
            if len(inner) < len(rows):
                single += len(rows) - len(inner)
                left, rows = sum(row[0] for row in inner), inner
                continue
            knot = _reached(rows, left, 1) & _reached(rows, left, 2)
            # Reached from both sides by itself alone: in no circle, though it waits and is waited for.
            if knot == rows[0][0]:
                single += 1
            else:
                knots.append(knot)
            left ^= knot
            rows = [row for row in rows if not row[0] & knot]
        return single, tuple(knots)

    def _first(self, own: int) -> int:
        """Items of other mixes that some of these, all of one mix, wait for."""
        if own not in self.due_first:
            self.due_first[own] = self._of_others(own, self.before)
        return self.due_first[own]

    def _later(self, own: int) -> int:
        """Items of other mixes that wait for any of these, all of one mix."""
        if own not in self.due_later:
            self.due_later[own] = self._of_others(own, self.after)
        return self.due_later[own]

    def _of_others(self, own: int, beyond: Sequence[int]) -> int:
        found = 0
        for i in ones(own):
            found |= beyond[i]
        # All of `own` are of one mix, so any bit of it tells which.
        return found & ~self.bits[self.mix[own.bit_length() - 1]]

    def _apart(self, item: int) -> int:
        """Items of the same mix that cannot share a pass with `item`: another mix is laid between."""
        own = self.bits[self.mix[item]]
        # `before` holds all that is before, not the direct arcs alone, so a mix between is found at any distance.
        sooner = self.before[item] & own
        return sum(1 << i for i in ones(sooner) if self.after[i] & self.before[item] & ~own)

    def alone(self, left: int) -> int:
        """The fewest passes for a few mixes by themselves."""
        if left not in self.solo:
            rests = []
            for m, own in self.bits.items():
                if own & left and (rest := self._lay_apart(left, m)) != left:
                    if not rest & own:  # nothing of it remains: opening it now is as good as ever
                        rests = [rest]
                        break
                    rests.append(rest)
            self.solo[left] = 1 + min(self.alone(r) for r in rests)
        return self.solo[left]

    def _lay_apart(self, left: int, mix: int) -> int:
        start = left
        # start ^ left: what this very pass has laid; what went before it does not stand against the item.
        for i in self.of_mix[mix]:
            if left >> i & 1 and not self.before[i] & left and not self.apart[i] & (start ^ left):
                left ^= 1 << i
        return left

    def _grouped(self) -> list[int]:
        """Mixes joined two by two, always those that gain the most, while their states are few enough."""
        groups = list(self.bits.values())
        # By itself a mix is laid along one chain: at most n + 1 sets of its n items are left on the way.
        states = {own: own.bit_count() + 1 for own in groups}
        while True:
            pairs = [(p, q) for p, q in combinations(groups, 2) if states[p] * states[q] <= GROUP_STATES]
            if not pairs:
                return groups
            # Of equal gains the pair with fewer states, which leaves room for joining more.
            gain = {
                (p, q): (self.alone(p | q) - self.alone(p) - self.alone(q), -states[p] * states[q]) for p, q in pairs
            }
            p, q = max(pairs, key=lambda pair: gain[pair])
            states[p | q] = states[p] * states[q]
            groups = [*(g for g in groups if g not in (p, q)), p | q]

    def by_groups(self, left: int) -> int:
        """A lower bound of the passes for all that is left: what the groups need, each by itself."""
        return sum(self.alone(own) for group in self.groups if (own := group & left))

    def at_least(self, knot: int) -> int:
        """A proven lower bound of the passes of a knot."""
        if knot not in self.low:
            mixes = sum(1 for own in self.bits.values() if own & knot)
            # In a knot no mix can be laid in one pass before all others: one of them comes twice at least.
            self.low[knot] = max(mixes + 1, self.by_groups(knot))
        return self.low[knot]

    def bound(self, left: int) -> int:
        """What is proven so far of the passes for all that is left."""
        single, knots = self.knots(left)
        # `or`: no knot takes 0 passes, so a missing entry is the only false one.
        return single + sum(self.known.get(k) or self.at_least(k) for k in knots)

    def _least(self, knot: int, limit: int) -> int | None:
        """The fewest passes of a knot, None when they are more than `limit`."""
        # Deepened by one pass at a time, so that the first limit that can be met is the least.
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
        # The most promising first, as any() ends with the first that fits; the number last for one order everywhere.
        rests = sorted((self.bound(r), r.bit_count(), r) for _, r in self.moves(knot))
        return any(bound < passes and self._total(r, passes - 1) is not None for bound, _, r in rests)

    def _total(self, left: int, limit: int) -> int | None:
        """The fewest passes for all that is left, None when they are more than `limit`."""
        single, knots = self.knots(left)
        spare = limit - self.bound(left)
        if spare < 0:
            return None
        for knot in knots:
            # Each knot may take what its bound and all that is spare allow; what it uses is gone for the next.
            low = self.known.get(knot) or self.at_least(knot)
            value = self._least(knot, low + spare)
            if value is None:
                return None
            spare -= value - low
        return single + sum(self.known[k] for k in knots)

    def fewest(self) -> int | None:
        """The fewest passes for everything; None when the search is given up, `bound` then tells what is proven."""
        try:
            return self._total(self.everything, len(self.mix))
        except _GivenUp:
            return None

    def fits(self, left: int, passes: int) -> bool:
        """Whether what is left is known or found to take no more passes; once given up, only what is known."""
        try:
            return self._total(left, passes) is not None
        except _GivenUp:
            return False


def ones(bits: int) -> Iterator[int]:
    """The places of the ones, ascending."""
    # Two's complement: the lowest one alone.
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


def _reached(rows: Sequence[tuple[int, int, int]], left: int, side: int) -> int:
    """The first mix of `rows` and all that it reaches on that side, as a set of items."""
    found, reached = rows[0][0], rows[0][side] & left
    while reached & ~found:
        for row in rows:
            if reached & row[0] and not found & row[0]:
                found |= row[0]
                reached |= row[side] & left
    return found
