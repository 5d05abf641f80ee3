"""From the order in which coats are laid to times: every task as early as it may be. Times in ticks."""

import heapq
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from finishplan.run.tasks import RunProblem

Coat = tuple[int, int, int]
"""(operation, casting from 0, painter from 0 or -1: whoever can start first). Of M operations, the number M + o stands
for drying operation o's coat by hand at that place of the sequence, if it is still wet enough for that to be of use."""

Score = tuple[int, int, int]
"""What is least in this order: makespan, painters' ticks, mix changes."""


class Placed(NamedTuple):
    """One thing done in time. dryer: drying by hand, else the coat; change: when the mix change right before it
    begins, None if none is due."""

    operation: int
    casting: int
    painter: int
    start: int
    end: int
    dryer: bool = False
    change: int | None = None


@dataclass(frozen=True)
class Timed:
    """A sequence with its times. finish: when each casting's last coat is laid."""

    score: Score
    placed: tuple[Placed, ...]
    finish: tuple[int, ...]


class _Offer(NamedTuple):
    """How soon a painter could lay a coat; forced: the wet coats dried by hand just before, each with its start."""

    start: int
    change: bool
    forced: tuple[tuple[int, int], ...]


class _Bench:
    """Where painters, pieces and rack stand while a sequence is replayed."""

    def __init__(self, problem: RunProblem, spared: frozenset[tuple[int, int]]) -> None:
        self.problem, self.spared = problem, spared
        count = len(problem.operations)
        self.free = [0] * problem.painters
        self.mix = [-1] * problem.painters
        self.opened = [0] * problem.painters
        self.session = [-1] * problem.painters
        self.dry = [[0] * count for _ in range(problem.castings)]
        self.end = [[0] * count for _ in range(problem.castings)]
        self.left = [count] * problem.castings
        self.piece: dict[tuple[int, str], int] = {}
        self.begun = [problem.rack is None] * problem.castings
        self.places = [0] * (problem.rack or 0)
        self.welcome = list(problem.ready)

    def admit(self, casting: int) -> bool:
        """Give the casting a place in the rack; False while there is none."""
        if not self.begun[casting]:
            if not self.places:
                return False
            self.welcome[casting] = max(self.welcome[casting], heapq.heappop(self.places))
            self.begun[casting] = True
        return True

    def lay(self, coat: Coat) -> list[Placed]:
        """Lay one coat as early as may be, with what has to be done just before."""
        index, casting, wish = coat
        op, dry = self.problem.operations[index], self.dry[casting]
        if wish >= 0 or self.problem.painters == 1:
            painter = max(wish, 0)
            offer = self._offer(painter, index, casting)
        else:
            offers = [(self._offer(k, index, casting), k) for k in range(self.problem.painters)]
            offer, painter = min(offers, key=lambda o: (o[0].start, len(o[0].forced), o[0].change, o[1]))
        placed = []
        for before, start in offer.forced:
            earlier = self.problem.operations[before]
            dry[before] = start + (earlier.hand or 0) + earlier.rest
            self.piece[casting, earlier.part] = start + (earlier.hand or 0)
            placed.append(Placed(before, casting, painter, start, start + (earlier.hand or 0), dryer=True))
        end, begin = offer.start + op.work, None
        if offer.change:
            self.mix[painter], self.opened[painter] = op.mix, offer.start
            self.session[painter] = self.problem.hours.index(offer.start)
            begin = offer.start - self.problem.changes[op.mix]
        self.free[painter] = self.piece[casting, op.part] = end
        self.end[casting][index], dry[index] = end, end + op.dry
        self.left[casting] -= 1
        if self.problem.rack is not None and not self.left[casting]:
            heapq.heappush(self.places, max(dry))
        return [*placed, Placed(index, casting, painter, offer.start, end, change=begin)]

    def force(self, coat: Coat) -> list[Placed]:
        """Dry a coat by hand, unless it dries as soon by itself."""
        index, casting, wish = coat[0] - len(self.problem.operations), *coat[1:]
        op, dry = self.problem.operations[index], self.dry[casting]
        if op.hand is None or not self.problem.dryer or (index, casting) in self.spared:
            return []
        ready = max(self.end[casting][index], self.piece.get((casting, op.part), 0))
        painters = range(self.problem.painters) if wish < 0 else (wish,)
        start, painter = min((self.problem.hours.fit(max(self.free[k], ready), op.hand), k) for k in painters)
        end = start + op.hand
        if end + op.rest >= dry[index]:
            return []
        dry[index], self.free[painter], self.piece[casting, op.part] = end + op.rest, end, end
        return [Placed(index, casting, painter, start, end, dryer=True)]

    def _offer(self, painter: int, index: int, casting: int) -> _Offer:
        op, dry = self.problem.operations[index], self.dry[casting]
        free = self.free[painter]
        least = max(self.welcome[casting], self.piece.get((casting, op.part), 0))
        best = _Offer(*self._start(painter, index, free, max([least, *[dry[i] for i in op.after]])), ())
        if not self.problem.dryer:
            return best
        wet, forced, rested = {i: dry[i] for i in op.after if dry[i] > free}, list[tuple[int, int]](), least
        while wet:
            before = max(wet, key=lambda i: (wet[i], i))
            earlier = self.problem.operations[before]
            if earlier.hand is None or (before, casting) in self.spared:
                break
            held = max(free, self.end[casting][before], self.piece.get((casting, earlier.part), 0))
            start = self.problem.hours.fit(held, earlier.hand)
            free = start + earlier.hand
            forced.append((before, start))
            del wet[before]
            rested = max(rested, free + earlier.rest)
            eased = max(rested, *wet.values()) if wet else rested
            offer = _Offer(*self._start(painter, index, free, eased), tuple(forced))
            if offer.start < best.start:
                best = offer
        return best

    def _start(self, painter: int, index: int, free: int, ready: int) -> tuple[int, bool]:
        """The earliest start of a coat by a painter who is free then, and whether a mix change comes first."""
        problem, op = self.problem, self.problem.operations[index]
        hours = problem.hours
        if self.mix[painter] == op.mix:
            start = hours.fit(max(free, ready), op.work)
            life = problem.life[op.mix]
            fresh = life is None or start + op.work <= self.opened[painter] + life
            if fresh and hours.index(start) == self.session[painter]:
                return start, False
        change = problem.changes[op.mix]
        return hours.fit(max(free, ready - change), change + op.work) + change, True


