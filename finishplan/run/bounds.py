"""Lower bounds: no schedule of the run takes less. Times in ticks.

Symbols: N castings, K painters, p_o work of operation o. What waits for a coat waits its drying, or, where a hair
dryer may dry it, the least of that and the shortest go with its rest; the painter's time for the go is left out.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from finishplan.run.problem import Figure, Operation, RunProblem


@dataclass(frozen=True)
class Bounds:
    """Least end of the run by each argument, least sessions, attendance and turns."""

    work: int
    window: int
    rack: int
    sessions: int
    attendance: int
    turns: int

    @property
    def makespan(self) -> int:
        """The largest of those of the end."""
        return max(self.work, self.window, self.rack)


def bounds(problem: RunProblem) -> Bounds:
    """All bounds of the problem."""
    turns, hand = least_turns(problem), least_hand(problem)
    sessions, attendance = _sessions(problem, hand, turns)
    return Bounds(
        bound_work(problem, hand, turns), bound_window(problem), bound_rack(problem), sessions, attendance, turns
    )


def least_turns(problem: RunProblem) -> int:
    """Turns that no schedule avoids. One painter: what is done to one casting is a part of what is done to all, in the
    same order, so the painter turns at least as often as the order of one casting's operations that turns the least;
    found exactly by breadth-first search over mixes, where doing all that is free with the mix at hand never hurts. And
    every mix is turned to."""
    # Whoever lays a mix has turned to it, also where several painters share the turns.
    used = len({op.mix for figure in problem.figures for op in figure.operations})
    if problem.painters > 1:
        return used
    # Of several figures the largest, not the sum: mixes that they share could be turned to once for both.
    return max(used, *(_fewest_turns(tuple((op.mix, op.after) for op in f.operations)) for f in problem.figures))


def least_hand(problem: RunProblem) -> int:
    """Painters' ticks that no schedule avoids, turns left out: the coats, and of each mix as many pots as their life
    asks for, one at least."""
    laid = [0] * len(problem.mixes)
    taken = set[int]()
    for _, op in problem.coats:
        # What is worked in wet beside it shares the minutes of the coat, so it adds a pot but no work.
        laid[op.mix] += op.work
        taken.update(op.used)
    return sum(laid) + sum(_pots(problem, m, laid[m]) * problem.mixes[m].mixing for m in taken)


def _pots(problem: RunProblem, mix: int, laid: int) -> int:
    life = problem.mixes[mix].life
    # A pot can serve no more ticks of coats than it lives.
    return 1 if life is None else max(1, -(-laid // life))


@lru_cache(maxsize=8)
def _fewest_turns(order: tuple[tuple[int, tuple[int, ...]], ...], most_states: int = 5_000) -> int:
    """The least number of turns over all orders of one casting, given as mix and predecessors of each operation; when
    the search grows too large, what it has proven."""
    everything = (1 << len(order)) - 1
    by_mix: dict[int, list[tuple[int, int]]] = {}
    for index, (mix, after) in enumerate(order):
        by_mix.setdefault(mix, []).append((1 << index, sum(1 << i for i in set(after))))
    every = {mix: sum(own for own, _ in mine) for mix, mine in by_mix.items()}

    def laid(done: int, mine: Sequence[tuple[int, int]]) -> int:
        # Operations come after those they wait for, so one sweep lays all that is free with the mix at hand.
        for own, needs in mine:
            if needs & ~done == 0:
                done |= own
        return done

    front, seen, turns = {0}, {0}, 0
    while everything not in front:
        turns += 1
        # States already seen were reached with fewer turns: from them nothing new is found.
        # A mix of which all is laid adds nothing.
        front = {laid(done, by_mix[m]) for done in front for m, own in every.items() if own & ~done} - seen
        seen |= front
        if len(seen) > most_states:
            # Not reached with so many turns, so it takes one more at least: still a proof, if a weaker one.
            return max(len(by_mix), turns + (everything not in front))
    return turns


def bound_work(problem: RunProblem, hand: int, turns: int) -> int:
    """LB1, the work: it fits into the hours of K painters. No coat is laid before the first arrival, and what is done
    before it, a pot and a turn each, is no longer than the longest of these."""
    lead = problem.turn + max(m.mixing for m in problem.mixes)
    # A painter alone, or a coat of several mixes, may have every pot ready before the first casting comes.
    if any(op.also for f in problem.figures for op in f.operations) or problem.painters == 1:
        lead = problem.turn + sum(m.mixing for m in problem.mixes)
    begin = max(0, problem.castings.ready[0] - lead)
    # Rounded up: ticks are whole, and K painters cannot share one.
    total = -(-(hand + turns * problem.turn) // problem.painters)
    # The last casting arrives last, and even alone at the bench it takes its way.
    return max(problem.hours.spend(begin, total), _alone(problem, problem.count - 1))


def _sessions(problem: RunProblem, hand: int, turns: int) -> tuple[int, int]:
    """Least sessions and least attendance: the first session begins with a turn, and so does every other."""
    hours = problem.hours
    if hours.length is None:
        return 1, -(-(hand + turns * problem.turn) // problem.painters)
    first, last = hours.window(0)
    sessions = 1
    # Every session begins with a turn, whatever mix was in hand when the last one ended.
    while hand + max(turns, sessions) * problem.turn > sessions * (last - first) * problem.painters:
        sessions += 1
    work = -(-(hand + max(turns, sessions) * problem.turn) // problem.painters)
    return sessions, work + sessions * hours.setup


def gap(problem: RunProblem, before: Operation, dry: int) -> int:
    """The least wait after a coat that dries in so long."""
    if not (problem.dryer and before.forced):
        return dry
    # The shortest go, as if the casting stood in the stream at once: what is left out only makes the bound weaker.
    return min(dry, min(problem.stream.go) + problem.stream.rest)


def _waits(problem: RunProblem, figure: Figure, op: Operation) -> Iterator[tuple[int, int]]:
    """(operation waited for, least wait after its end), the turn between two mixes counted."""
    for over, befores in ((True, op.over), (False, op.beside)):
        for b in befores:
            earlier = figure.operations[b]
            # With several painters another may have the next mix in hand already.
            turn = problem.turn if problem.painters == 1 and earlier.mix != op.mix else 0
            yield b, max(turn, gap(problem, earlier, earlier.recoat if over else earlier.touch))


def _heads(problem: RunProblem, casting: int) -> list[int]:
    """Earliest start of each operation of a casting: arrived, its mix at hand, dry what it waits for, in a session."""
    figure, heads = problem.figures[problem.castings.figure[casting]], list[int]()
    for op in figure.operations:
        # fit(0, 0) is the beginning of work in the first session.
        own = problem.hours.fit(0, 0) + problem.turn + sum(problem.mixes[m].mixing for m in set(op.used))
        first = max(problem.castings.ready[casting], own)
        for b, wait in _waits(problem, figure, op):
            first = max(first, heads[b] + figure.operations[b].work + wait)
        heads.append(problem.hours.fit(first, op.work))
    return heads


def _tails(problem: RunProblem, figure: Figure) -> list[int]:
    """Least time from the end of each operation to the end of its casting's last."""
    tails = [0] * len(figure.operations)
    for index in range(len(tails) - 1, -1, -1):
        op = figure.operations[index]
        for b, wait in _waits(problem, figure, op):
            tails[b] = max(tails[b], wait + op.work + tails[index])
    return tails


