"""Seeded local search on the order of things; its length is counted in steps, never by the clock."""

import random
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from finishplan.run.bench import Score, Unfit
from finishplan.run.problem import RunProblem
from finishplan.run.replay import GO, HOME, POT, Trail

STEPS_PER_S = 150_000
"""Coats timed in a second by one core of an ordinary machine, about."""
JOINS, DRYINGS, ENDINGS, POTS = 0.3, 0.15, 0.1, 0.1
"""How often a move joins coats of one mix, moves a go of the dryer, the end of a session, a pot."""


class Goal(NamedTuple):
    """What is least: the end of the run; with `within`, of the runs in no more sessions that end by then, the
    attendance (in sessions, where their number is told) and the turns."""

    within: int | None = None
    sessions: int | None = None
    turns_first: bool = False

    def of(self, score: Score) -> tuple[int, ...]:
        """Least is best; the second figure is what may be worse for a while."""
        if self.within is None:
            return 0, score.makespan, score.turns, score.hand
        if self.sessions is not None:
            return max(0, score.sessions - self.sessions), score.attendance, score.turns, score.makespan, score.hand
        if self.turns_first:
            return score.turns, score.makespan, score.hand
        return 0, max(score.makespan, self.within), score.turns, score.makespan, score.hand


class Search:
    """Improves a sequence by moves that keep its order valid; worse steps are taken within a shrinking margin.

    Castings move in groups: few large ones find how whole rounds interleave, groups of one polish. An item of the
    sequence is an operation on all castings of a group, or GO, HOME, a POT.
    """

    def __init__(self, problem: RunProblem, sequence: Sequence[int], groups: int, goal: Goal, seed: int = 1) -> None:
        self.problem, self.goal, self.random = problem, goal, random.Random(seed)
        self.rounds, items = _grouped(problem, sequence, groups)
        number = {coat: k for k, coats in enumerate(self.rounds) for coat in coats}
        self.mix = [problem.coats[coats[0]][1].mix for coats in self.rounds]
        self.casting = [problem.coats[coats[0]][0] for coats in self.rounds]
        # Waits between rounds, not coats: a round may move only where every one of its coats may.
        self.behind = [
            {number[b] for coat in coats for kind in problem.waits[coat] for b in kind} for coats in self.rounds
        ]
        primes = {k for k, coats in enumerate(self.rounds) if problem.coats[coats[0]][1].kind == "prime"}
        # `waits` of the problem know nothing of priming all castings first; without this the search would undo it.
        for k, waits in enumerate(self.behind):
            if problem.primes_first and k not in primes:
                waits |= primes
        self.ahead: list[set[int]] = [set() for _ in self.rounds]
        for k, waits in enumerate(self.behind):
            for b in waits:
                self.ahead[b].add(k)
        self.items, self.steps = items, 0
        # Sorted: the choice among them takes the same random numbers whatever the order in which the set gives them.
        mixed = sorted({m for _, op in problem.coats for m in op.used if problem.mixes[m].mixing})
        # With several painters a pot belongs to whoever lays the coat, which the order of things does not know.
        self.pots = mixed if problem.painters == 1 else []
        self.score, self.trail = self._timed(items, Trail((), ()))
        self.best, self.best_score = items, self.score

    def run(self, steps: int, margin: float = 0.03) -> list[int]:
        """Spend `steps` and return the best sequence seen."""
        self.steps = steps
        while self.steps > 0:
            # A try that leads nowhere costs too: else a sequence that no move can change would loop for ever.
            self.steps -= 4
            found = self._changed()
            if found is None or found == self.items:
                continue
            try:
                score, trail = self._timed(found, self.trail)
            # No place in the rack, or a pot thrown away unused: not even taken as a worse step.
            except Unfit:
                continue
            # Squared, so that the second half of the steps is spent almost wholly on getting better.
            if self._takes(score, margin * (self.steps / steps) ** 2):
                self.items, self.score, self.trail = found, score, trail
                # Strictly better: among equals the first found stays.
                if self.goal.of(score) < self.goal.of(self.best_score):
                    self.best, self.best_score = found, score
        return self._expanded(self.best)

    def _takes(self, score: Score, margin: float) -> bool:
        new, now, best = (self.goal.of(s) for s in (score, self.score, self.best_score))
        # Measured against the best, not against what is now: small steps downhill could else add up without end.
        return new <= now or (new[0] == best[0] and new[1] <= best[1] + int(margin * best[1]))

    def _timed(self, items: Sequence[int], trail: Trail) -> tuple[Score, Trail]:
        sequence = self._expanded(items)
        # The coats of a try are the cost of a step; counting them makes the search as long on every machine.
        self.steps -= len(sequence)
        return trail.run_through(self.problem, sequence)

    def _expanded(self, items: Sequence[int]) -> list[int]:
        out: list[int] = []
        for item in items:
            out += self.rounds[item] if item >= 0 else (item,)
        return out

    def _changed(self) -> list[int] | None:
        """A neighbour of the sequence, None if the try led nowhere."""
        kind = self.random.random()
        if self.problem.dryer and kind < DRYINGS:
            return self._moved(GO)
        if self.problem.hours.length is not None and kind < DRYINGS + ENDINGS:
            return self._moved(HOME)
        if self.pots and kind > 1 - POTS:
            return self._moved(POT - self.random.choice(self.pots))
        return self._joined() if self.random.random() < JOINS else self._shifted()

    def _moved(self, mark: int) -> list[int]:
        """A mark set somewhere, taken away, or moved."""
        items, rnd = list(self.items), self.random
        own = [k for k, item in enumerate(items) if item == mark]
        # Taken away oftener than set (0.45 against 0.25), so that useless marks do not pile up.
        if own and rnd.random() < 0.75:
            at = rnd.choice(own)
            del items[at]
            if rnd.random() < 0.6:
                return items
            # Never in first place: nothing is wet there, and no session has begun that could be ended.
            at = min(len(items), max(1, at + rnd.randint(-8, 8)))
        else:
            at = rnd.randint(1, len(items))
        items.insert(at, mark)
        return items

    def _stretch(self) -> tuple[int, int]:
        """Begin and end of a stretch of neighbours, often alike."""
        items, rnd = self.items, self.random
        first = rnd.randrange(len(items))
        stop = first + 1
        # A stretch that begins with a mark is that mark alone, which may go anywhere.
        if items[first] >= 0 and rnd.random() < 0.6:
            key = rnd.choice((self.mix, self.casting, None))
            wide = rnd.randint(1, 12)
            while stop < len(items) and stop - first < wide and items[stop] >= 0:
                if key is not None and key[items[stop]] != key[items[first]]:
                    break
                stop += 1
        return first, stop

    def _shifted(self) -> list[int] | None:
        """A stretch put elsewhere, as far as the waits between coats let it."""
        items, rnd = self.items, self.random
        first, stop = self._stretch()
        block = items[first:stop]
        # Mostly a short way: in a good sequence distant moves are seldom valid and seldom better.
        reach = rnd.randint(1, len(items) if rnd.random() < 0.3 else 12)
        if rnd.random() < 0.5:
            low = self._low(first, block, reach)
            return None if low == first else _put(items, first, stop, rnd.randint(low, first - 1))
        high = self._high(stop, block, reach)
        return None if high == stop else _put(items, first, stop, rnd.randint(stop + 1, high))

    def _joined(self) -> list[int] | None:
        """A stretch of one mix put beside another of that mix, if the waits between let it."""
        items, rnd = self.items, self.random
        first = rnd.randrange(len(items))
        if items[first] < 0:
            return None
        mix, stop = self.mix[items[first]], first + 1
        while stop < len(items) and self._is_mix(items[stop], mix) and rnd.random() < 0.9:
            stop += 1
        block = items[first:stop]
        if rnd.random() < 0.5:
            # As far as the waits let it: of joining, only the nearest stretch of that mix matters, wherever it is.
            low = self._low(first, block, len(items))
            to = next((k + 1 for k in range(first - 1, low - 1, -1) if self._is_mix(items[k], mix)), first)
            return _put(items, first, stop, to) if to < first else None
        high = self._high(stop, block, len(items))
        to = next((k for k in range(stop, high) if self._is_mix(items[k], mix)), stop)
        return _put(items, first, stop, to) if to > stop else None

    def _is_mix(self, item: int, mix: int) -> bool:
        return item >= 0 and self.mix[item] == mix

    def _low(self, first: int, block: Sequence[int], reach: int) -> int:
        # Marks wait for nothing; what they do where they land is judged by the times alone.
        bound = set[int]().union(*(self.behind[i] for i in block if i >= 0))
        low = first
        while low > 0 and first - low < reach and self.items[low - 1] not in bound:
            low -= 1
        return low

    def _high(self, stop: int, block: Sequence[int], reach: int) -> int:
        bound = set[int]().union(*(self.ahead[i] for i in block if i >= 0))
        high = stop
        while high < len(self.items) and high - stop < reach and self.items[high] not in bound:
            high += 1
        return high


