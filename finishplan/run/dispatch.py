"""List scheduling: what to do next, by a rule, whenever the painter is free; and whole rounds, casting by casting."""

import heapq
import math
from bisect import insort
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from operator import attrgetter

from finishplan.run.bench import Bench, Score
from finishplan.run.problem import Operation, RunProblem
from finishplan.run.replay import GO, run_through


@dataclass(frozen=True)
class Rule:
    """How the next coat is chosen: the least of its start + `turn` times the turn it needs - `urgent` times the way its
    casting still has to go, drying included - `bulk` times the work that is ready for its mix (up to MUCH). Of equals
    the one that comes first in the painting order. A go of the dryer is made where the next coat then starts more than
    `dryer` times the go sooner."""

    turn: float
    urgent: float
    dryer: float
    bulk: float


MUCH = 3000
"""Ticks of work for one mix beyond which more of it is no reason to take that mix next."""


BULKY = ((0.0, 0.2, 2.0), (0.05, 0.2, 8.0), (0.1, 0.03, 4.0), (0.3, 0.1, 8.0))
"""Weights (bulk, urgent, turn) of rules for many castings."""


def rules(problem: RunProblem) -> Iterator[Rule]:
    """The rules worth trying, those that do best first."""
    for bulk, urgent, turn in (*BULKY, *((0.0, u, t) for u, t in product((0.03, 0.0, 0.1), (4.0, 1.0, 16.0, 0.0)))):
        for dryer in (0.0, 1.0, 4.0) if problem.dryer else (0.0,):
            yield Rule(turn, urgent, dryer, bulk)


def round_by_round(problem: RunProblem, batch: int | None = None) -> list[int]:
    """Castings in batches, in each batch pass by pass: every operation on all its castings before the next operation;
    where all are primed first, that before all batches."""
    size, count = batch or problem.count, problem.count
    primed = [n for n in _rounds(problem, range(count)) if _prime(problem, n)] if problem.primes_first else []
    rest = (n for a in range(0, count, size) for n in _rounds(problem, range(a, min(a + size, count))))
    return [*primed, *(n for n in rest if not (problem.primes_first and _prime(problem, n)))]


def _rounds(problem: RunProblem, castings: Sequence[int]) -> Iterator[int]:
    for f, figure in enumerate(problem.figures):
        own = [j for j in castings if problem.castings.figure[j] == f]
        for index in range(len(figure.operations)):
            yield from (problem.base[j] + index for j in own)


def _prime(problem: RunProblem, coat: int) -> bool:
    return problem.coats[coat][1].kind == "prime"