def replay(problem: RunProblem, coats: Sequence[Coat], spared: frozenset[tuple[int, int]] = frozenset()) -> Timed:
    """Give every coat the earliest time that the ones before it in the sequence leave.

    Every operation of every casting must occur once, after those it waits for (ValueError otherwise). Where
    the dryer may be used, a coat that would wait for a wet one is preceded by drying that by hand whenever it
    then starts sooner: the painter would only have waited, and nothing later starts later. `spared`:
    (operation, casting) never dried by hand. A casting that finds the rack full waits, with all that is to be
    done to it, until a place is free.
    """
    bench, waiting = _Bench(problem, spared), list[Coat]()
    placed: list[Placed] = []
    queue = deque(coats)
    count = len(problem.operations)
    if sorted(c[:2] for c in coats if c[0] < count) != [(i, j) for i in range(count) for j in range(problem.castings)]:
        raise ValueError("a coat is laid twice or left out")
    while queue:
        coat = queue.popleft()
        if not bench.admit(coat[1]):
            waiting.append(coat)
            continue
        placed += bench.lay(coat) if coat[0] < count else bench.force(coat)
        if waiting and coat[0] < count and not bench.left[coat[1]]:
            queue.extendleft(reversed(waiting))
            waiting = []
    finish = tuple(max(end) for end in bench.end)
    hand = sum(p.end - (p.start if p.change is None else p.change) for p in placed)
    return Timed((max(finish), hand, sum(p.change is not None for p in placed)), tuple(placed), finish)
