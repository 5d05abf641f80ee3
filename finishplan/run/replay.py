"""From the sequence of what is done to times: every task as early as it may be. Times in ticks."""

import heapq
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from finishplan.run.tasks import RunProblem

Action = tuple[int, int, bool, int]
"""(operation, casting from 0, with the dryer?, painter from 0 or -1: whoever can start first)."""

Score = tuple[int, int, int]
"""What is least in this order: makespan, painter's ticks, mix changes."""


@dataclass(frozen=True)
class Placed:
    """One action in time. change: when the mix change right before it begins, None if none is due."""

    action: Action
    painter: int
    start: int
    end: int
    change: int | None


@dataclass(frozen=True)
class Timed:
    """A sequence with its times, in the order of the sequence."""

    score: Score
    placed: tuple[Placed, ...]
    finish: tuple[int, ...]
    """When each casting's last coat is laid."""


class _Bench:
    """Where painters, pieces and rack stand while a sequence is replayed."""

    def __init__(self, problem: RunProblem) -> None:
        self.problem = problem
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

    def offer(self, painter: int, index: int, ready: int) -> tuple[int, bool]:
        """The earliest start of a coat by a painter, and whether a mix change comes first."""
        problem, op = self.problem, self.problem.operations[index]
        free, hours = self.free[painter], problem.hours
        if self.mix[painter] == op.mix:
            start = hours.fit(max(free, ready), op.work)
            life = problem.life[op.mix]
            fresh = life is None or start + op.work <= self.opened[painter] + life
            if fresh and hours.index(start) == self.session[painter]:
                return start, False
        change = problem.changes[op.mix]
        return hours.fit(max(free, ready - change), change + op.work) + change, True

    def coat(self, action: Action) -> Placed:
        index, casting, _, wish = action
        op = self.problem.operations[index]
        dry = self.dry[casting]
        if not self.begun[casting]:
            self.welcome[casting] = max(self.welcome[casting], heapq.heappop(self.places))
            self.begun[casting] = True
        ready = max([self.welcome[casting], self.piece.get((casting, op.part), 0), *(dry[i] for i in op.after)])
        painters = range(self.problem.painters) if wish < 0 else (wish,)
        start, change, painter = min((*self.offer(k, index, ready), k) for k in painters)
        end = start + op.work
        if change:
            self.mix[painter], self.opened[painter] = op.mix, start
            self.session[painter] = self.problem.hours.index(start)
        self.free[painter] = self.piece[casting, op.part] = end
        self.end[casting][index], dry[index] = end, end + op.dry
        self.left[casting] -= 1
        begin = start - self.problem.changes[op.mix] if change else None
        return Placed(action, painter, start, end, begin)

    def force_dry(self, action: Action) -> Placed:
        index, casting, _, wish = action
        op = self.problem.operations[index]
        assert op.hand is not None
        ready = max(self.end[casting][index], self.piece[casting, op.part])
        painters = range(self.problem.painters) if wish < 0 else (wish,)
        start, painter = min((self.problem.hours.fit(max(self.free[k], ready), op.hand), k) for k in painters)
        end = start + op.hand
        self.free[painter] = self.piece[casting, op.part] = end
        self.dry[casting][index] = min(self.dry[casting][index], end + op.rest)
        return Placed(action, painter, start, end, None)


def replay(problem: RunProblem, actions: Sequence[Action]) -> Timed:
    """Give every action the earliest time that the ones before it in the sequence leave.

    A casting that finds the rack full waits, with all that is to be done to it, until a place is free. Every
    operation of every casting must occur once, after those it waits for; its drying by hand, if any, after
    it.
    """
    bench, waiting = _Bench(problem), list[Action]()
    placed: list[Placed] = []
    queue = deque(actions)
    while queue:
        action = queue.popleft()
        casting = action[1]
        if not bench.begun[casting] and not bench.places:
            waiting.append(action)
            continue
        placed.append(bench.force_dry(action) if action[2] else bench.coat(action))
        if problem.rack is not None and not bench.left[casting] and not action[2]:
            heapq.heappush(bench.places, max(bench.dry[casting]))
            queue.extendleft(reversed(waiting))
            waiting = []
    if waiting:
        raise ValueError("the sequence lays a coat twice or leaves one out")
    finish = tuple(max(end) for end in bench.end)
    hand = sum(p.end - (p.start if p.change is None else p.change) for p in placed)
    return Timed((max(finish), hand, sum(p.change is not None for p in placed)), tuple(placed), finish)


def scorer(problem: RunProblem) -> Callable[[Sequence[Action]], Score]:
    """The score of a sequence, as replay gives it; much quicker for one painter with neither sessions nor rack."""
    if problem.painters > 1 or problem.hours.length is not None or problem.rack is not None:
        return lambda actions: replay(problem, actions).score
    operations = problem.operations
    count, after = len(operations), [op.after for op in operations]
    rows = [(op.mix, op.work, op.dry, op.hand or 0, op.rest) for op in operations]
    never = 1 << 60
    lives = [never if life is None else life for life in problem.life]

    def score(actions: Sequence[Action]) -> Score:
        dry = [0] * (count * problem.castings)
        now = hand = changed = last = 0
        current, stale = -1, 0
        for index, casting, dryer, _ in actions:
            mix, work, wait, forced, rest = rows[index]
            base = casting * count
            if dryer:
                now += forced
                hand += forced
                dry[base + index] = min(dry[base + index], now + rest)
                continue
            start = problem.ready[casting]
            for before in after[index]:
                if dry[base + before] > start:
                    start = dry[base + before]
            if mix == current and max(now, start) + work <= stale:
                start = max(now, start)
            else:
                start = max(now + problem.changes[mix], start)
                current, stale = mix, start + lives[mix]
                hand += problem.changes[mix]
                changed += 1
            now = last = start + work
            hand += work
            dry[base + index] = now + wait
        return last, hand, changed

    return score