def batch_sizes(problem: RunProblem, most: int) -> tuple[int, ...]:
    """Batch sizes worth trying, the largest first: each splits the run into another number of batches, and no batch
    holds more than the rack."""
    limit = min(problem.count, problem.castings.rack or problem.count)
    # Fewer batches than this would not fit the rack.
    least = -(-problem.count // limit)
    # Sizes by the number of batches, so that the batches of a run are about equal and none is a rest of one casting.
    return tuple(dict.fromkeys(min(limit, -(-problem.count // n)) for n in range(least, least + most)))


@lru_cache(maxsize=32)  # a run is sought without the hair dryer, and what one would save without its goes too
def dispatch(problem: RunProblem, rule: Rule) -> tuple[tuple[int, ...], Score]:
    """The sequence by the rule, one painter in mind, and what it takes. Castings of a figure are alike: of each
    operation the one ready first is offered. Raises Unfit."""
    listing = _Listing(problem, rule)
    while listing.queues:
        listing.step()
    sequence = tuple(listing.sequence)
    # A go dries what is chosen anew when the sequence is run through.
    return sequence, run_through(problem, sequence) if GO in sequence else listing.bench.score()


@dataclass(frozen=True, eq=False)
class _Queue:
    """The coats of one operation that may be laid. key: (figure, number of the operation); way: that its casting still
    has to go, as it weighs; entries: a heap of (when it is ready, coat)."""

    key: tuple[int, int]
    op: Operation
    way: float
    entries: list[tuple[int, int]]


class _Listing:
    def __init__(self, problem: RunProblem, rule: Rule) -> None:
        # The rule is tried on the same bench that times the run: what it foresees of pots and evenings is what comes.
        self.problem, self.rule, self.bench = problem, rule, Bench(problem)
        self.sequence: list[int] = []
        self.lacking = [len(op.after) for _, op in problem.coats]
        self.empty = {
            (f, k): _Queue((f, k), op, rule.urgent * way, [])
            for f, figure in enumerate(problem.figures)
            for k, (op, way) in enumerate(zip(figure.operations, ways(figure.operations), strict=True))
        }
        # By figure and operation: of equal costs the painting order decides.
        self.queues: list[_Queue] = []
        for n, lacking in enumerate(self.lacking):
            if not lacking:
                self._offer(n)
        self.unprimed = sum(op.kind == "prime" for _, op in problem.coats) if problem.primes_first else 0

    def _queue(self, coat: int) -> _Queue:
        casting = self.problem.coats[coat][0]
        return self.empty[self.problem.castings.figure[casting], coat - self.problem.base[casting]]

    def _offer(self, coat: int) -> None:
        queue = self._queue(coat)
        if not queue.entries:
            insort(self.queues, queue, key=attrgetter("key"))
        # Ready times of what is offered are final, unless the dryer runs: all that the coat waits for is laid.
        heapq.heappush(queue.entries, (self.bench.ready_at(coat), coat))

    def step(self) -> None:
        """Do one thing more: lay the coat that the rule takes, or dry."""
        chosen, start, free = self._next()
        if self.problem.dryer and self._dried(start, free):
            return
        queue = self._queue(chosen)
        # With a rack the entry taken need not be the one on top of the heap.
        queue.entries.remove(next(entry for entry in queue.entries if entry[1] == chosen))
        heapq.heapify(queue.entries)
        if not queue.entries:
            self.queues.remove(queue)
        self.bench.lay(chosen)
        self.sequence.append(chosen)
        self.unprimed -= self.problem.primes_first and _prime(self.problem, chosen)
        for n in self.problem.followers[chosen]:
            self.lacking[n] -= 1
            if not self.lacking[n]:
                self._offer(n)

    def _next(self) -> tuple[int, int, int]:
        """The coat that the rule takes, its start, and when the painter could begin but for what is wet."""
        least, found = math.inf, (-1, 0, 0)
        ready, rack = self._ready() if self.rule.bulk else {}, self.problem.castings.rack
        painter = self.bench.free.index(min(self.bench.free))
        for queue in self.queues:
            op = queue.op
            # Sprayed primer beside wet paint is what `primes_first` is there to avoid.
            if self.unprimed and op.kind != "prime":
                continue
            entry = queue.entries[0] if rack is None else self._first(queue.entries)
            if entry is None:
                continue
            start, free, turn = self._start(painter, op, entry[0])
            # The turn stands in the start already; the weight says how much more than its minutes it should count.
            cost = start + self.rule.turn * turn - queue.way
            if ready:
                cost -= self.rule.bulk * ready.get(op.mix, 0)
            if cost < least:
                least, found = cost, (entry[1], start, free)
        return found

    def _ready(self) -> dict[int, int]:
        """Work that can be done at once with each mix, up to MUCH."""
        now, ready = min(self.bench.free), dict[int, int]()
        for queue in self.queues:
            if queue.entries[0][0] > now:  # the first of a heap
                continue
            op = queue.op
            work = op.work * len([1 for at, _ in queue.entries if at <= now])
            # Capped, so that the mix with by far the most work does not always win over what is urgent.
            ready[op.mix] = min(MUCH, ready.get(op.mix, 0) + work)
        return ready

    def _first(self, queue: list[tuple[int, int]]) -> tuple[int, int] | None:
        """The entry ready first whose casting has a place in the rack."""
        if self.bench.admits(self.problem.coats[queue[0][1]][0]):
            return queue[0]
        fits = [entry for entry in queue if self.bench.admits(self.problem.coats[entry[1]][0])]
        return min(fits, default=None)

    def _start(self, painter: int, op: Operation, ready: int) -> tuple[int, int, int]:
        """When the painter would start a coat, when if nothing were wet, and the turn it takes."""
        bench, problem = self.bench, self.problem
        turn = 0 if bench.brush[painter] == op.mix else problem.turn
        # A pot that has grown too old is not counted here: a rule may be a little wrong, the bench times it rightly.
        pots, free = bench.pots[painter], bench.free[painter] + turn
        for mix in op.used:
            if mix not in pots:
                free += bench.mixing[mix]
        if problem.hours.length is None:
            return (free if free > ready else ready), free, turn
        # The turn must lie in the same session as its coat, since each session begins with a turn anyway.
        return problem.hours.fit(max(free, ready) - turn, turn + op.work) + turn, free, turn

    def _dried(self, start: int, free: int) -> bool:
        """Make a go of the dryer if it is worth it."""
        stream = self.problem.stream
        # The time of two castings: for fewer a go is no shorter, and for more the rule would be too shy.
        go = stream.go[min(1, len(stream.go) - 1)]
        if start - free <= go + stream.rest + self.rule.dryer * go:
            return False
        # The first few of a heap are nearly the first few in time, which is near enough for what to dry next.
        heads = sorted(entry for queue in self.queues for entry in queue.entries[: len(stream.go)])
        castings = self.bench.wet(coat for _, coat in heads)
        if not castings:
            return False
        self.bench.dry(castings)
        self.sequence.append(GO)
        # The go changed the ready times inside the heaps, so that they are heaps no longer.
        for queue in self.queues:
            queue.entries[:] = [(self.bench.ready_at(coat), coat) for _, coat in queue.entries]
            heapq.heapify(queue.entries)
        return True


def ways(operations: Sequence[Operation]) -> list[int]:
    """From the start of each operation to the end of its casting, drying included."""
    out = [op.work for op in operations]
    # Operations stand after those they wait for (RunProblem checks it), so one sweep from behind settles all.
    for index in range(len(out) - 1, -1, -1):
        op = operations[index]
        for before, dry in [(b, "recoat") for b in op.over] + [(b, "touch") for b in op.beside]:
            earlier = operations[before]
            out[before] = max(out[before], earlier.work + getattr(earlier, dry) + out[index])
    return out
