"""Bounds of the run's rules just below and just above, on runs of two to four coats that can be timed by hand."""

from dataclasses import replace

import pytest

from finishplan.run.advice import what_ifs
from finishplan.run.model import Run, Session
from finishplan.run.problem import Castings, Figure, MixWork, Operation, RunProblem
from finishplan.run.replay import replay
from finishplan.run.schedule import schedule
from finishplan.run.solve import solve
from finishplan.run.took import fitted_pace
from finishplan.run.words import least

MIXING, TURN = 300, 75


def of(*operations: Operation, castings: int = 1, mixes: int = 1, **more: object) -> RunProblem:
    works = tuple(MixWork(chr(65 + m), MIXING) for m in range(mixes))
    plain = {"effort": 0.05} | more
    return RunProblem((Figure(operations),), Castings((0,) * castings, (0,) * castings), works, **plain)


def two_coats(work: int, dry: int) -> tuple[Operation, Operation]:
    return Operation(1, 1, "body", 0, work, dry), Operation(1, 2, "body", 0, work, 0, 0, (0,))


@pytest.mark.parametrize("dry", [1500, 5400])
def test_how_many_castings_fill_the_wait(dry: int) -> None:
    """Two coats of 2 min: with n castings the second round waits for dry - 2 (n - 1) min, by hand; a wait of less than
    a twentieth is hardly any (our rule). Told to a fifth, since not every number is tried."""

    def waits(n: int) -> float:
        wait = max(0, dry - 200 * (n - 1))
        return wait / (MIXING + TURN + 400 * n + wait)

    exact = next(n for n in range(1, 60) if waits(n) <= 0.05)
    kept = what_ifs(of(*two_coats(200, dry), castings=2, effort=0.0)).keep_in_work
    assert kept is not None and exact <= kept <= 1.2 * exact


def test_a_palette_has_a_dozen_wells_unless_told() -> None:
    """Common practice. A pot that has lost its well is mixed again when its colour comes round once more."""
    for colours, again in ((12, 0), (14, 1)):
        coats = tuple(Operation(n + 1, 1, "body", n % colours, 200, 0) for n in range(2 * colours))
        timed = replay(of(*coats, mixes=colours), range(len(coats)))
        assert (sum(one.kind == "mix" for one in timed.done) > colours) == bool(again)


@pytest.mark.parametrize(("castings", "go"), [(1, 2.0), (2, 2.0), (3, 3.0), (4, 3.0)])
def test_a_go_of_the_dryer_unless_told(castings: int, go: float) -> None:
    """Two minutes for one casting or two in the stream, three for three or four, and one of rest (common practice)."""
    run = schedule(of(*two_coats(200, 20_000), castings=castings, dryer=True, effort=0.0))
    dryer = next(t for t in run.tasks if t.kind == "dryer")
    second = next(t for t in run.tasks if t.kind == "coat" and t.coat == 2)
    assert (dryer.end_min - dryer.start_min, second.start_min - dryer.end_min) == (go, 1.0)


@pytest.mark.parametrize(("wait", "used"), [(400, False), (700, True)])
def test_a_wait_that_is_worth_a_hair_dryer(wait: int, used: bool) -> None:
    """Four minutes of four hours are 1.6 %, seven are 2.8; a go and its rest take three."""
    run = schedule(of(*two_coats(12_000, wait), dryer=True))
    assert any(t.kind == "dryer" for t in run.tasks) == used


@pytest.mark.parametrize(("between", "turns"), [(300, 2), (750, 3)])
def test_a_turn_is_spared_for_a_few_hundredths_of_the_time(between: int, turns: int) -> None:
    """The other colour goes on while the first dries, for a turn more, or last: 3.75 min of 170 later (2.2 %), or 8.25
    (4.8 %)."""
    first, last = two_coats(800, 15_000)
    run = schedule(of(first, Operation(2, 1, "other", 1, between, 0), replace(last, pass_no=3), mixes=2, effort=0.1))
    assert run.mix_changes == turns


@pytest.mark.parametrize("factor", [0.43, 0.77, 1.9, 2.7])
def test_the_pace_is_found_to_a_thousandth(factor: float) -> None:
    """Half of that: five seconds of three hours, closer than anybody looks at the clock (our rule)."""
    problem = of(*(Operation(1, 1, f"part {n}", 0, 60_000, 0) for n in range(4)), effort=0.0)
    planned = solve(problem).timed.score.attendance / 100
    assert fitted_pace(problem, 1.0, [factor * planned]).pace == pytest.approx(factor, rel=0.0005)


def test_a_run_takes_an_evening_at_least() -> None:
    """Whatever else is known of it."""
    two = (Session(1, 0.0, 60.0), Session(2, 1440.0, 1500.0))
    run = Run(1, 1, 1500.0, 100.0, 20.0, 1500.0, False, (), (1500.0,), sessions=two, attendance_bound_min=100.0)
    assert least(run) == "no plan can take less than 1 evening or 1 h 40 min in all"
