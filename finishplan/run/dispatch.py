"""List scheduling with look-ahead: what to do next, by a rule, whenever the painter is free."""

import heapq
import math
from bisect import insort
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from finishplan.run.replay import Coat
from finishplan.run.tasks import RunProblem

_Offered = tuple[list[tuple[int, int]], int, int, float, tuple[int, int] | None]
"""Of an operation: queue of (ready, casting), mix, ticks of opening it, urgency, drying by hand."""


@dataclass(frozen=True)
class Rule:
    """How the next coat is chosen: the least of its start + `turn` times the mix change it needs + `dryer`
    times the drying by hand it needs - `urgent` times the way its casting still has to go, drying included.
    Of equals: the casting furthest on (`advance`: dry one and go on with it), else the operation that comes first."""

    turn: float = 1.0
    urgent: float = 0.0
    dryer: float = 0.0
    advance: bool = False


def rules(problem: RunProblem) -> Iterator[Rule]:
    """The rules worth trying, those that do best on random runs first."""
    if problem.dryer:
        yield Rule(dryer=1.0, advance=True)
    for urgent, turn in product((0.03, 0.015, 0.0, 0.1, 0.06), (1.0, 0.0, 0.5)):
        for dryer in (1.0, 3.0, 0.0) if problem.dryer else (0.0,):
            yield Rule(turn, urgent, dryer)


def dispatch(problem: RunProblem, rule: Rule) -> tuple[Coat, ...]:
    """The sequence one painter follows by the rule. Castings are alike: of each operation the one ready first
    is offered.

    Takes N M^2 steps for N castings of M operations, and log N for the queues. Sessions, rack and stale mixes
    are left to the replay, which only moves things later.
    """
    operations, ways = problem.operations, _ways(problem)
    queues: list[list[tuple[int, int]]] = [[] for _ in operations]
    lacking = [[len(op.after) for op in operations] for _ in range(problem.castings)]
    dry = [[0] * len(operations) for _ in range(problem.castings)]
    for index, op in enumerate(operations):
        if not op.after:
            queues[index] = [(ready, j) for j, ready in enumerate(problem.ready)]
    offers: list[_Offered] = [
        (queues[index], op.mix, problem.changes[op.mix], rule.urgent * ways[index], _by_hand(problem, index))
        for index, op in enumerate(operations)
    ]
    now, mix, coats = 0, -1, list[Coat]()
    open_ = [index for index, queue in enumerate(queues) if queue]
    for _ in range(problem.castings * len(operations)):
        index, start = _next(offers, open_, now, mix, rule)
        casting, op = heapq.heappop(queues[index])[1], operations[index]
        if not queues[index]:
            open_.remove(index)
        coats.append((index, casting, -1))
        now, mix = start + op.work, op.mix
        dry[casting][index] = now + op.dry
        for follower in problem.followers[index]:
            lacking[casting][follower] -= 1
            if not lacking[casting][follower]:
                ready = max(problem.ready[casting], *(dry[casting][i] for i in operations[follower].after))
                if not queues[follower]:
                    insort(open_, follower)
                heapq.heappush(queues[follower], (ready, casting))
    return tuple(coats)


def _next(offers: Sequence[_Offered], open_: Sequence[int], now: int, mix: int, rule: Rule) -> tuple[int, int]:
    """The operation that the rule takes of the open ones, and the start of its coat."""
    least, chosen, begin = math.inf, 0, 0
    for index in open_:
        queue, needed, change, urgency, forced = offers[index]
        turn = 0 if needed == mix else change
        start, cost = max(now + turn, queue[0][0]), rule.turn * turn - urgency
        if forced is not None and now + forced[0] + max(forced[1], turn) < start:
            start, cost = now + forced[0] + max(forced[1], turn), cost + rule.dryer * forced[0]
        if start + cost < least or (rule.advance and start + cost == least):
            least, chosen, begin = start + cost, index, start
    return chosen, begin


def _by_hand(problem: RunProblem, index: int) -> tuple[int, int] | None:
    """Hand ticks and rest of drying all that an operation waits for, None if that cannot be."""
    hand = rest = 0
    for before in problem.operations[index].after:
        earlier = problem.operations[before]
        if not problem.dryer or earlier.hand is None:
            return None
        hand, rest = hand + earlier.hand, max(rest, earlier.rest)
    return (hand, rest) if hand else None


def _ways(problem: RunProblem) -> list[int]:
    """From the start of each operation to the end of its casting, drying included."""
    ways = [op.work for op in problem.operations]
    for index in range(len(ways) - 1, -1, -1):
        op = problem.operations[index]
        ways[index] += max((op.dry + ways[f] for f in problem.followers[index]), default=0)
    return ways
