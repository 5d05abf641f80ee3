"""The best sequence found for a run: whole rounds, list scheduling, local search. Times in ticks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from finishplan.run.bench import Crowded, Score
from finishplan.run.bounds import Bounds, bounds
from finishplan.run.dispatch import batch_sizes, dispatch, round_by_round, rules
from finishplan.run.problem import RunProblem
from finishplan.run.replay import Timed, replay, run_through
from finishplan.run.search import STEPS_PER_S, Goal, Search

SPARE = 0.03
"""In one stretch a run may end so much later for fewer turns: a turn that saves less than it costs is not made."""


@dataclass(frozen=True)
class Solution:
    """A timed sequence of the problem (its hours say how far sessions run over), the bounds, how it was found."""

    problem: RunProblem
    sequence: tuple[int, ...]
    timed: Timed
    bounds: Bounds
    method: str

    @classmethod
    def of(cls, problem: RunProblem, sequence: Sequence[int], method: str) -> "Solution":
        """The sequence with its times and the problem's bounds."""
        return cls(problem, tuple(sequence), replay(problem, sequence), bounds(problem), method)

    @property
    def proven(self) -> bool:
        """Whether no schedule ends sooner."""
        return self.timed.score.makespan == self.bounds.makespan


@dataclass(frozen=True)
class _Found:
    sequence: Sequence[int]
    score: Score
    method: str


def solve(problem: RunProblem, effort: float | None = None) -> Solution:
    """The best schedule found.

    In one stretch: the soonest end, then, of those within SPARE of it, the fewest turns. In sessions: the fewest
    sessions, then the least attendance, then the fewest turns; sessions run over by up to the
    problem's slack where that
    spares one. effort: seconds on a machine of the reference speed, by default the problem's; 0: a quick plan by rules
    alone. It only sets how many steps are taken.
    """
    solution = _solved(problem, effort)
    if problem.hours.length is None or not problem.slack or solution.timed.score.sessions == 1:
        return solution
    longer = replace(problem, hours=replace(problem.hours, over=problem.slack))
    if bounds(longer).sessions >= solution.timed.score.sessions:
        return solution
    other = _solved(longer, effort)
    return other if other.timed.score.sessions < solution.timed.score.sessions else solution


def _solved(problem: RunProblem, effort: float | None) -> Solution:
    steps = int((problem.effort if effort is None else effort) * STEPS_PER_S)
    least, soonest = bounds(problem), Goal()
    if problem.fewest_turns:
        soonest = Goal(within=0, turns_first=True)
    best = _first(problem, soonest, least, steps)
    if steps and not _is_best(problem, best.score, least):
        best = _searched(problem, best, soonest, steps // 2)
    if not problem.fewest_turns:
        goal = _second(problem, best.score)
        best = _first(problem, goal, least, steps, best)
        if steps and not _is_best(problem, best.score, least):
            best = _searched(problem, best, goal, steps // 2)
    return Solution.of(problem, best.sequence, best.method)


def _second(problem: RunProblem, score: Score) -> Goal:
    by_sessions = problem.hours.length is not None
    return Goal(int(score.makespan * (1 + SPARE)), score.sessions, by_sessions)


def _is_best(problem: RunProblem, score: Score, least: Bounds) -> bool:
    """Whether nothing better can be found."""
    if problem.hours.length is not None:
        return score.attendance == least.attendance and score.sessions == least.sessions
    return score.makespan == least.makespan and score.turns == least.turns


def _first(problem: RunProblem, goal: Goal, least: Bounds, steps: int, best: _Found | None = None) -> _Found:
    """The best by rules alone; the first that cannot be bettered ends it."""
    for method, sequence in _tries(problem, steps):
        try:
            score = run_through(problem, sequence)
        except Crowded:
            continue
        if best is None or goal.of(score) < goal.of(best.score):
            best = _Found(sequence, score, method)
        if _is_best(problem, best.score, least):
            break
    assert best is not None
    return best


def _tries(problem: RunProblem, steps: int) -> Iterator[tuple[str, Sequence[int]]]:
    coats = problem.base[-1]
    for size in batch_sizes(problem, 4):
        where = "pass by pass" if size == problem.count else f"pass by pass in batches of {size}"
        yield where, round_by_round(problem, size)
    for number, rule in enumerate(rules(problem), 1):
        yield "list scheduling", dispatch(problem, rule)
        if number >= 2 and number * 6 * coats > steps // 4:
            return


def _searched(problem: RunProblem, best: _Found, goal: Goal, steps: int) -> _Found:
    """Local search of whole rounds, then of single castings."""
    groups = [1, problem.count] if problem.count > 1 else [1]
    for number, count in enumerate(groups, 1):
        if steps // len(groups) < 4 * problem.base[-1]:
            continue  # it would hardly begin
        search = _begun(problem, best, count, goal, number)
        if search is None:
            continue
        sequence = search.run(steps // len(groups))
        if goal.of(search.best_score) < goal.of(best.score):
            best = _Found(sequence, search.best_score, "local search")
    return best


def _begun(problem: RunProblem, best: _Found, groups: int, goal: Goal, seed: int) -> Search | None:
    try:
        return Search(problem, best.sequence, groups, goal, seed)
    except Crowded:
        return None
