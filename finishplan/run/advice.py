"""What the schedule tells the maker: castings in work, first wait, batches, what dryer and painters save."""

import math
from bisect import bisect_left
from dataclasses import replace
from typing import NamedTuple

from finishplan.basics.words import counted, duration
from finishplan.run.bounds import bounds
from finishplan.run.hours import Hours
from finishplan.run.model import RunAdvice
from finishplan.run.quick import Quick
from finishplan.run.replay import Timed
from finishplan.run.rounds import round_by_round
from finishplan.run.solve import Solution, solve, with_dryer
from finishplan.run.tasks import TICKS_PER_MIN, RunProblem, minutes

SMALL = 600
"""Coats of a run so small that the hair dryer may call for another sequence: a longer run hardly waits."""
MOST_IN_WORK = 60
"""Castings at once beyond which nobody looks."""


class WhatIfs(NamedTuple):
    """What is computed beside the schedule itself, in ticks: castings to keep in work; ticks a casting in batches of
    1, 2 ...; makespan and hand time of drying where the dryer is used, or where it is, is not; makespan with one more
    painter; makespan, hand time and mix changes by the other goal. The dryer to be had (`dried`) is left at 0."""

    keep_in_work: int | None
    per_casting: list[float]
    dryer: tuple[int, int]
    more_painters: int
    goal: tuple[int, int, int]


def what_ifs(problem: RunProblem) -> WhatIfs:
    """The runs that the maker may wonder about, each by a short search."""
    effort = short(problem)
    other = solve(replace(problem, dryer=False), effort) if problem.dryer and _dryable(problem) else None
    more = solve(replace(problem, painters=problem.painters + 1, fewest_changes=False), effort / 2)
    dryer = (other.timed.score[0], _held(other.timed)) if other else (0, 0)
    goal = replace(problem, fewest_changes=not problem.fewest_changes)
    turned = solve(goal, 0.0 if goal.fewest_changes else effort).timed.score
    return WhatIfs(_keep_in_work(problem), _batches(problem), dryer, more.timed.score[0], turned)


def dried(problem: RunProblem, solution: Solution) -> tuple[int, int]:
    """Makespan and hand time of drying, in ticks, of a run without the dryer if there were one: the solution's sequence
    dried by hand where that shortens it; of a small run also what a short search finds."""
    if not _dryable(problem):
        return 0, 0
    found = [with_dryer(problem, solution)]
    if problem.castings * len(problem.operations) <= SMALL:
        found.append(solve(replace(problem, dryer=True), short(problem)).timed)
    no_worse = [timed for timed in found if problem.goal(timed.score) <= problem.goal(solution.timed.score)]
    best = min(no_worse, key=lambda timed: timed.score)
    return best.score[0], _held(best)


