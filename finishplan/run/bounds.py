"""Lower bounds: no schedule of the run is shorter. Times in ticks.

Symbols: N castings, K painters, p_o work and d_o drying of operation o, s_m opening mix m. Where the dryer
may be used, d_o stands for the least of d_o and hand_o + rest_o; the dryer's hand time is only counted by
`bound_dryer`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby, pairwise

from finishplan.run.block_bound import bound_blocks, gap
from finishplan.run.tasks import RunProblem


@dataclass(frozen=True)
class Bounds:
    """Each bound by itself; best is the largest of them."""

    work: int
    window: int
    dryer: int
    blocks: int
    rack: int

    @property
    def best(self) -> int:
        """The largest of them."""
        return max(self.work, self.window, self.dryer, self.blocks, self.rack)


def bounds(problem: RunProblem) -> Bounds:
    """All bounds of the problem."""
    return Bounds(
        bound_work(problem),
        bound_window(problem),
        bound_dryer(problem),
        bound_blocks(problem),
        bound_rack(problem),
    )


def least_changes(problem: RunProblem) -> int:
    """Mix changes that no schedule avoids.

    One painter: what is done to one casting is a part of what is done to all, in the same order, so the
    painter turns to a mix at least as often as the order of one casting's operations that turns the least;
    found exactly by breadth-first search over mixes, where doing all that is free with the open mix never
    hurts. Several painters: each mix is opened once. Any number of painters: an opening serves `life` ticks
    of work at most.
    """
    order = tuple((op.mix, op.after) for op in problem.operations)
    one = _fewest_turns(order) if problem.painters == 1 else len({mix for mix, _ in order})
    stale = 0
    for mix, life in enumerate(problem.life):
        work = problem.castings * sum(op.work for op in problem.operations if op.mix == mix)
        stale += 0 if not work else 1 if life is None else -(-work // life)
    return max(one, stale)


@lru_cache(maxsize=4)
def _fewest_turns(order: tuple[tuple[int, tuple[int, ...]], ...], most_states: int = 5_000) -> int:
    """The least number of turns over all orders of one casting, given as mix and predecessors of each operation; when
    the search grows too large, what it has proven. What-ifs of one run ask for the same."""
    everything = (1 << len(order)) - 1
    by_mix: dict[int, list[tuple[int, int]]] = {}
    for index, (mix, after) in enumerate(order):
        by_mix.setdefault(mix, []).append((1 << index, sum(1 << i for i in after)))

    def laid(done: int, mine: Sequence[tuple[int, int]]) -> int:
        for own, needs in mine:
            if needs & ~done == 0:
                done |= own
        return done

    front, seen, turns = {0}, {0}, 0
    while everything not in front:
        turns += 1
        front = {laid(done, mine) for done in front for mine in by_mix.values()} - seen
        seen |= front
        if len(seen) > most_states:
            return max(len(by_mix), turns + (everything not in front))
    return turns


def bound_work(problem: RunProblem) -> int:
    """LB1, the work: all N sum(p) + changes fit into the hours of K painters from the first arrival on; and
    the longest wait of one casting.

    No coat is laid before the first arrival, and a painter's first change, if it lies before that, is no
    longer than the longest: so all that K painters do fits into K times the session time from (ready_0 -
    longest change) to C.
    """
    work = problem.castings * sum(op.work for op in problem.operations)
    cheapest = min(problem.changes[op.mix] for op in problem.operations)
    needed = least_changes(problem)
    changes = _change_ticks(problem, needed)
    begin = max(0, problem.ready[0] - max(problem.changes))
    total = -(-(work + changes) // problem.painters)
    end = problem.hours.spend(begin, total)
    if problem.hours.length is not None and problem.painters == 1:
        end = max(end, _in_sessions(problem, begin, work, needed, cheapest))
    return max(end, _alone(problem, problem.castings - 1))


def _change_ticks(problem: RunProblem, needed: int) -> int:
    """Ticks of `needed` changes at least: each mix once, the others at the cheapest."""
    used = {op.mix for op in problem.operations}
    cheapest = min(problem.changes[m] for m in used)
    return sum(problem.changes[m] for m in used) + (needed - len(used)) * cheapest


def _in_sessions(problem: RunProblem, begin: int, work: int, needed: int, cheapest: int) -> int:
    """The end of the work of one painter when each session begins with a change: if k sessions are used there
    are at least max(needed, k) changes. Leaving a session out frees one change and loses at least as much
    room, so all are taken (but for the rest of a first one too short for a change)."""
    number, room = problem.hours.index(begin), 0
    if problem.hours.window(number)[1] - max(begin, problem.hours.window(number)[0]) < cheapest:
        number += 1
    for used in range(1, 1 << 30):
        start, end = problem.hours.window(number + used - 1)
        start = max(start, begin)
        due = work + _change_ticks(problem, needed) + max(0, used - needed) * cheapest
        if room + end - start >= due:
            return start + max(due - room, cheapest)
        room += end - start
    raise AssertionError("sessions never end")


def _alone(problem: RunProblem, casting: int) -> int:
    """When the casting's last coat is laid if no other is there: no schedule does better."""
    return max(head + op.work for head, op in zip(_heads(problem, casting), problem.operations, strict=True))


def _heads(problem: RunProblem, casting: int) -> list[int]:
    """Earliest start of each operation of a casting: arrived, mix open, dry what it waits for, in a session."""
    heads: list[int] = []
    least = min(problem.changes[op.mix] for op in problem.operations)
    for op in problem.operations:
        first = max(problem.ready[casting], least if op.after else problem.changes[op.mix])
        for before in op.after:
            earlier = problem.operations[before]
            first = max(first, heads[before] + earlier.work + gap(problem, earlier, op))
        heads.append(problem.hours.fit(first, op.work))
    return heads


