"""What the schedule tells the maker: castings in work, first wait, batches, what dryer and painters save."""

import math
from dataclasses import replace
from typing import NamedTuple

from finishplan.basics.words import counted, duration
from finishplan.run.dispatch import round_by_round
from finishplan.run.hours import Hours
from finishplan.run.model import Hint, RunAdvice
from finishplan.run.problem import TICKS_PER_MIN, RunProblem, minutes
from finishplan.run.replay import run_through
from finishplan.run.solve import WORTH_DRYING, Solution, solve, solve_as_it_is, waits_of

TRIED = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30)
"""Castings painted together whose waits are looked at."""
LEAST_WAIT = 50
"""Ticks: a shorter wait is not told."""


class WhatIfs(NamedTuple):
    """What is computed beside the schedule itself, in ticks: castings to keep in work; (castings, ticks a casting) of
    batches; makespan and sessions with one more painter."""

    keep_in_work: int | None
    batches: list[tuple[int, float]]
    more_painters: tuple[int, int]


class Dried(NamedTuple):
    """Attendance and sessions with the dryer where there is none, without it where it is used, and the time of its
    goes, in ticks."""

    attendance: int = 0
    sessions: int = 0
    goes: int = 0


def what_ifs(problem: RunProblem) -> WhatIfs:
    """The runs that the maker may wonder about, but for the hair dryer; one more painter by a short search."""
    more = solve(replace(problem, painters=problem.painters + 1), problem.effort / 4)
    keep, batches = _batches(problem)
    return WhatIfs(keep, batches, (more.timed.score.makespan, more.timed.score.sessions))


def solve_both_ways(problem: RunProblem) -> tuple[Solution, Dried]:
    """The run, and by a short search that with or without the hair dryer: not where `solve` would not seek it either,
    since there is hardly a wait."""
    solution = solve(problem)
    if not _dryable(problem) or (not problem.dryer and waits_of(solution) < WORTH_DRYING):
        return solution, Dried()
    # Half the effort: it is compared, not followed.
    found = solve_as_it_is(replace(problem, dryer=not problem.dryer), problem.effort / 2)
    return solution, Dried(found.timed.score.attendance, found.timed.score.sessions, held(found))


