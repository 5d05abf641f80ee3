"""The best sequence found for a run: whole rounds, list scheduling, local search. Times in ticks."""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from finishplan.run.bench import Score, Unfit
from finishplan.run.bounds import Bounds, bounds
from finishplan.run.dispatch import batch_sizes, dispatch, round_by_round, rules
from finishplan.run.problem import Castings, RunProblem
from finishplan.run.replay import Timed, replay, run_through
from finishplan.run.search import STEPS_PER_S, Goal, Search

SPARE = 0.03
"""A run in one stretch may end this share later for fewer turns: a turn that saves less than it costs is not made."""
WORTH_DRYING = 0.02
"""Waits of less than this share of a run are not worth a hair dryer."""
MANY_COATS = 1000
"""Coats of a run beyond which sessions run over only where the rules alone find that it spares one."""
BEGUN = 12
"""Orders that a local search must be able to time, or it hardly begins and finds nothing."""


@dataclass(frozen=True)
class Solution:
    """A timed sequence of the problem (its hours say how far sessions run over), the bounds, how it was found."""

    problem: RunProblem
    sequence: tuple[int, ...]
    timed: Timed
    bounds: Bounds
    method: str

    @classmethod
    def of(cls, problem: RunProblem, sequence: Sequence[int], least: Bounds, method: str) -> "Solution":
        """The sequence with its times. least: the problem's bounds."""
        return cls(problem, tuple(sequence), replay(problem, sequence), least, method)

    @property
    def proven(self) -> bool:
        """Whether no schedule ends sooner."""
        return self.timed.score.makespan == self.bounds.makespan


@dataclass(frozen=True)
class _Found:
    """A sequence with its score in a problem. tries: all that was found by rules, the same."""

    sequence: Sequence[int]
    score: Score
    method: str
    tries: tuple["_Found", ...] = ()


def solve(problem: RunProblem, effort: float | None = None) -> Solution:
    """The best schedule found.

    In one stretch: the soonest end, then, of those within SPARE of it, the fewest turns. In sessions: the fewest
    sessions, then the least attendance, then the fewest turns; sessions run over by up to the problem's slack where
    that spares one. With a hair dryer the run without its goes is sought first; where that has waits worth drying, one
    with them too, and the better taken. effort: seconds on a machine of the reference speed, by default the problem's;
    0: a quick plan by rules alone. It only sets how many steps are taken.
    """
    # Without its goes first: marks of the dryer make the search wider, and most runs have nothing to dry.
    bare = solve_as_it_is(replace(problem, dryer=False), effort)
    if not problem.dryer:
        return bare
    if waits_of(bare) >= WORTH_DRYING:
        found = solve_as_it_is(problem, effort)
        # Strictly better: of equals the run without goes, which asks less of the painter.
        if _rank(found) < _rank(bare):
            return found
    # Back in the problem with a dryer, so that the bounds told are those of the room as it is.
    dried = replace(bare.problem, dryer=True)
    return Solution.of(dried, bare.sequence, bounds(dried), bare.method)


def waits_of(found: Solution) -> float:
    """The share of the run that its painters wait."""
    score, hours = found.timed.score, found.problem.hours
    # Setting up and clearing away are neither work nor waits.
    there = score.attendance - (0 if hours.length is None else score.sessions * hours.setup)
    return 1 - score.hand / (there * found.problem.painters)


def _rank(found: Solution) -> tuple[float, ...]:
    """Less is better, whatever it was searched for: a tool in the room must not cost time."""
    problem, score = found.problem, found.timed.score
    if problem.hours.length is not None:
        return score.sessions, score.attendance, score.turns
    return (score.turns, score.makespan) if problem.fewest_turns else (score.makespan, score.turns)


