"""The maker's own pace, from what a run really took: one factor on all of the painter's minutes."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from finishplan.basics.errors import InputError
from finishplan.basics.words import duration
from finishplan.run.bench import Unfit
from finishplan.run.problem import RunProblem, minutes
from finishplan.run.replay import HOME, run_through
from finishplan.run.solve import Solution, solve

LEAST, MOST, STEPS = 0.4, 3.0, 50
"""Times the planned minutes that a hand is believed to take (our rule): beyond, something else than painting was timed.
Paces tried between, either way."""
_TIME = re.compile(r"(?:(\d{1,4}(?:\.\d+)?)\s*h)?\s*(?:(\d{1,4}(?:\.\d+)?)\s*(?:min|m)?)?")


@dataclass(frozen=True)
class Fit:
    """The pace that explains a time at the bench: took_min, against planned_min, on the first `evenings` of the
    `planned` ones; both 1 where the run is one stretch."""

    pace: float
    took_min: float
    planned_min: float
    evenings: int
    planned: int


def told_min(evenings: Sequence[str]) -> tuple[float, ...]:
    """Minutes at the bench, an evening each, of '3h20', '2 h 50 min', '200', '3:20'; several with commas between or one
    by one. Raises InputError."""
    told = [one.strip() for said in evenings for one in said.split(",") if one.strip()]
    if not told:
        raise InputError("no time is given", where="--took", cure="write it as 3h20")
    return tuple(map(_minutes, told))


def _minutes(said: str) -> float:
    # '3:20' is hours and minutes, as a kitchen clock shows it.
    found = _TIME.fullmatch(re.sub(r"^(\d+):(\d\d)$", r"\1h\2", said.lower()))
    total = 60 * float(found[1] or 0) + float(found[2] or 0) if found else 0.0
    if not total:
        raise InputError(f"'{said[:30]}' is not a time", where="--took", cure="write it as 3h20, several as 2h50,3h05")
    return total


def fitted_pace(problem: RunProblem, pace: float, told: Sequence[float]) -> Fit:
    """The pace at which the planned work takes so many minutes at the bench, setting up and waits included. problem: at
    the pace so far. told: minutes of the first evenings of the plan, as many as are told; a run in one stretch takes
    them all together.

    Paint dries no slower for it, so the waits shrink or grow as the hands are slower or quicker; of paces that explain
    the time as well, the one nearest to that so far. Raises InputError for a time that no pace from LEAST to MOST times
    that so far explains.
    """
    # The best sequence at the pace so far is kept: another pace would find another one, and the fit would jump.
    solution, took = solve(problem), sum(told)
    rounds = _by_evening(solution)
    evenings = min(len(told), len(rounds))
    sequence = [item for k, items in enumerate(rounds[:evenings]) for item in ([HOME] * (k > 0) + items)]

    def attendance(factor: float) -> float:
        try:
            return minutes(run_through(_at_pace(solution.problem, factor), sequence).attendance)
        # At a slow pace a pot may grow too old before its use, or in the coat itself: such a pace explains nothing.
        except (Unfit, InputError):
            return math.inf

    def off(factor: float) -> tuple[float, float]:
        # Many paces give the same attendance where waits fill the time; the logarithm is the same for twice and half.
        return round(abs(attendance(factor) - took), 2), abs(math.log(factor))

    planned, least, most = (attendance(factor) for factor in (1.0, LEAST, MOST))
    if not least <= took <= most:
        raise _no_pace(took, planned, (least, most))
    # A grid, not bisection: attendance in sessions goes up in steps.
    reach = max(MOST, 1 / LEAST)
    tried = (reach ** (k / STEPS) for k in range(-STEPS, STEPS + 1))
    coarse = min((factor for factor in tried if LEAST <= factor <= MOST), key=off)
    fine = min((coarse * reach ** (k / STEPS / STEPS) for k in range(-STEPS, STEPS + 1)), key=off)
    return Fit(round(pace * fine, 3), took, planned, evenings, len(rounds))


def _no_pace(took: float, planned: float, between: tuple[float, float]) -> InputError:
    least = duration(between[0], days=False)
    span = f"{least} to {duration(between[1], days=False)}" if math.isfinite(between[1]) else f"{least} or more"
    what = f"{duration(took, days=False)} at the bench are too far from the {duration(planned, days=False)} planned"
    why = f"hands of {LEAST:g} to {MOST:g} times the planned minutes would take {span} with the waits"
    cure = "check the times, one for each evening from the first on; or set labour.pace yourself"
    return InputError(f"{what}: {why}", where="--took", cure=cure)


def _by_evening(solution: Solution) -> list[list[int]]:
    """The sequence, by the evenings in which it is planned to be done."""
    hours = solution.problem.hours
    if hours.length is None:
        return [list(solution.sequence)]
    session = {one.coat: hours.index(one.start) for one in solution.timed.done if one.kind == "coat"}
    number = {at: k for k, at in enumerate(sorted(set(session.values())))}
    rounds: list[list[int]] = [[] for _ in number]
    now = 0
    for item in solution.sequence:
        now = number[session[item]] if item in session else now
        if item != HOME:
            rounds[now].append(item)
    return rounds


def _at_pace(problem: RunProblem, factor: float) -> RunProblem:
    """The same work by slower or quicker hands; evenings last until what was planned for them is done."""

    def paced(count: int) -> int:
        return round(count * factor)

    hours = problem.hours
    if hours.length is not None:
        gaps = [hours.every, *(b - a for a, b in zip(hours.starts, hours.starts[1:], strict=False))]
        length = min(gaps)
        hours = replace(hours, length=length, over=0, setup=min(paced(hours.setup), length - 1))
    return replace(
        problem,
        figures=tuple(
            replace(f, operations=tuple(replace(op, work=paced(op.work)) for op in f.operations))
            for f in problem.figures
        ),
        mixes=tuple(replace(m, mixing=paced(m.mixing)) for m in problem.mixes),
        turn=paced(problem.turn),
        hours=hours,
    )