def _tails(problem: RunProblem) -> list[int]:
    """Least time from the end of each operation to the end of its casting's last."""
    tails = [0] * len(problem.operations)
    for index in range(len(tails) - 1, -1, -1):
        op = problem.operations[index]
        for follower in problem.followers[index]:
            later = problem.operations[follower]
            tails[index] = max(tails[index], gap(problem, op, later) + later.work + tails[follower])
    return tails


def bound_window(problem: RunProblem) -> int:
    """LB2, windows: for a set O of operations and the castings from j on, the painters do their work (with
    the changes inside it) after the earliest start of any of it and before the least tail of any of it.

    C >= min head + (n sum of p over O + changes inside) / K + min tail, all operations with head >= a and
    tail >= b being taken for every a and b that occur, and every arrival for j. Changes inside: the
    operations of O use m different mixes; one painter turns between them m - 1 times at least (the first mix
    may be open already), K painters m - K times. With dryer and sessions it holds too: heads and tails are
    those of `gap`, hours only take time away.
    """
    tails, best = _tails(problem), 0
    marks = sorted(set(tails))
    for number, (_, group) in enumerate(groupby(range(problem.castings), key=lambda j: problem.ready[j])):
        first = next(group)
        if number and not _worth(problem, first):
            continue
        heads = _heads(problem, first)
        for tail in marks:
            best = max(best, _windows(problem, heads, tails, tail, problem.castings - first))
    return best


def _worth(problem: RunProblem, first: int) -> bool:
    """Thin out very many arrivals: about thirty are looked at (each gives a bound by itself)."""
    return first % max(1, problem.castings // 30) == 0 or first == problem.castings - 1


def _windows(problem: RunProblem, heads: Sequence[int], tails: Sequence[int], tail: int, castings: int) -> int:
    """The best window that ends with `tail`: operations enter from the latest head to the earliest."""
    inside = sorted((i for i in range(len(heads)) if tails[i] >= tail), key=lambda i: -heads[i])
    work, mixes, best = 0, set[int](), 0
    for index in inside:
        op = problem.operations[index]
        work += castings * op.work
        mixes.add(op.mix)
        turns = sorted(problem.changes[m] for m in mixes)
        changes = sum(turns[: max(0, len(turns) - problem.painters)])
        best = max(best, problem.hours.spend(heads[index], -(-(work + changes) // problem.painters)) + tail)
    return best


def bound_rack(problem: RunProblem) -> int:
    """LB5, the rack; 0 without one. Of N castings in R places some place serves ceil(N / R) one after another.

    No casting is begun before the first arrival, nor before some mix that a first coat needs is open; each holds its
    place for its longest way, from the first coat until the last is dry, and the last one still has its way to go.
    """
    if problem.rack is None:
        return 0
    ends, held = list[int](), 0
    for op in problem.operations:
        before = [ends[b] + gap(problem, problem.operations[b], op) for b in op.after]
        ends.append(max([0, *before]) + op.work)
        held = max(held, ends[-1] + gap(problem, op, op))
    least = min(problem.changes[op.mix] for op in problem.operations if not op.after)
    served = -(-problem.castings // problem.rack)
    return max(problem.ready[0], least) + (served - 1) * held + max(ends)


def bound_dryer(problem: RunProblem) -> int:
    """LB3, the dryer's hand time against the time it saves; 0 where no dryer is used or the run is not a
    plain chain.

    For one painter, one chain, all castings there at the start. Let x_k be the share of castings dried by
    hand after coat k. (1) The casting whose first coat is the i-th begins no sooner than s + (i - 1) p_first,
    and the one whose last coat is the i-th from the end has (i - 1) p_last after it; summing over castings, N
    C >= N s + sum over castings of the length of their chains + N (N - 1)/2 (p_first + p_last), and a chain
    is shorter by saving_k = d_k - hand_k - rest_k only where coat k of that casting is dried by hand. (2) The
    work is at least N sum(p) + changes + N sum(hand_k x_k). C is at least the larger of (1) and (2); the
    least over x in [0, 1] is where they cross, taking the coats with the best ratio of saving to hand first
    (a fractional knapsack: the larger of a falling and a rising linear function along the convex front of
    that greedy order). Gaps of less than a mix change between coats of different mixes are raised to it in
    (1), so saving_k counts from there.
    """
    operations = problem.operations
    chain = all(op.after == ((i - 1,) if i else ()) for i, op in enumerate(operations))
    if not (
        problem.dryer and chain and problem.painters == 1 and problem.hours.length is None and not problem.ready[-1]
    ):
        return 0
    length, offers = problem.changes[operations[0].mix] + operations[0].work, list[tuple[int, int]]()
    for op, later in pairwise(operations):
        turn = problem.changes[later.mix] if op.mix != later.mix else 0
        full, short = max(op.dry, turn), gap(problem, op, later)
        length += full + later.work
        if op.hand is not None and full > short:
            offers.append((full - short, op.hand))
    castings = problem.castings
    slow = length + (castings - 1) / 2 * (operations[0].work + operations[-1].work)
    busy: float = castings * sum(op.work for op in operations) + _change_ticks(problem, least_changes(problem))
    for saving, hand in sorted(offers, key=lambda o: o[0] / max(o[1], 1e-9), reverse=True):
        if busy >= slow:
            break
        share = min(1.0, (slow - busy) / (saving + castings * hand))
        slow -= share * saving
        busy += share * castings * hand
    return int(max(slow, busy) - 1e-6) + (max(slow, busy) % 1 > 1e-6)