def _put(items: list[int], first: int, stop: int, to: int) -> list[int]:
    """items[first:stop] moved to before items[to]."""
    if to <= first:
        return items[:to] + items[first:stop] + items[to:first] + items[stop:]
    return items[:first] + items[stop:to] + items[first:stop] + items[to:]


def _grouped(problem: RunProblem, sequence: Sequence[int], groups: int) -> tuple[list[tuple[int, ...]], list[int]]:
    """Rounds of coats that move together, and the sequence in numbers of rounds: where its round's last coat stood.
    groups: into how many the castings of each figure fall."""
    parts: dict[int, int] = {}
    for f in range(len(problem.figures)):
        own = [j for j, figure in enumerate(problem.castings.figure) if figure == f]
        ends = [len(own) * g // groups for g in range(groups + 1)]
        parts |= {j: f * groups + g for g, (a, b) in enumerate(pairwise(ends)) for j in own[a:b]}
    rounds: dict[tuple[int, int], list[int]] = {}
    for coat in (item for item in sequence if item >= 0):
        casting = problem.coats[coat][0]
        rounds.setdefault((parts[casting], coat - problem.base[casting]), []).append(coat)
    # The last coat's place: it stands behind every coat that any coat of the round waits for, so the order stays valid.
    numbers = {coats[-1]: k for k, coats in enumerate(rounds.values())}
    return [tuple(coats) for coats in rounds.values()], list(_items(sequence, numbers))


def _items(sequence: Sequence[int], last: dict[int, int]) -> Iterator[int]:
    for item in sequence:
        if item < 0:
            yield item
        elif item in last:
            yield last[item]