def advise(problem: RunProblem, solution: Solution, others: WhatIfs) -> RunAdvice:
    """The figures. Every saving is what a short search finds, so at least that much is to be had."""
    batch, each = _best_batch(problem.castings, others.per_casting)
    at, length, before = _first_wait(problem, solution)
    saved, hand = _dryer(problem, solution, others)
    finish = sorted(solution.timed.finish)
    later, work, changes = (b - a for a, b in zip(solution.timed.score, others.goal, strict=True))
    return RunAdvice(
        keep_in_work=others.keep_in_work,
        first_wait_at_min=minutes(at),
        first_wait_min=minutes(length),
        first_wait_before=before,
        dryer_saves_min=None if saved is None else minutes(saved),
        dryer_hand_min=minutes(hand),
        second_painter_saves_min=minutes(max(0, solution.timed.score[0] - others.more_painters)),
        best_batch=batch,
        best_batch_min_per_casting=round(each / TICKS_PER_MIN, 2),
        first_finished_min=minutes(finish[0]),
        half_finished_min=minutes(finish[(len(finish) - 1) // 2]),
        all_finished_min=minutes(finish[-1]),
        other_later_min=minutes(later),
        other_changes=changes,
        other_work_min=minutes(work),
    )


def _span(problem: RunProblem, value_min: float) -> str:
    """From one moment of the run to another: in days where it is broken off between sessions, else in hours of work."""
    return duration(value_min, days=problem.hours.length is not None)


def sentences(problem: RunProblem, figures: RunAdvice) -> tuple[str, ...]:
    """The advice in words."""
    told = (_other(problem, figures), _wait(problem, figures), _dried(problem, figures), _painter(problem, figures))
    return tuple(text for text in (*told, _in_work(problem, figures), _batch(problem, figures)) if text)


def _other(problem: RunProblem, figures: RunAdvice) -> str:
    """The other goal, where it gains something."""
    later, changes, work = figures.other_later_min, figures.other_changes, figures.other_work_min
    if not figures.other_gains(problem.fewest_changes):
        return ""
    if problem.fewest_changes:
        more = f"{counted(changes, 'mix change')} more" if changes else "as many mix changes"
        return f"Without fewest_changes the run ends {_span(problem, -later)} sooner, with {more}."
    when = f"{_span(problem, later)} later" if later >= 0.5 else "as soon"
    less = f" and {duration(-work, days=False)} less work" if work <= -0.5 else ""
    return (
        f"Pass by pass the run ends {when}, with {counted(-changes, 'mix change')} fewer{less}: "
        "write fewest_changes = true under [run] to plan it so."
    )


def _wait(problem: RunProblem, figures: RunAdvice) -> str:
    if not figures.first_wait_before:
        return ""
    at, long = _span(problem, figures.first_wait_at_min), duration(figures.first_wait_min, days=False)
    before = figures.first_wait_before.removesuffix(" on casting 1" if problem.castings == 1 else "")
    return f"The first wait comes after {at}: {long}, then {before}."


def _dried(problem: RunProblem, figures: RunAdvice) -> str:
    if figures.dryer_saves_min is None:
        return ""
    if figures.dryer_saves_min < 0.5:
        if not problem.dryer:
            return "With a hair dryer no shorter run was found."
        some = "under 1 min" if figures.dryer_saves_min else "work, not time"
        return f"The hair dryer saves {some if figures.dryer_hand_min else 'nothing'}."
    saved = _span(problem, figures.dryer_saves_min)
    if problem.dryer:
        return f"The hair dryer saves {saved}."
    return f"A hair dryer would save {saved} for {duration(figures.dryer_hand_min, days=False)} of holding it."


def _painter(problem: RunProblem, figures: RunAdvice) -> str:
    painter = "a second painter" if problem.painters == 1 else "one more painter"
    saves = figures.second_painter_saves_min
    if saves < 0.5:
        return f"With {painter} no shorter run was found."
    return f"{painter.capitalize()} would save {_span(problem, saves)}."


def _in_work(problem: RunProblem, figures: RunAdvice) -> str:
    """How many castings to keep in work, where the run has so many."""
    if problem.castings < max(2, figures.keep_in_work or MOST_IN_WORK):
        return ""
    if figures.keep_in_work is None:
        share = f"waiting for paint takes 5 % of the time or more even with {MOST_IN_WORK} castings at once"
    else:
        enough = f"{figures.keep_in_work} castings at once are" if figures.keep_in_work > 1 else "1 casting at once is"
        share = f"{enough} enough: waiting for paint then takes less than 5 % of the time"
    return f"Painted pass by pass{_terms(problem)}, {share}."


def _terms(problem: RunProblem) -> str:
    """What these figures leave out of account, where the run has it."""
    left = ((problem.painters > 1, " for one painter"), (problem.dryer, " without the hair dryer"))
    whole = " in one stretch" if problem.hours.length is not None else ""
    return "".join(text for holds, text in left if holds) + whole


def _batch(problem: RunProblem, figures: RunAdvice) -> str:
    if problem.castings == 1:
        return ""
    each = f"{duration(figures.best_batch_min_per_casting, days=False)} each"
    alike = problem.hours.length is None and not problem.ready[-1] and problem.painters == 1
    planned = duration(figures.all_finished_min / problem.castings, days=False)
    here = f" (as planned here {planned})" if alike else ""
    if problem.castings == figures.best_batch:
        two = problem.castings == 2
        which = f"{'both' if two else f'all {problem.castings}'} castings together"
        rest = f"{'one by one' if two else 'in smaller batches'}, each takes over 5 % longer"
    else:
        which = f"castings in batches of {figures.best_batch}" if figures.best_batch > 1 else "castings one by one"
        rest = "larger batches save less than 5 %"
    return f"Painted pass by pass{_terms(replace(problem, dryer=False))}, {which} take {each}{here}; {rest}."


def _free(problem: RunProblem, castings: int) -> RunProblem:
    """One painter, no sessions, rack or dryer, all castings there: paint and hands alone."""
    return problem.of(castings, painters=1, rack=None, hours=Hours(), dryer=False)


def _keep_in_work(problem: RunProblem) -> int | None:
    """The least number from which on waiting, pass by pass, is a twentieth of the time or less; None: too many."""
    counts = range(1, MOST_IN_WORK + 1)
    enough = bisect_left(counts, True, key=lambda count: _never_waits(problem, count)) + 1
    least = None
    for count in reversed(counts[:enough]):
        makespan, hand = _pass_by_pass(_free(problem, count))
        if 20 * (makespan - hand) > makespan:
            break
        least = count
    return least


def _never_waits(problem: RunProblem, castings: int) -> bool:
    """Whether nobody waits with so many castings or more: each further one adds work between any coat and what waits
    for it, and so does a mix that goes stale, so it is enough that nobody waits with mixes that never do."""
    makespan, hand = _pass_by_pass(replace(_free(problem, castings), life=(None,) * len(problem.life)))
    return makespan == hand


def _pass_by_pass(problem: RunProblem) -> tuple[int, int]:
    """Makespan and hand time."""
    makespan, hand, _ = Quick(problem).keep(round_by_round(problem))
    return makespan, hand


def _batches(problem: RunProblem) -> list[float]:
    """Ticks a casting when 1, 2 ... castings are painted together pass by pass, up to the run and the rack."""
    most = min(problem.castings, problem.rack or problem.castings, MOST_IN_WORK)
    each = []
    for count in range(1, most + 1):
        batch = problem.of(count, painters=1, rack=None, hours=Hours())
        each.append(_pass_by_pass(batch)[0] / count)
    return each


def _best_batch(castings: int, each: list[float]) -> tuple[int, float]:
    """The smallest batch within a twentieth of the best, the run cut into batches as equal as can be, and its ticks a
    casting. each: ticks a casting in a batch of 1, 2 ..."""
    means: dict[int, float] = {}
    for batches in range(-(-castings // len(each)), castings + 1):
        least, larger = divmod(castings, batches)
        total = (batches - larger) * least * each[least - 1]
        total += larger * (least + 1) * each[least] if larger else 0
        size = least + (larger > 0)
        means[size] = min(means.get(size, math.inf), total / castings)
    size = min(n for n, mean in means.items() if mean <= 1.05 * min(means.values()))
    return size, means[size]


def _first_wait(problem: RunProblem, solution: Solution) -> tuple[int, int, str]:
    """Start, length and what comes after of the first wait of half a minute or more within a session."""
    last: dict[int, int] = {}
    for one in sorted(solution.timed.placed, key=lambda p: (p.start, p.end)):
        begin = one.start if one.change is None else one.change
        if one.painter in last:
            gap = problem.hours.open_between(last[one.painter], begin)
            if gap >= 50:
                op = problem.operations[one.operation]
                what = "priming" if op.kind == "prime" else f"coat {op.coat} of pass {op.pass_no}"
                return last[one.painter], gap, f"{what} on casting {one.casting + 1}"
        last[one.painter] = one.end
    return 0, 0, ""


def short(problem: RunProblem) -> float:
    """Effort of a what-if, in the seconds of RunProblem.effort: a quarter for small runs, none beyond list scheduling
    for large ones."""
    return problem.effort / 4 if problem.castings * len(problem.operations) <= 5000 else 0.0


def _dryable(problem: RunProblem) -> bool:
    return any(op.hand is not None for op in problem.operations)


def _held(timed: Timed) -> int:
    """Hand time of holding the dryer."""
    return sum(p.end - p.start for p in timed.placed if p.dryer)


def _dryer(problem: RunProblem, solution: Solution, others: WhatIfs) -> tuple[int | None, int]:
    """What the dryer takes off the makespan, and the hand time it asks for; None where no coat may be dried by hand."""
    if not _dryable(problem):
        return None, 0
    if not problem.dryer and solution.proven and solution.bound == _without_drying(problem):
        return 0, 0
    makespan, other = solution.timed.score[0], others.dryer[0]
    saved, hand = (other - makespan, _held(solution.timed)) if problem.dryer else (makespan - other, others.dryer[1])
    return (max(0, saved), hand) if hand else (0, 0)


def _without_drying(problem: RunProblem) -> int:
    """A bound that holds with the dryer too: the work, or the longest way with every coat dried by hand."""
    return bounds(replace(problem, dryer=True)).best
