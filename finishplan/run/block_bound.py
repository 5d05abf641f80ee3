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

    Call the line between two passes clean if every coat before it, of any casting, is laid before every coat behind it.
    Where it is not, the first coat y behind it on some casting i comes before the last coat x before it on some other
    casting j. Casting i has had its own x before y, and casting j gets its own y after x: in the sequence x_i y_i x_j
    y_j both mixes are opened twice. So cut the passes into blocks at the clean lines. For coats a..b inside a block,
    from the first start of a to the last end of b, there are N sum(p of a..b) and these changes: each mix of the passes
    from a's to b's is opened twice if they are several; so is a single one if a is the first coat of its pass and
    the line before it is not clean (then the window also holds x_j of the pass before), or b the last of its pass and
    the line behind is not clean (then it also holds y_i of the pass behind); the mix of x_j or y_i is opened there, and
    its work adds to the window's. The mix of a is open when the window begins.

    Blocks follow each other. With T the first start and L the last end of a coat in a block: L >= T + way to a + window
    + way from b; L >= L of the block before + its drying + one casting's way through this one; T >= L of the block
    before + s; T >= T of its last coat + p + drying. Least over all ways to cut, by dynamic programming over the
    passes; (T, L) pairs that are no smaller in both are dropped.
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
            block = _block(problem, runs[first:stop], gaps)
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


def _block(problem: RunProblem, passes: Sequence[Sequence[int]], gaps: Sequence[int]) -> _Block:
    operations = problem.operations
    inside = [(index, number) for number, ops in enumerate(passes) for index in ops]
    heads = [0]
    for index, _ in inside[1:]:
        heads.append(heads[-1] + operations[index - 1].work + gaps[index - 1])
    length = heads[-1] + operations[inside[-1][0]].work
    least = 0
    for a, (first, low) in enumerate(inside):
        busy = 0
        for b, (last, high) in enumerate(inside[a:], a):
            busy += problem.castings * operations[last].work
            before = operations[first - 1] if low and first == passes[low][0] else None
            behind = operations[last + 1] if high + 1 < len(passes) and last == passes[high][-1] else None
            beside = [op for op in (before, behind) if op is not None]
            turns = _turns(problem, [operations[p[0]].mix for p in passes[low : high + 1]], [op.mix for op in beside])
            tail = length - heads[b] - operations[last].work
            least = max(least, heads[a] + busy + sum(op.work for op in beside) + turns + tail)
    return _Block(heads[-1], length, least)


def _turns(problem: RunProblem, mixes: Sequence[int], beside: Sequence[int]) -> int:
    """Changes within a window over passes of `mixes`, the first of them open when it begins."""
    opened = dict.fromkeys(beside, 1) | dict.fromkeys(mixes, 2 if len(mixes) > 1 or beside else 1)
    return sum(times * problem.changes[mix] for mix, times in opened.items()) - problem.changes[mixes[0]]
