"""The maker's own pace, from what a run really took: one factor on all of the painter's minutes."""

import math
import re
from collections.abc import Sequence
from dataclasses import replace

from finishplan.basics.errors import InputError
from finishplan.run.bench import Unfit
from finishplan.run.problem import RunProblem, minutes
from finishplan.run.replay import run_through
from finishplan.run.solve import solve

LEAST, MOST, STEPS = 0.1, 10.0, 50
"""Times the planned minutes; beyond, something else went on than painting. Paces tried between, either way."""
_TIME = re.compile(r"(?:(\d+(?:\.\d+)?)\s*h)?\s*(?:(\d+(?:\.\d+)?)\s*(?:min|m)?)?")


def took_min(evenings: Sequence[str]) -> float:
    """Minutes at the bench of '3h20', '2 h 50 min', '200', '3:20', or of several evenings, commas between or one by
    one. Raises InputError."""
    told = [one.strip() for said in evenings for one in said.split(",") if one.strip()]
    if not told:
        raise InputError("there is no time in it", where="--took", cure="write it as 3h20")
    return sum(map(_minutes, told))


def _minutes(said: str) -> float:
    # '3:20' is hours and minutes, as a kitchen clock shows it.
    found = _TIME.fullmatch(re.sub(r"^(\d+):(\d\d)$", r"\1h\2", said.lower()))
    total = 60 * float(found[1] or 0) + float(found[2] or 0) if found else 0.0
    if not total:
        raise InputError(f"'{said[:30]}' is no time", where="--took", cure="write it as 3h20, several as 2h50,3h05")
    return total


def fitted_pace(problem: RunProblem, pace: float, took: float) -> tuple[float, float]:
    """The pace at which the planned work takes `took` minutes at the bench, setting up and waits included, and the
    minutes that were planned. problem: at the pace so far.

    Paint dries no slower for it, so the waits shrink or grow as the hands are slower or quicker; of paces that explain
    the time as well, the one nearest to that so far. Raises InputError for a time that no pace explains.
    """
    # The best sequence at the pace so far is kept: another pace would find another one, and the fit would jump.
    solution = solve(problem)
    planned = minutes(solution.timed.score.attendance)

    def attendance(factor: float) -> float:
        try:
            return minutes(run_through(_at_pace(solution.problem, factor), solution.sequence).attendance)
        # At a slow pace a pot may grow too old before its use: such a pace explains nothing.
        except Unfit:
            return math.inf

    if not attendance(LEAST) <= took <= attendance(MOST):
        raise InputError(
            f"{took:g} min are too far from the {planned:.0f} min planned for any pace to explain",
            where="--took",
            cure="give the time of the whole run at the bench, all evenings",
        )

    def off(factor: float) -> tuple[float, float]:
        # Many paces give the same attendance where waits fill the time; the logarithm is the same for twice and half.
        return round(abs(attendance(factor) - took), 2), abs(math.log(factor))

    # A grid, not bisection: attendance in sessions goes up in steps.
    coarse = min((MOST ** (k / STEPS) for k in range(-STEPS, STEPS + 1)), key=off)
    fine = min((coarse * MOST ** (k / STEPS / STEPS) for k in range(-STEPS, STEPS + 1)), key=off)
    return round(pace * fine, 3), planned


def _at_pace(problem: RunProblem, factor: float) -> RunProblem:
    """The same work by slower or quicker hands; sessions are as much longer, so that each holds the same work."""

    def paced(count: int) -> int:
        return round(count * factor)

    hours = problem.hours
    if hours.length is not None:
        # Slower hands need longer sessions, which must not run into the next one.
        every = max(hours.every, paced(hours.length + hours.over) + 1)
        gaps = min((b - a for a, b in zip(hours.starts, hours.starts[1:], strict=False)), default=every)
        length = min(paced(hours.length), gaps - paced(hours.over))
        hours = replace(hours, length=length, every=every, setup=paced(hours.setup), over=paced(hours.over))
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