def solve_as_it_is(problem: RunProblem, effort: float | None = None) -> Solution:
    """One search: with a hair dryer only among runs that may use it. effort: see `solve`."""
    steps = int((problem.effort if effort is None else effort) * STEPS_PER_S)
    least = bounds(problem)
    # Figure after figure would prime the second after the first is painted, which `primes_first` forbids.
    apart = _one_by_one(problem, steps) if len(problem.figures) > 1 and steps and not problem.primes_first else []
    by_rules = _by_rules(problem, least, steps, apart)
    if problem.hours.length is None or not problem.slack:
        return _finished(problem, by_rules, least, steps)
    longer = replace(problem, hours=replace(problem.hours, over=problem.slack))
    least_longer = bounds(longer)
    spared = _by_rules(longer, least_longer, steps, apart)
    # That the rules need an evening less is a sure sign; a search at full length is then spent there alone.
    if spared.score.sessions < by_rules.score.sessions:
        return _finished(longer, spared, least_longer, steps)
    strict = _finished(problem, by_rules, least, steps)
    sessions = strict.timed.score.sessions
    # No session can be spared if the bound for longer ones says so; and a second search of a large run is too dear.
    if least_longer.sessions >= sessions or not steps or problem.base[-1] > MANY_COATS:
        return strict
    # Half the steps: this run counts only if it spares a session, which shows early.
    other = _finished(longer, spared, least_longer, steps // 2)
    return other if other.timed.score.sessions < sessions else strict


def _finished(problem: RunProblem, best: _Found, least: Bounds, steps: int) -> Solution:
    """Searched from what the rules found: first for the end, then for what comes next."""
    goal = _soonest(problem)
    tries = best.tries
    if steps and not _is_best(problem, best.score, least):
        best = _searched(problem, best, goal, steps // 2)
    if not problem.fewest_turns:
        sessions = None if problem.hours.length is None else best.score.sessions
        goal = Goal(int(best.score.makespan * (1 + SPARE)), sessions)
        # Under the second goal another try of the rules may be the better start than the soonest run.
        best = min((best, *tries), key=lambda f: goal.of(f.score))
        if steps and not _is_best(problem, best.score, least):
            best = _searched(problem, best, goal, steps // 2)
    return Solution.of(problem, best.sequence, least, best.method)


def _soonest(problem: RunProblem) -> Goal:
    return Goal(within=0, turns_first=True) if problem.fewest_turns else Goal()


def _is_best(problem: RunProblem, score: Score, least: Bounds) -> bool:
    """Whether nothing better can be found."""
    # In sessions the end is not what is sought, so it need not be proven.
    if problem.hours.length is not None:
        return score.attendance == least.attendance and score.sessions == least.sessions
    return score.makespan == least.makespan and score.turns == least.turns


def _by_rules(problem: RunProblem, least: Bounds, steps: int, apart: Sequence[int]) -> _Found:
    """The best by rules alone, with all of them; the first that cannot be bettered ends it. apart: a sequence known."""
    found: list[_Found] = []
    for method, sequence, score in _tries(problem, steps, apart):
        found.append(_Found(sequence, score, method))
        if _is_best(problem, score, least):
            break
    return _best_of(problem, found)


def _best_of(problem: RunProblem, found: Sequence[_Found]) -> _Found:
    goal = _soonest(problem)
    return replace(min(found, key=lambda f: goal.of(f.score)), tries=tuple(found))


def _tries(problem: RunProblem, steps: int, apart: Sequence[int]) -> Iterator[tuple[str, Sequence[int], Score]]:
    coats = problem.base[-1]
    if apart:
        with suppress(Unfit):
            yield "one figure after the other", apart, run_through(problem, apart)
    for size in batch_sizes(problem, 4):
        where = "pass by pass" if size == problem.count else f"pass by pass in batches of {size}"
        # A rule that nobody could follow (a batch beyond the rack) is simply no candidate.
        with suppress(Unfit):
            order = round_by_round(problem, size)
            yield where, order, run_through(problem, order)
    # Rules without goes as well: where the goes do not pay, the better start is without them.
    for kind in (problem, replace(problem, dryer=False)) if problem.dryer else (problem,):
        for number, rule in enumerate(rules(kind), 1):
            # A rule that nobody could follow (a batch beyond the rack) is simply no candidate.
            with suppress(Unfit):
                found = dispatch(kind, rule)
                yield "list scheduling", *found
            # A dispatch is counted as six replays: four rules at any effort, then half of the steps at most.
            if number >= 4 and number * 6 * coats > steps // 2:
                break


def _one_by_one(problem: RunProblem, steps: int) -> list[int]:
    """Figure after figure, each searched by itself for a while: together they should not take longer than apart."""
    sequence, castings = list[int](), problem.castings
    for number, figure in enumerate(problem.figures):
        own = [j for j, f in enumerate(castings.figure) if f == number]
        ready = tuple(castings.ready[j] for j in own)
        alone = replace(problem, figures=(figure,), castings=Castings((0,) * len(own), ready, castings.rack), slack=0)
        found = solve_as_it_is(alone, steps / STEPS_PER_S / 4 / len(problem.figures))
        ops = len(figure.operations)
        # Numbers of one figure alone, casting by casting, put back to those of the joint run; marks stay as they are.
        sequence += [n if n < 0 else problem.base[own[n // ops]] + n % ops for n in found.sequence]
    return sequence


def _searched(problem: RunProblem, best: _Found, goal: Goal, steps: int) -> _Found:
    """Local search of whole rounds, then of single castings."""
    # Whole rounds first: single castings would find the same coarse changes only one coat at a time.
    groups = [1, problem.count] if problem.count > 1 else [1]
    for number, count in enumerate(groups, 1):
        if steps // len(groups) < BEGUN * problem.base[-1]:
            continue  # it would hardly begin
        # The start in rounds may not fit the rack, though the sequence it was made from did.
        with suppress(Unfit):
            # Another seed for each stage, so that the second does not repeat the choices of the first.
            search = Search(problem, best.sequence, count, goal, number)
            sequence = search.run(steps // len(groups))
            if goal.of(search.best_score) < goal.of(best.score):
                best = _Found(sequence, search.best_score, "local search")
    return best
