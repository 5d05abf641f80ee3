"""A lower bound for one painter and a chain: passes that overlap cost mix changes. Times in ticks."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from finishplan.run.tasks import Operation, RunProblem


def gap(problem: RunProblem, op: Operation, later: Operation) -> int:
    """The least time from the end of a coat to the start of a later one that waits for it.

    A painter alone also changes the mix in between, if it is another, and cannot do so while holding the dryer.
    """
    turn = problem.changes[later.mix] if problem.painters == 1 and op.mix != later.mix else 0
    least = max(op.dry, turn)
    if problem.dryer and op.hand is not None:
        least = min(least, op.hand + max(op.rest, turn))
    return least


@dataclass(frozen=True)
class _Block:
    """Passes first..last taken together. lead: from the first start of its first coat to that of its last;
    length: of one casting's way through it; least: from its first start to its last end for all castings."""

    lead: int
    length: int
    least: int


def is_chain(problem: RunProblem) -> bool:
    """Whether every operation waits for the one before it and for nothing else."""
    return all(op.after == ((i - 1,) if i else ()) for i, op in enumerate(problem.operations))


def bound_blocks(problem: RunProblem) -> int:
    """LB4; 0 unless one painter works on a chain.

    Call the line between two passes clean if every coat before it, of any casting, is laid before every coat
    after it. Where it is not, some x before it is laid after some y behind it; y's casting then had both
    passes beside the line before that, and x's casting has them still to come: both mixes are opened at least
    twice. So cut the passes into blocks at the clean lines. A block of one pass opens its mix once or more, a
    block of several opens each of its mixes twice or more, and blocks follow each other: with T the first
    start and L the last end of a coat in a block, L >= T + N sum(p) + s (openings - 1), and L >= T + way to a
    + N sum(p of a..b) + changes + way from b for a <= b inside, L >= L of the block before + its drying + one
    casting's way through this one, T >= L of the block before + s, and T >= T of its last coat + p + drying.
    Least over all ways to cut, by dynamic programming over the passes; (T, L) pairs that are no smaller in
    both are dropped.
    """
    if problem.painters > 1 or not is_chain(problem):
        return 0
    operations = problem.operations
    runs = [[i for i, _ in g] for _, g in groupby(enumerate(operations), key=lambda e: e[1].mix)]
    gaps = [gap(problem, a, b) for a, b in pairwise(operations)]
    begin = max(problem.ready[0], problem.changes[operations[0].mix])
    fronts: list[set[tuple[int, int]]] = [{(begin, begin)}, *(set() for _ in runs)]
    for first in range(len(runs)):
        states = _undominated(fronts[first])
        for stop in range(first + 1, len(runs) + 1):
            inside = [i for r in runs[first:stop] for i in r]
            block = _block(problem, inside, gaps, stop - first)
            behind = gaps[inside[0] - 1] if inside[0] else 0
            for start, before in states:
                last = max(start + block.least, before + behind + block.length if inside[0] else 0)
                following = last
                if stop < len(runs):
                    op, later = operations[inside[-1]], operations[inside[-1] + 1]
                    ready = start + block.lead + op.work + gaps[inside[-1]]
                    following = max(last + problem.changes[later.mix], ready)
                fronts[stop].add((following, last))
    return min(last for _, last in fronts[-1])


def _undominated(states: set[tuple[int, int]]) -> list[tuple[int, int]]:
    kept: list[tuple[int, int]] = []
    for state in sorted(states):
        if not kept or state[1] < kept[-1][1]:
            kept.append(state)
    return kept


def _block(problem: RunProblem, inside: Sequence[int], gaps: Sequence[int], passes: int) -> _Block:
    operations, castings = problem.operations, problem.castings
    heads = [0]
    for index in inside[1:]:
        heads.append(heads[-1] + operations[index - 1].work + gaps[index - 1])
    length = heads[-1] + operations[inside[-1]].work
    least = 0
    for a, first in enumerate(inside):
        busy = 0
        for b, last in enumerate(inside[a:], a):
            op = operations[last]
            turn = problem.changes[op.mix] if last > first and operations[last - 1].mix != op.mix else 0
            busy += castings * op.work + turn
            least = max(least, busy + heads[a] + length - heads[b] - op.work)
    if passes > 1:
        work = castings * sum(operations[i].work for i in inside)
        opened = 2 * sum(problem.changes[m] for m in {operations[i].mix for i in inside})
        least = max(least, work + opened - problem.changes[operations[inside[0]].mix])
    return _Block(heads[-1], length, least)
