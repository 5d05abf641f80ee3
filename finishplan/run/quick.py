"""Scores of many similar sequences: the score `replay` gives, found without keeping the times."""

from collections.abc import Sequence

from finishplan.run.replay import Coat, Score, replay
from finishplan.run.tasks import RunProblem

_State = tuple[int, int, int, int, int, int, int]
"""Time, coats' work done, other hand time, changes, open mix, when it goes stale, end of the last coat."""

_Undo = tuple[int, int, int]
"""Position at which a drying time is changed, its index, what it was."""


class Quick:
    """For one painter without sessions and rack: only what comes after a change in the sequence is timed anew."""

    def __init__(self, problem: RunProblem) -> None:
        operations = problem.operations
        self.problem, self.count = problem, len(operations)
        forced = [op.hand if problem.dryer else None for op in operations]
        self.rows = [(op.mix, op.work, op.dry, op.after) for op in operations]
        self.forced = [(hand, op.rest) for hand, op in zip(forced, operations, strict=True)]
        self.dryer = any(hand is not None for hand in forced)
        self.weight = 3 if self.dryer else 1
        self.work = problem.castings * sum(op.work for op in operations)
        self.lives = [1 << 60 if life is None else life for life in problem.life]
        self.dry = [0] * (self.count * problem.castings)
        self.states: list[_State] = [(0, 0, 0, 0, -1, 0, 0)]
        self.undo: list[_Undo] = []
        self.tried: tuple[int, list[int], list[_State], list[_Undo]] = (0, self.dry, self.states, self.undo)

    def keep(self, coats: Sequence[Coat]) -> Score:
        """Time the whole sequence and remember it."""
        score = self.attempt(coats, 0, 1 << 60)
        self.accept()
        return score

    def attempt(self, coats: Sequence[Coat], since: int, limit: int) -> Score:
        """The score of a sequence: the remembered one before position `since`, then `coats`; given up, as
        `limit` + 1, as soon as the work to come no longer fits into `limit`."""
        dry = self.dry.copy()
        for position, cell, was in reversed(self.undo):
            if position < since:
                break
            dry[cell] = was
        states, undo = [self.states[since]], list[_Undo]()
        self.tried = since, dry, states, undo
        return self._run(coats, since, limit, dry, states, undo)

    def accept(self) -> None:
        """Remember the sequence attempted last, which was not given up."""
        since, self.dry, states, undo = self.tried
        self.states[since:] = states
        self.undo = [done for done in self.undo if done[0] < since] + undo

    def _run(
        self,
        coats: Sequence[Coat],
        since: int,
        limit: int,
        dry: list[int],
        states: list[_State],
        undo: list[_Undo],
    ) -> Score:
        now, worked, hand, changed, current, stale, last = states[0]
        spare = limit - self.work
        rows, changes, ready, count, dryer = self.rows, self.problem.changes, self.problem.ready, self.count, self.dryer
        for position, (index, casting, _) in enumerate(coats, since):
            base = casting * count
            if index >= count:
                forced, rest = self.forced[index - count]
                cell = base + index - count
                if forced is not None and now + forced + rest < dry[cell]:
                    undo.append((position, cell, dry[cell]))
                    now, hand = now + forced, hand + forced
                    dry[cell] = now + rest
                states.append((now, worked, hand, changed, current, stale, last))
                continue
            mix, work, wait, after = rows[index]
            start = ready[casting]
            for before in after:
                if dry[base + before] > start:
                    start = dry[base + before]
            if dryer and start > now and after:
                begun = now
                now, start, dried = self._force(index, base, now, start, current, stale, ready[casting], dry)
                hand += now - begun
                for cell, until in dried:
                    undo.append((position, cell, dry[cell]))
                    dry[cell] = until
            if mix == current and (now if now > start else start) + work <= stale:
                if now > start:
                    start = now
            else:
                turn = changes[mix]
                if now + turn > start:
                    start = now + turn
                current, stale = mix, start + self.lives[mix]
                hand += turn
                changed += 1
            now = last = start + work
            worked += work
            dry[base + index] = now + wait
            if now - worked > spare:
                return limit + 1, worked + hand, changed
            states.append((now, worked, hand, changed, current, stale, last))
        return last, worked + hand, changed

    def _force(
        self, index: int, base: int, now: int, start: int, current: int, stale: int, arrival: int, dry: list[int]
    ) -> tuple[int, int, list[tuple[int, int]]]:
        """When the painter is free and the piece dry enough, and what was dried by hand if that lets the coat
        start sooner."""
        mix, work, _, after = self.rows[index]

        def begin(free: int, ready: int) -> int:
            if mix == current and max(free, ready) + work <= stale:
                return max(free, ready)
            return max(free + self.problem.changes[mix], ready)

        best, found, done = begin(now, start), (now, start, list[tuple[int, int]]()), list[tuple[int, int]]()
        wet = sorted((before for before in after if dry[base + before] > now), key=lambda i: (-dry[base + i], -i))
        free, rested = now, arrival
        for place, before in enumerate(wet):
            hand, rest = self.forced[before]
            if hand is None:
                break
            free += hand
            done.append((base + before, free + rest))
            rested = max(rested, free + rest)
            eased = max(rested, dry[base + wet[place + 1]] if place + 1 < len(wet) else 0)
            if begin(free, eased) < best:
                best, found = begin(free, eased), (free, eased, done.copy())
        return found


class Full:
    """For any run: every sequence is replayed whole."""

    weight = 40

    def __init__(self, problem: RunProblem) -> None:
        self.problem = problem
        self.kept: list[Coat] = []
        self.tried = self.kept

    def keep(self, coats: Sequence[Coat]) -> Score:
        """The score of the whole sequence, which is remembered."""
        score = self.attempt(coats, 0, 0)
        self.accept()
        return score

    def attempt(self, coats: Sequence[Coat], since: int, limit: int) -> Score:
        """The score of a sequence: the remembered one before position `since`, then `coats`."""
        self.tried = [*self.kept[:since], *coats]
        return replay(self.problem, self.tried).score

    def accept(self) -> None:
        """Remember the sequence attempted last."""
        self.kept = self.tried


def scorer(problem: RunProblem) -> Quick | Full:
    """The quickest way to score sequences of this run."""
    simple = problem.painters == 1 and problem.hours.length is None and problem.rack is None
    return Quick(problem) if simple else Full(problem)
