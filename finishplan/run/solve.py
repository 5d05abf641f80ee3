"""The best sequence found for a run: pass by pass where proven quickest, else by search. Times in ticks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import NamedTuple

from finishplan.run.bounds import bounds, least_changes
from finishplan.run.dispatch import dispatch, rules
from finishplan.run.quick import scorer
from finishplan.run.replay import Coat, Score, Timed, replay
from finishplan.run.rounds import batch_sizes, round_by_round
from finishplan.run.search import STEPS_PER_S, Search, as_moves, as_rounds, in_groups, primed_first
from finishplan.run.tasks import RunProblem


@dataclass(frozen=True)
class Solution:
    """A timed sequence, the lower bound of the makespan, and how the sequence was found."""

    timed: Timed
    bound: int
    method: str

    @property
    def proven(self) -> bool:
        """Whether no schedule can be shorter."""
        return self.timed.score[0] == self.bound


@dataclass(frozen=True)
class _Found:
    coats: Sequence[Coat]
    score: Score
    method: str


def solve(problem: RunProblem, effort: float | None = None) -> Solution:
    """Pass by pass, over all castings or in batches; if the bound is not met, list scheduling by several
    rules, then local search: first of whole rounds, then of two halves of the castings, then of single ones.

    effort: seconds on a machine of the reference speed, by default the problem's; it only sets how many steps
    are taken.
    """
    steps = int((problem.effort if effort is None else effort) * STEPS_PER_S)
    bound = bounds(problem).best
    best = _best(problem, bound, steps)
    return Solution(_sparing(problem, best.coats, 150 if effort is None else 10), bound, best.method)


def with_dryer(problem: RunProblem, solution: Solution) -> Timed:
    """The solution's sequence as it would go with a hair dryer, dried by hand only where that shortens it."""
    dried = replace(problem, dryer=True)
    done = _Found(_as_done(problem, solution.timed), solution.timed.score, solution.method)
    return _sparing(dried, _quickest(dried, _dried_ahead(dried, done), 0).coats, 10)


