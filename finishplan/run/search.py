"""Seeded local search on the sequence of coats; its length is counted in steps, never by the clock."""

import random
from collections.abc import Sequence
from itertools import accumulate, pairwise, product

from finishplan.run.hours import FOREVER
from finishplan.run.quick import scorer
from finishplan.run.replay import Coat, Score
from finishplan.run.tasks import RunProblem

STEPS_PER_S = 3_000_000
"""Coats re-timed in a second by one core of an ordinary machine, about."""

JOINS = 0.15
PLACES = 6
"""Places beside other rounds of its mix where a round is tried."""

Move = tuple[int, int, int]
"""(operation, group, painter or -1): the operation on all castings of the group, one after another."""


class Search:
    """Improves a sequence by moves that keep its order valid; worse steps are taken within a shrinking margin.

    Castings are moved about in groups: few large groups find how whole rounds should interleave, groups of
    one casting polish. bound: no schedule has a shorter makespan.
    """

    def __init__(
        self,
        problem: RunProblem,
        moves: Sequence[Move],
        groups: Sequence[Sequence[int]],
        bound: int,
        seed: int = 1,
    ) -> None:
        self.problem, self.bound, self.groups = problem, bound, groups
        self.sizes = [len(group) for group in groups]
        self.random = random.Random(seed)
        self.scorer = scorer(problem)
        count = len(problem.operations)
        primes = enumerate(problem.operations) if problem.primes_first else ()
        self.primed_first = frozenset(i for i, op in primes if op.kind == "prime")
        self.waits = [{*op.after} for op in problem.operations] + [{i} for i in range(count)]
        self.followed = [[i for i, after in enumerate(self.waits) if k in after] for k in range(2 * count)]
        paints = [i for i in range(2 * count) if i not in self.primed_first]
        self.behind = [self.waits[i] | self.primed_first if i in paints else self.waits[i] for i in range(2 * count)]
        self.ahead = [paints if i in self.primed_first else self.followed[i] for i in range(2 * count)]
        self.priming, self.painting = (set(product(own, range(len(groups)))) for own in (self.primed_first, paints))
        self.mix = 2 * [op.mix for op in problem.operations]
        hands = enumerate(problem.operations) if problem.dryer else ()
        self.dryable = [i for i, op in hands if op.hand is not None and problem.followers[i]]
        self.expanded: dict[Move, list[Coat]] = {}
        self.moves = list(moves)
        self.key = problem.goal
        self.score, self.begins = self.scorer.keep(self.expand(self.moves)), self._begins(self.moves)
        self.best, self.best_score = self.moves, self.score

    def _begins(self, moves: Sequence[Move]) -> list[int]:
        """The position of each move's first coat, and of the end."""
        return [0, *accumulate([self.sizes[group] for _, group, _ in moves])]

    def expand(self, moves: Sequence[Move]) -> list[Coat]:
        """The coats of the moves."""
        out: list[Coat] = []
        for move in moves:
            if move not in self.expanded:
                index, group, painter = move
                self.expanded[move] = [(index, j, painter) for j in self.groups[group]]
            out += self.expanded[move]
        return out

    def run(self, steps: int, margin: float = 0.03) -> tuple[Coat, ...]:
        """Spend `steps` and return the best sequence seen; ends early when the bound is met."""
        left = steps
        while left > 0 and self.best_score[0] > self.bound:
            allowed = self.best_score[0] + int(margin * self.best_score[0] * (left / steps) ** 2)
            left -= self._try(self._changed(), allowed)
        return tuple(self.expand(self.best))

    def gather(self, steps: int) -> tuple[Coat, ...]:
        """Spend at most `steps` on calling stragglers to their rounds, and rounds to others of their mix, the makespan
        no longer."""
        used = sorted({index for index, _, _ in self.moves})
        for index, back in product(2 * used, (True, False)):
            if steps > 0:
                steps -= self._try(self._gathered(index, back=back), 0)
        for index, back in product(used, (True, False)):
            for place in range(PLACES):
                found = self._called(index, place, back=back)
                if found is None or steps <= 0:
                    break
                steps -= self._try(found, 0)
        return tuple(self.expand(self.best))

    def tidy(self, steps: int, changes: int) -> tuple[Coat, ...]:
        """Spend `steps` on joining coats of one mix, the makespan no longer; until there are so few `changes`."""
        while steps > 0 and self.best_score[2] > changes:
            steps -= self._try(self._join(), 0)
        return tuple(self.expand(self.best))

    def _try(self, found: tuple[list[Move], int] | None, allowed: int) -> int:
        """Go on from a neighbour, given with the first move that differs, if it will do; the steps taken."""
        if found is None:
            return 20
        candidate, since = found
        coats = self.expand(candidate[since:])
        limit = FOREVER if self.problem.fewest_changes else max(allowed, self.score[0])
        score = self.scorer.attempt(coats, self.begins[since], limit)
        steps = 20 + len(coats) * self.scorer.weight
        if self._takes(score, allowed):
            self.scorer.accept()
            self.moves, self.score, self.begins = candidate, score, self._begins(candidate)
            steps += self.begins[-1] * self.scorer.weight
            if self.key(score) < self.key(self.best_score):
                self.best, self.best_score = candidate, score
        return steps

    def _takes(self, score: Score, allowed: int) -> bool:
        """Whether to go on from a neighbour: it is no worse, or not too long (nor asks for more changes where these
        come first)."""
        if self.key(score) <= self.key(self.score):
            return True
        return score[0] <= allowed and not (self.problem.fewest_changes and score[2] > self.best_score[2])

    def _changed(self) -> tuple[list[Move], int] | None:
        """A neighbour of the sequence and the first move that differs, None if the try led nowhere."""
        if self.dryable and self.random.random() < 0.15:
            return self._dry()
        if self.problem.painters > 1 and self.random.random() < 0.3:
            return self._hand_over()
        return self._join() if self.random.random() < JOINS else self._shift()

    def _stretch(self) -> tuple[int, int]:
        """Begin and end of a stretch of neighbouring moves, often alike."""
        moves, rnd = self.moves, self.random
        size, first = len(moves), rnd.randrange(len(moves))
        stop = first + 1
        if rnd.random() < 0.6:
            alike = rnd.choice((self._same_round, self._same_group, self._same_mix))
            wide = rnd.randint(1, max(2, len(self.groups)))
            while stop < size and stop - first < wide and alike(moves[first], moves[stop]):
                stop += 1
        return first, stop

    def _join(self) -> tuple[list[Move], int] | None:
        """Put a stretch of one mix beside another of that mix, if the waits between let it."""
        moves, rnd = self.moves, self.random
        size, first, mixes = len(moves), rnd.randrange(len(moves)), self.mix
        stop, mix = first + 1, mixes[moves[first][0]]
        while stop < size and mixes[moves[stop][0]] == mix and rnd.random() < 0.9:
            stop += 1
        block = moves[first:stop]
        if rnd.random() < 0.5:
            bound = self._before(block)
            for to in range(first - 1, -1, -1):
                index, group, _ = moves[to]
                if mixes[index] == mix:
                    to += 1
                    return (moves[:to] + block + moves[to:first] + moves[stop:], to) if to < first else None
                if (index, group) in bound:
                    return None
            return None
        bound = self._after(block)
        for to in range(stop, size):
            index, group, _ = moves[to]
            if mixes[index] == mix:
                return (moves[:first] + moves[stop:to] + block + moves[to:], first) if to > stop else None
            if (index, group) in bound:
                return None
        return None

    def _gathered(self, index: int, *, back: bool) -> tuple[list[Move], int] | None:
        """An operation's later moves brought back to its first stretch, or its earlier ones put off to its last, all
        that the waits between let; None if it is in one stretch already."""
        moves = self.moves if back else self.moves[::-1]
        must = self.behind[index] if back else self.ahead[index]
        places = [n for n, move in enumerate(moves) if move[0] == index]
        to = next((a + 1 for a, b in pairwise(places) if b > a + 1), None)
        if to is None:
            return None
        bound = {group for i, group, _ in moves[to:] if i in must}
        brought = [n for n in places if n >= to and moves[n][1] not in bound]
        if not brought:
            return None
        taken = set(brought)
        out = moves[:to] + [moves[n] for n in brought] + [m for n, m in enumerate(moves[to:], to) if n not in taken]
        return (out, to) if back else (out[::-1], len(out) - 1 - brought[-1])

    def _called(self, index: int, place: int, *, back: bool) -> tuple[list[Move], int] | None:
        """The whole round of an operation that opens (back) or ends its mix, put beside an earlier (or later) round of
        that mix: the place-th one that the waits let it reach."""
        moves = self.moves if back else self.moves[::-1]
        must, mix = self.behind[index] if back else self.ahead[index], self.mix[index]
        own = [n for n, move in enumerate(moves) if move[0] == index]
        if not own or own[0] == 0 or self.mix[moves[own[0] - 1][0]] == mix:
            return None
        low = max((n for n, move in enumerate(moves) if move[0] in must), default=0) + 1
        mixes, rounds = [self.mix[i] for i, _, _ in moves], [i for i, _, _ in moves]
        places = [n for n in range(low, own[0]) if rounds[n - 1] != rounds[n] and mix in mixes[n - 1 : n + 1]]
        if place >= len(places):
            return None
        to, taken = places[place], set(own)
        out = moves[:to] + [moves[n] for n in own] + [m for n, m in enumerate(moves[to:], to) if n not in taken]
        return (out, to) if back else (out[::-1], len(out) - 1 - own[-1])

    def _hand_over(self) -> tuple[list[Move], int]:
        """Give a stretch to one painter, or all of it that is laid with one mix."""
        moves, rnd = self.moves, self.random
        first, stop = self._stretch()
        painter = rnd.randrange(self.problem.painters)
        if rnd.random() < 0.3:
            mixed = [n for n, move in enumerate(moves) if self._same_mix(move, moves[first])]
        else:
            mixed = list(range(first, stop))
        out = list(moves)
        for n in mixed:
            out[n] = (*moves[n][:2], painter)
        return out, mixed[0]

    def _shift(self) -> tuple[list[Move], int] | None:
        """Put a stretch of neighbouring moves elsewhere, as far as the waits between coats let it."""
        moves, rnd = self.moves, self.random
        size, (first, stop) = len(moves), self._stretch()
        block = moves[first:stop]
        reach = rnd.randint(1, size if rnd.random() < 0.3 else 2 + 3 * len(self.groups))
        if rnd.random() < 0.5:
            low, bound = first, self._before(block)
            while low > 0 and first - low < reach and moves[low - 1][:2] not in bound:
                low -= 1
            if low == first:
                return None
            to = rnd.randint(low, first - 1)
            return moves[:to] + block + moves[to:first] + moves[stop:], to
        high, bound = stop, self._after(block)
        while high < size and high - stop < reach and moves[high][:2] not in bound:
            high += 1
        if high == stop:
            return None
        to = rnd.randint(stop + 1, high)
        return moves[:first] + moves[stop:to] + block + moves[to:], first

    def _dry(self) -> tuple[list[Move], int] | None:
        """Dry a group by hand somewhere between a coat and the next on it, or no longer."""
        moves, rnd, count = self.moves, self.random, len(self.problem.operations)
        index, group = rnd.choice(self.dryable), rnd.randrange(len(self.groups))
        first = next(n for n, move in enumerate(moves, 1) if move[:2] == (index, group))
        stop = first
        while moves[stop][1] != group or index not in self.behind[moves[stop][0]]:
            stop += 1
        if moves[stop][0] >= count:
            return moves[:stop] + moves[stop + 1 :], stop
        to = rnd.randint(first, stop)
        return [*moves[:to], (count + index, group, -1), *moves[to:]], to

    def _same_round(self, one: Move, other: Move) -> bool:
        return one[0] == other[0]

    def _same_group(self, one: Move, other: Move) -> bool:
        return one[1] == other[1]

    def _same_mix(self, one: Move, other: Move) -> bool:
        return self.mix[one[0]] == self.mix[other[0]]

    def _before(self, block: Sequence[Move]) -> set[tuple[int, int]]:
        """(operation, group) of what must stay before some move of the block."""
        found = {(i, group) for index, group, _ in block for i in self.waits[index]}
        return found if all(move[0] in self.primed_first for move in block) else found | self.priming

    def _after(self, block: Sequence[Move]) -> set[tuple[int, int]]:
        """(operation, group) of what must stay after some move of the block."""
        found = {(i, group) for index, group, _ in block for i in self.followed[index]}
        return found | self.painting if any(move[0] in self.primed_first for move in block) else found