def advise(solution: Solution, others: WhatIfs, other: Dried) -> RunAdvice:
    """The figures. Every saving is what a short search finds, so at least that much is to be had."""
    problem, score = solution.problem, solution.timed.score
    batch, each = _best_batch(problem.count, others.batches)
    at, length, before = _first_wait(solution)
    finish = sorted(solution.timed.finish)
    saved, spared, hand = _dryer(solution, other)
    return RunAdvice(
        keep_in_work=others.keep_in_work,
        first_wait_at_min=minutes(at),
        first_wait_min=minutes(length),
        first_wait_before=before,
        dryer_saves_min=None if saved is None else minutes(saved),
        dryer_hand_min=minutes(hand),
        second_painter_saves_min=minutes(max(0, score.makespan - others.more_painters[0])),
        best_batch=batch,
        best_batch_min_per_casting=round(each / TICKS_PER_MIN, 2),
        first_finished_min=minutes(finish[0]),
        # Of three castings the second, of four the second too: then half of them are done.
        half_finished_min=minutes(finish[(len(finish) - 1) // 2]),
        all_finished_min=minutes(finish[-1]),
        dryer_saves_sessions=spared,
        second_painter_saves_sessions=max(0, score.sessions - others.more_painters[1]),
    )


def held(solution: Solution) -> int:
    """Time of the dryer's goes."""
    return sum(one.end - one.start for one in solution.timed.done if one.kind == "dryer")


def _dryer(solution: Solution, other: Dried) -> tuple[int | None, int, int]:
    """What the dryer takes off the attendance and off the sessions, and the time of its goes; None where no coat may be
    dried so."""
    problem, score = solution.problem, solution.timed.score
    if not _dryable(problem):
        return None, 0, 0
    attendance, sessions, hand = other
    if problem.dryer:
        saved, spared, hand = attendance - score.attendance, sessions - score.sessions, held(solution)
    else:
        saved, spared = score.attendance - attendance, score.sessions - sessions
    # A short search may find nothing better: then nothing is promised.
    if not hand or spared < 0 or (saved <= 0 and not spared):
        return 0, 0, 0
    return max(0, saved), spared, hand


def sentences(solution: Solution, figures: RunAdvice) -> tuple[str, ...]:
    """The advice in words."""
    problem = solution.problem
    told = (_primed(problem), _wait(problem, figures), _dried(problem, figures), _painter(problem, figures))
    return tuple(text for text in (*told, _in_work(problem, figures), _batch(problem, figures)) if text)


def hints(problem: RunProblem, figures: RunAdvice) -> tuple[Hint, ...]:
    """What to change that would save time, with what saves most first: evenings, then minutes."""
    found = []
    saved, spared = figures.dryer_saves_min, figures.dryer_saves_sessions
    if saved is not None and not problem.dryer and (saved >= 1 or spared):
        found.append(Hint("room.dryer", True, _dried(problem, figures), saved, spared))
    sooner = figures.second_painter_saves_min
    if sooner >= 1:
        evenings = figures.second_painter_saves_sessions
        found.append(Hint("run.painters", problem.painters + 1, _painter(problem, figures), sooner, evenings))
    return tuple(sorted(found, key=lambda hint: (-hint.saves_sessions, -hint.saves_min)))


def _primed(problem: RunProblem) -> str:
    work, wait = (minutes(part) for part in problem.priming)
    if not work:
        return ""
    each = "" if problem.count == 1 else f"all {problem.count} castings "
    return (
        f"Prime {each}before the first evening ({duration(work, days=False)}, not in its hours): the primer wants "
        f"{duration(wait, days=False, up=True)} before it is brushed over."
    )


def _wait(problem: RunProblem, figures: RunAdvice) -> str:
    if not figures.first_wait_before:
        return ""
    long, before = duration(figures.first_wait_min, days=False), figures.first_wait_before
    # That a coat begins with the first casting goes without saying.
    before = before.removesuffix(" on casting 1")
    at = duration(figures.first_wait_at_min, days=False)
    if problem.hours.length is not None:
        at = f"{at} at the bench"
    return f"The first wait is {long}, after {at}, before {before}."


def _dried(problem: RunProblem, figures: RunAdvice) -> str:
    saved, spared = figures.dryer_saves_min, figures.dryer_saves_sessions
    if saved is None:
        return ""
    what = [counted(spared, "evening")] if spared else []
    what += [f"{duration(saved, days=False)} at the bench"] if saved >= 1 else []
    if not what:
        return "The hair dryer saves nothing here." if problem.dryer else "A hair dryer would save nothing here."
    words = " and ".join(what)
    if problem.dryer:
        return f"The hair dryer saves {words}."
    goes = duration(figures.dryer_hand_min, days=False)
    return f"A hair dryer would save {words}; it would run for {goes} in all."


def _painter(problem: RunProblem, figures: RunAdvice) -> str:
    painter = "a second painter" if problem.painters == 1 else "one more painter"
    saves = figures.second_painter_saves_min
    if saves < 1:
        return f"With {painter} it would take as long."
    if problem.hours.length is None:
        return f"With {painter} it would be done {duration(saves, days=False)} sooner."
    if not figures.second_painter_saves_sessions:
        return f"With {painter} the last evening would be {duration(saves, days=False)} shorter."
    evenings = counted(figures.second_painter_saves_sessions, "evening")
    return f"With {painter} it would take {evenings} {'less' if evenings.startswith('1 ') else 'fewer'}."


def _in_work(problem: RunProblem, figures: RunAdvice) -> str:
    """How many castings to keep in work, where the run has so many."""
    # With fewer castings than that nobody could follow it.
    if problem.count < max(2, figures.keep_in_work or TRIED[-1]):
        return ""
    if figures.keep_in_work is None:
        return f"Painted pass by pass, you would wait for paint even with {TRIED[-1]} castings at once."
    enough = f"{figures.keep_in_work} castings at once are" if figures.keep_in_work > 1 else "1 casting at once is"
    return f"Painted pass by pass, {enough} enough: hardly any time goes in waiting for paint then."


def _batch(problem: RunProblem, figures: RunAdvice) -> str:
    if problem.count == 1:
        return ""
    each = f"{duration(figures.best_batch_min_per_casting, days=False)} each"
    if problem.count == figures.best_batch:
        which = f"{'both' if problem.count == 2 else f'all {problem.count}'} castings together"
        rest = "smaller batches take longer for each"
    else:
        which = f"{figures.best_batch} castings at a time" if figures.best_batch > 1 else "one casting at a time"
        rest = "larger batches would hardly save more"
    return f"To paint in one stretch, take {which} through each pass: {each}; {rest}."


def _alone(problem: RunProblem, castings: int) -> RunProblem:
    """One painter, no sessions, rack or dryer, all castings there: paint and hands alone."""
    return problem.of(castings, painters=1, hours=Hours(), dryer=False)


def _batches(problem: RunProblem) -> tuple[int | None, list[tuple[int, float]]]:
    """The least castings from which on waiting, pass by pass, is a twentieth of the time or less, None: more than were
    tried; and (castings, ticks a casting) painted together, up to the run and the rack."""
    most = min(problem.count, problem.castings.rack or problem.count)
    keep: int | None = None
    each = []
    # Beyond the run's own castings only until it is known when waiting ends.
    for count in TRIED:
        if count > most and keep is not None:
            break
        alone = _alone(problem, count)
        score = run_through(alone, round_by_round(alone))
        if count <= most:
            each.append((count, score.makespan / count))
        waits = 20 * (score.makespan - score.hand) > score.makespan
        # Starts anew where waits come back: it must hold from that number on.
        keep = None if waits else keep or count
    return keep, each


def _best_batch(castings: int, each: list[tuple[int, float]]) -> tuple[int, float]:
    """The smallest batch within a twentieth of the best ticks a casting, and those."""
    sizes = [(count, ticks) for count, ticks in each if count <= castings]
    least = min((ticks for _, ticks in sizes), default=math.inf)
    return next((count, ticks) for count, ticks in sizes if ticks <= 1.05 * least)


def _first_wait(solution: Solution) -> tuple[int, int, str]:
    """Time at the bench before the first wait of half a minute or more within a session, its length, and what comes
    after it."""
    hours, last, ended = solution.problem.hours, dict[tuple[int, int], int](), dict[int, int]()
    for one in sorted(solution.timed.done, key=lambda d: (d.start, d.end)):
        session = hours.index(one.start)
        key = one.painter, session
        if key in last and one.start - last[key] >= LEAST_WAIT:
            # The nights between do not count, and an evening of several painters counts once.
            bench = sum(end - hours.window(s)[0] for s, end in ended.items() if s < session)
            at = bench + last[key] - hours.window(session)[0]
            return at, one.start - last[key], _next_coat(solution, one.painter, one.start)
        last[key] = one.end
        ended[session] = max(ended.get(session, 0), one.end)
    return 0, 0, ""


def _next_coat(solution: Solution, painter: int, time: int) -> str:
    coats = (d for d in solution.timed.done if d.kind == "coat" and d.painter == painter and d.start >= time)
    one = min(coats, key=lambda d: d.start, default=None)
    if one is None:
        return "the hair dryer"
    casting, op = solution.problem.coats[one.coat]
    what = "priming" if op.kind == "prime" else f"coat {op.coat} of pass {op.pass_no}"
    return f"{what} on casting {casting + 1}"


def _dryable(problem: RunProblem) -> bool:
    return any(op.forced for figure in problem.figures for op in figure.operations)
