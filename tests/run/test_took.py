"""The maker's own pace from what a run took."""

from dataclasses import replace

import pytest
from random_runs import chain_run, parts_run

from finishplan.basics.errors import InputError
from finishplan.run.hours import Hours
from finishplan.run.problem import Castings, Figure, MixWork, Operation, RunProblem
from finishplan.run.replay import run_through
from finishplan.run.solve import solve
from finishplan.run.took import fitted_pace, took_min


def of(*operations):
    return RunProblem((Figure(operations),), Castings((0,), (0,)), (MixWork("A", 300),), effort=0.0)


@pytest.mark.parametrize(
    ("told", "minutes"),
    [
        (["3h20"], 200),
        (["3 h 20 min"], 200),
        (["3:20"], 200),
        (["200"], 200),
        (["2.5h"], 150),
        (["45m"], 45),
        (["2h50, 3h05"], 355),
        (["2h50", "3h05", "1h"], 415),
    ],
)
def test_times_as_makers_write_them(told, minutes):
    assert took_min(told) == minutes


@pytest.mark.parametrize("told", [["soon"], ["0"], [""], ["3h20x"], []])
def test_what_is_no_time_is_an_input_error(told):
    with pytest.raises(InputError, match="--took"):
        took_min(told)


@pytest.mark.parametrize("evenings", [False, True])
@pytest.mark.parametrize("factor", [0.8, 1.0, 1.4])
def test_the_pace_that_made_the_time_is_found_again(factor, evenings):
    """Slower hands, the same paint: the time of the planned order at that pace leads back to it (where hands that miss
    an evening's end by a little need as long, two paces do: not in this figure)."""
    hours = Hours(9000, (0,), 144_000, 1000) if evenings else Hours()
    problem = replace(parts_run(2, 3) if evenings else chain_run(3, 5), hours=hours, effort=0.02)
    slower = replace(
        problem,
        figures=tuple(
            Figure(tuple(replace(op, work=round(op.work * factor)) for op in f.operations)) for f in problem.figures
        ),
        mixes=tuple(replace(m, mixing=round(m.mixing * factor)) for m in problem.mixes),
        turn=round(problem.turn * factor),
        hours=replace(hours, length=round(9000 * factor), setup=round(1000 * factor)) if evenings else hours,
    )
    took = run_through(slower, solve(problem).sequence).attendance / 100
    pace, planned = fitted_pace(problem, 1.5, took)
    assert pace == pytest.approx(1.5 * factor, rel=0.01)
    assert (took == pytest.approx(planned)) == (factor == 1.0)


def test_a_time_that_no_pace_explains_is_refused():
    with pytest.raises(InputError, match="too far"):
        fitted_pace(chain_run(1, 2), 1.0, 1e6)


def test_a_tenth_to_ten_times_the_hands_work_is_still_a_pace():
    """Our rule: a hurried hand at 0.15 and a dreamer at 8 are believed. No coat waits for another here, so that
    all time is the hands'."""
    problem = of(*(Operation(1, 1, f"part {n}", 0, 6000, 0) for n in range(4)))
    planned = solve(problem).timed.score.attendance / 100
    for factor in (0.15, 8.0):
        assert fitted_pace(problem, 1.0, factor * planned)[0] == pytest.approx(factor, rel=0.01)
    for factor in (0.07, 15.0):
        with pytest.raises(InputError, match="too far"):
            fitted_pace(problem, 1.0, factor * planned)
