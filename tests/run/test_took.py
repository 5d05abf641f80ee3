"""The maker's own pace from what a run took."""

from dataclasses import replace

import pytest
from random_runs import chain_run, parts_run

from finishplan.basics.errors import InputError
from finishplan.run.hours import Hours
from finishplan.run.problem import Castings, Figure, MixWork, Operation, RunProblem
from finishplan.run.replay import run_through
from finishplan.run.solve import solve
from finishplan.run.took import fitted_pace, told_min


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
    assert sum(told_min(told)) == minutes


@pytest.mark.parametrize("told", [["soon"], ["0"], [""], ["3h20x"], ["9" * 400 + "h"], []])
def test_what_is_no_time_is_an_input_error(told):
    with pytest.raises(InputError, match="--took"):
        told_min(told)


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
    sessions = solve(problem).timed.score.sessions
    fit = fitted_pace(problem, 1.5, [took / sessions] * sessions)
    assert fit.pace == pytest.approx(1.5 * factor, rel=0.01)
    assert (took == pytest.approx(fit.planned_min)) == (factor == 1.0)


def test_a_time_that_no_pace_explains_is_refused():
    with pytest.raises(InputError, match="too far"):
        fitted_pace(chain_run(1, 2), 1.0, [1e6])


def test_two_fifths_to_three_times_the_hands_work_is_a_pace():
    """Our rule. No coat waits for another here, so that all time is the hands'."""
    problem = of(*(Operation(1, 1, f"part {n}", 0, 6000, 0) for n in range(4)))
    planned = solve(problem).timed.score.attendance / 100
    for factor in (0.41, 2.9):
        assert fitted_pace(problem, 1.0, [factor * planned]).pace == pytest.approx(factor, rel=0.01)
    for factor in (0.39, 3.1):
        with pytest.raises(InputError, match="too far"):
            fitted_pace(problem, 1.0, [factor * planned])


@pytest.mark.parametrize(
    ("told", "pace"), [([60.0], 1.0), ([60.0, 90.0], 1.25), ([30.0] * 4, 0.5), ([90.0] * 5, 1.875)]
)
def test_evenings_told_are_held_against_the_same_evenings_of_the_plan(told, pace):
    """Four evenings of an hour: the first as planned; the first two; all in half the time; five told of four."""
    problem = of(*(Operation(1, 1, f"part {n}", 0, 5400, 0) for n in range(4)))
    problem = replace(problem, mixes=(MixWork("A", 0),), turn=300, hours=Hours(6000, (0,), 144_000, 300))
    fit = fitted_pace(problem, 1.0, told)
    assert fit.pace == pytest.approx(pace, rel=0.002)
    assert (fit.evenings, fit.planned, fit.planned_min) == (min(len(told), 4), 4, 60 * min(len(told), 4))


def test_hands_too_slow_for_a_pot_are_no_pace():
    """A coat of 50 min from a pot that lives 80: three times as slow it would outlive the pot, one tenth slower not."""
    problem = replace(of(Operation(1, 1, "body", 0, 5000, 0)), mixes=(MixWork("A", 300, 8000),))
    planned = solve(problem).timed.score.attendance / 100
    assert fitted_pace(problem, 1.0, [1.1 * planned]).pace == pytest.approx(1.1, rel=0.01)
    with pytest.raises(InputError, match=r"would take \d+ min or more with the waits"):
        fitted_pace(problem, 1.0, [0.3 * planned])


def test_what_dries_by_itself_makes_no_pace():
    """An hour of work and two and a half of waiting: no hand makes it an hour and a half."""
    problem = of(Operation(1, 1, "part", 0, 3000, 15_000), Operation(1, 2, "part", 0, 3000, 0, over=(0,)))
    assert fitted_pace(problem, 1.0, [213.75]).pace == pytest.approx(1.0, abs=0.001)
    with pytest.raises(InputError, match="with the waits"):
        fitted_pace(problem, 1.0, [90.0])
