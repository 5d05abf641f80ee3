"""The best sequence found for a run: pass by pass where proven quickest, else by search. Times in ticks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from finishplan.run.bounds import bounds
from finishplan.run.dispatch import dispatch, rules
from finishplan.run.quick import scorer
from finishplan.run.replay import Coat, Timed, replay
from finishplan.run.rounds import batch_sizes, round_by_round
from finishplan.run.search import STEPS_PER_S, Search, as_moves, as_rounds, in_groups
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
    score: tuple[int, int, int]
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
    return Solution(_sparing(problem, best.coats), bound, best.method)


def _best(problem: RunProblem, bound: int, steps: int) -> _Found:
    """With the dryer, a quarter of the steps goes into the run without it: the dryer never slows its sequence."""
    best = _quickest(problem, _plain(problem), bound)
    if best.score[0] == bound or not steps:
        return best
    best = min(best, _quickest(problem, _listed(problem, steps // 4), bound), key=lambda f: f.score)
    if problem.dryer:
        undried = replace(problem, dryer=False)
        found = _best(undried, bounds(undried).best, steps // 4)
        steps -= steps // 4
        best = min(best, _quickest(problem, iter([(found.method, found.coats)]), bound), key=lambda f: f.score)
    return _searched(problem, best, bound, steps)


def _quickest(problem: RunProblem, tries: Iterator[tuple[str, Sequence[Coat]]], bound: int) -> _Found:
    """The best of the sequences; the first that meets the bound ends it."""
    score, best = scorer(problem), None
    for method, coats in tries:
        found = _Found(coats, score.keep(coats), method)
        if best is None or found.score < best.score:
            best = found
        if best.score[0] == bound:
            break
    assert best is not None
    return best


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
        if number * problem.castings * count * (count // 2 + 3 + weight) > steps:
            return


def _searched(problem: RunProblem, best: _Found, bound: int, steps: int) -> _Found:
    castings = problem.castings
    if castings * len(problem.operations) > 5000:
        steps //= 3  # hundreds of tries at most: the rest is better not waited for
    plans = [(castings, 0.25, 0.02), (castings, 0.25, 0.06)]
    if castings > 1 and problem.rack is None:
        plans = [(1, 0.4, 0.02), *([(2, 0.1, 0.02)] if castings > 3 else []), *plans]
    if problem.dryer:
        plans = [(1, 0.1, 0.02), (castings, 0.5, 0.02), (castings, 0.4, 0.02)][castings == 1 :]
    if problem.painters > 1:
        plans.append((castings, 0.25, 0.2))  # handing over what another has begun first costs time
    whole = sum(share for _, share, _ in plans)
    for number, (count, share, margin) in enumerate(plans):
        if problem.dryer and number == len(plans) - 1:
            best = _quickest(problem, _dried_ahead(problem, best), bound)
        moves = as_moves(best.coats) if count == castings else as_rounds(problem, count, best.coats)
        search = Search(problem, moves, in_groups(castings, count), bound, seed=number + 1)
        coats = search.run(int(steps * share / whole), margin)
        if search.best_score < best.score:
            best = _Found(coats, search.best_score, "local search")
    return best


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


def _sparing(problem: RunProblem, coats: Sequence[Coat], most: int = 150) -> Timed:
    """The timed sequence without the drying by hand that gains nothing: first whole rounds of it, then one by one."""
    timed = replay(problem, coats)
    rounds = sorted({p.operation for p in timed.placed if p.dryer})
    tries = [frozenset((index, j) for j in range(problem.castings)) for index in rounds]
    spared = frozenset[tuple[int, int]]()
    for _ in range(2):
        for extra in tries[:most]:
            other = replay(problem, coats, spared | extra)
            if other.score < timed.score:
                timed, spared = other, spared | extra
        tries = [frozenset({(p.operation, p.casting)}) for p in timed.placed if p.dryer]
    return timed