def _alone(problem: RunProblem, casting: int) -> int:
    """When the casting's last coat is laid if no other is there: no schedule does better."""
    figure = problem.figures[problem.castings.figure[casting]]
    return max(h + op.work for h, op in zip(_heads(problem, casting), figure.operations, strict=True))


def bound_window(problem: RunProblem) -> int:
    """LB2, windows: the painters do the work of a set of operations, with the turns inside it, after the earliest start
    of any of it and before the least tail of any of it.

    C >= min head + (sum of p + turns inside) / K + min tail, for all operations with head >= a and tail >= b, every a
    and b that occur, and for the castings from each arrival on. Turns inside: m different mixes take m - K.
    """
    best, ready = 0, problem.castings.ready
    for number, first in enumerate(sorted({ready.index(a) for a in ready})):
        # Any choice of arrivals gives a valid bound: about thirty keep it cheap, each is a sweep of all operations.
        if not number or first % max(1, problem.count // 30) == 0:
            rows = [row for j, times in _kinds(problem, first) for row in _rows(problem, j, times)]
            best = max(best, *(_windows(problem, rows, tail) for tail in {row[1] for row in rows}))
    return best


def _kinds(problem: RunProblem, first: int) -> Iterator[tuple[int, int]]:
    """From a casting on, the first of each figure with how many there are: all counted as if they came with it."""
    for f in range(len(problem.figures)):
        own = [j for j in range(first, problem.count) if problem.castings.figure[j] == f]
        if own:
            yield own[0], len(own)


def _rows(problem: RunProblem, casting: int, times: int) -> Iterator[tuple[int, int, int, int]]:
    """(head, tail, work of all castings, mix) of each operation."""
    figure = problem.figures[problem.castings.figure[casting]]
    for op, head, tail in zip(figure.operations, _heads(problem, casting), _tails(problem, figure), strict=True):
        yield head, tail, times * op.work, op.mix


def _windows(problem: RunProblem, rows: Sequence[tuple[int, int, int, int]], tail: int) -> int:
    """The best window that ends with `tail`: operations enter from the latest head to the earliest."""
    work, mixes, best = 0, set[int](), 0
    # From the latest head on, so that every prefix is just the set of those with head >= a.
    for head, _, ticks, mix in sorted((row for row in rows if row[1] >= tail), key=lambda row: -row[0]):
        work += ticks
        mixes.add(mix)
        # The first mix of each painter may have been in hand before the window began.
        turns = max(0, len(mixes) - problem.painters) * problem.turn
        best = max(best, problem.hours.spend(head, -(-(work + turns) // problem.painters)) + tail)
    return best


def bound_rack(problem: RunProblem) -> int:
    """LB3, the rack; 0 without one. Of N castings in R places some place serves ceil(N / R) one after another; each
    holds it from its first coat until the last is dry, and the last one still has its way to go."""
    rack = problem.castings.rack
    if rack is None:
        return 0
    held, way = [], []
    for figure in problem.figures:
        ends = list[int]()
        for op in figure.operations:
            before = [ends[b] + wait for b, wait in _waits(problem, figure, op)]
            ends.append(max([0, *before]) + op.work)
        dry = (end + gap(problem, op, op.recoat) for end, op in zip(ends, figure.operations, strict=True))
        held.append(max(dry))
        way.append(max(ends))
    # Rounded up: some place serves at least so many, one after the other.
    served = -(-problem.count // rack)
    # The least of every figure: which casting stands in that place is not known.
    return problem.castings.ready[0] + (served - 1) * min(held) + min(way)