def in_groups(castings: int, count: int) -> tuple[tuple[int, ...], ...]:
    """The castings in `count` groups of neighbours, as equal as can be."""
    ends = [castings * g // count for g in range(count + 1)]
    return tuple(tuple(range(a, b)) for a, b in pairwise(ends))


def primed_first(problem: RunProblem, coats: Sequence[Coat]) -> Sequence[Coat]:
    """The same sequence, all priming before the first coat of paint where that is to be."""
    count = len(problem.operations)
    if not problem.primes_first:
        return coats
    return sorted(coats, key=lambda coat: problem.operations[coat[0] % count].kind != "prime")


def as_moves(coats: Sequence[Coat]) -> tuple[Move, ...]:
    """The same sequence with every casting a group of its own."""
    return tuple(coats)


def as_rounds(problem: RunProblem, count: int, coats: Sequence[Coat]) -> tuple[Move, ...]:
    """Round by round over `count` groups of castings, in the order in which the sequence takes a casting in the middle;
    each operation in the hand that has it on all castings, if any has."""
    hands: dict[int, set[int]] = {}
    for index, _, painter in coats:
        hands.setdefault(index, set()).add(painter)
    owner = {index: own.pop() if len(own) == 1 else -1 for index, own in hands.items()}
    order = [i for i, casting, _ in coats if casting == problem.castings // 2 and i < len(problem.operations)]
    return tuple((index, group, owner[index]) for index in order for group in range(count))