def _best(problem: RunProblem, bound: int, steps: int, listing: int | None = None) -> _Found:
    """With the dryer, a third of the steps goes into the run without it: the dryer never slows its sequence. listing:
    steps of list scheduling, a quarter of all unless given."""

    def better(best: _Found, tries: Iterator[tuple[str, Sequence[Coat]]]) -> _Found:
        return min(best, _quickest(problem, tries, bound), key=lambda f: problem.goal(f.score))

    best = _quickest(problem, _plain(problem), bound)
    if _is_best(problem, best.score, bound) or not steps:
        return best
    listing = steps // 4 if listing is None else listing
    best = better(best, _listed(problem, listing))
    if problem.dryer:
        undried = replace(problem, dryer=False)
        found = _best(undried, bounds(undried).best, steps // 3, listing)
        steps -= steps // 3
        best = better(best, iter([(found.method, found.coats)]))
    return _searched(problem, best, bound, steps)


def _quickest(problem: RunProblem, tries: Iterator[tuple[str, Sequence[Coat]]], bound: int) -> _Found:
    """The best of the sequences; the first that meets the bound ends it."""
    score, best = scorer(problem), None
    for method, sequence in tries:
        coats = primed_first(problem, sequence)
        found = _Found(coats, score.keep(coats), method)
        if best is None or problem.goal(found.score) < problem.goal(best.score):
            best = found
        if _is_best(problem, best.score, bound):
            break
    assert best is not None
    return best


def _is_best(problem: RunProblem, score: Score, bound: int) -> bool:
    """Whether nothing better can be found: as short and with as few changes as any."""
    return score[0] == bound and score[2] == least_changes(problem)


def _plain(problem: RunProblem) -> Iterator[tuple[str, Sequence[Coat]]]:
    most = max(1, min(12, 40_000 // (problem.castings * len(problem.operations) * scorer(problem).weight)))
    sizes = batch_sizes(problem, most)
    for size in sizes:
        where = "pass by pass" if size == problem.castings else f"pass by pass in batches of {size}"
        yield where, round_by_round(problem, batch=size)
        if problem.painters > 1:
            for owner in (_shares(problem), _mixes_shared(problem)):
                yield f"{where}, passes shared out", round_by_round(problem, batch=size, owner=owner)
    if problem.painters > 1:
        coats = round_by_round(problem, batch=sizes[0])
        yield "pass by pass, castings shared out", [(i, j, j % problem.painters) for i, j, _ in coats]


def _shares(problem: RunProblem) -> tuple[int, ...]:
    """The operations cut into one stretch of like work for each painter."""
    total = sum(op.work for op in problem.operations)
    owners, done = [], 0
    for op in problem.operations:
        owners.append(min(problem.painters - 1, (done + op.work // 2) * problem.painters // total))
        done += op.work
    return tuple(owners)


def _mixes_shared(problem: RunProblem) -> tuple[int, ...]:
    """Each mix in one painter's hands, the longest first to whoever has the least to do."""
    work = [0] * len(problem.mixes)
    for op in problem.operations:
        work[op.mix] += op.work * problem.castings
    busy, hands = [0] * problem.painters, [0] * len(work)
    for mix in sorted(range(len(work)), key=lambda m: -work[m]):
        hands[mix] = busy.index(min(busy))
        busy[hands[mix]] += work[mix] + problem.changes[mix]
    return tuple(hands[op.mix] for op in problem.operations)


def _listed(problem: RunProblem, steps: int) -> Iterator[tuple[str, Sequence[Coat]]]:
    count, weight = len(problem.operations), scorer(problem).weight
    for number, rule in enumerate(rules(problem), 1):
        yield "list scheduling", dispatch(problem, rule)
        if number * problem.castings * count * (count // 8 + 3 + weight) > steps:
            return


class _Stage(NamedTuple):
    """One local search. groups: of castings that stay together; share: of the steps; margin: how much longer a
    makespan is taken at first; plain: from pass by pass, else from the best so far."""

    groups: int
    share: float
    margin: float = 0.02
    plain: bool = False


def _stages(problem: RunProblem) -> Iterator[_Stage]:
    single = problem.castings
    if problem.dryer:
        if single > 1:
            yield _Stage(1, 0.1)
        yield _Stage(single, 0.5)
        yield _Stage(single, 0.4)
        return
    if single > 1 and problem.rack is None:
        yield _Stage(1, 0.1, plain=True)
        yield _Stage(1, 0.3)
        if single > 3:
            yield _Stage(2, 0.1)
    yield _Stage(single, 0.25)
    yield _Stage(single, 0.25, 0.06)
    if problem.painters > 1:
        yield _Stage(single, 0.25, 0.2)  # handing over what another has begun first costs time


def _searched(problem: RunProblem, best: _Found, bound: int, steps: int) -> _Found:
    castings, stages = problem.castings, list(_stages(problem))
    if castings * len(problem.operations) > 5000:
        steps //= 3  # hundreds of tries at most: the rest is better not waited for
    whole = sum(stage.share for stage in stages)
    one_try = castings * len(problem.operations) * scorer(problem).weight
    for number, stage in enumerate(stages, 1):
        if problem.dryer and number == len(stages):
            best = _quickest(problem, _dried_ahead(problem, best), bound)
        if steps * stage.share / whole < one_try:
            continue  # to begin it would take longer than it may
        begin = primed_first(problem, round_by_round(problem)) if stage.plain else best.coats
        moves = as_moves(begin) if stage.groups == castings else as_rounds(problem, stage.groups, begin)
        search = Search(problem, moves, in_groups(castings, stage.groups), bound, seed=number)
        coats = search.run(int(steps * stage.share / whole), stage.margin)
        if problem.goal(search.best_score) < problem.goal(best.score):
            best = _Found(coats, search.best_score, "local search")
    if steps < 8 * one_try:
        return best
    search = Search(problem, as_moves(best.coats), in_groups(castings, castings), bound)
    search.gather(steps // 16)
    coats = search.tidy(steps // 8, least_changes(problem))
    return _Found(coats, search.best_score, "local search") if search.best_score != best.score else best


def _dried_ahead(problem: RunProblem, best: _Found) -> Iterator[tuple[str, Sequence[Coat]]]:
    """The sequence, and its drying by hand some places sooner: the rest after it passes during the next one."""
    yield best.method, best.coats
    count = len(problem.operations)
    timed = replay(problem, best.coats)
    done = [(p.operation + count * p.dryer, p.casting, p.painter) for p in timed.placed]
    for ahead in (0, 1, 2, 3) if len(done) <= 3000 else ():
        coats: list[Coat] = []
        for coat in done:
            at = len(coats)
            if coat[0] >= count:
                laid = max((k for k, c in enumerate(coats) if c[:2] == (coat[0] - count, coat[1])), default=0)
                at = max(laid + 1, at - ahead)
            coats.insert(at, coat)
        yield "local search", coats


def _sparing(problem: RunProblem, coats: Sequence[Coat], most: int) -> Timed:
    """The timed sequence without the drying by hand that gains nothing: all of it, whole rounds, then one by one. What
    was not dried by hand stays so, or one drying less would call for another."""
    timed, count = replay(problem, coats), len(problem.operations)
    dried = {(p.operation, p.casting) for p in timed.placed if p.dryer}
    if not dried:
        return timed
    spared = frozenset(pair for pair in product(range(count), range(problem.castings)) if pair not in dried)
    rounds = [frozenset(p for p in dried if p[0] == index) for index in sorted({i for i, _ in dried})]
    tries, gained = [frozenset(dried), *rounds], True
    for number in range(4):
        if number > 1 and not gained:
            break
        gained = False
        for extra in tries[:most]:
            for sequence in (coats, _as_done(problem, timed)) if problem.painters > 1 else (coats,):
                other = replay(problem, sequence, spared | extra)
                if problem.goal(other.score) < problem.goal(timed.score):
                    timed, spared, gained = other, spared | extra, True
        tries = [frozenset({(p.operation, p.casting)}) for p in timed.placed if p.dryer]
    return timed


def _as_done(problem: RunProblem, timed: Timed) -> list[Coat]:
    """What was done in that order and by the same hands, drying by hand too."""
    count = len(problem.operations)
    return [(p.operation + count * p.dryer, p.casting, p.painter) for p in timed.placed]
