"""The schedule and its bounds against OR-tools' CP-SAT on small runs (the larger set: tests/benchmarks)."""

from dataclasses import replace
from itertools import pairwise, permutations

import pytest
from exact_run import SESSION, exact_end, exact_evenings, exact_turns
from random_runs import chain_run, parts_run, small_run
from run_checker import violations

from finishplan.run.bounds import bounds, least_turns
from finishplan.run.hours import Hours
from finishplan.run.schedule import as_run
from finishplan.run.solve import SPARE, solve


def solved(problem):
    solution = solve(problem)
    run = as_run(solution)
    assert violations(problem, run) == []
    return solution, run


@pytest.mark.parametrize("dryer", [False, True])
def test_the_end_of_small_runs(dryer):
    """CP-SAT proves all; no bound exceeds its own, and no run ends later than the share left for fewer turns."""
    for seed in range(14):
        problem = small_run(seed, dryer=dryer)
        solution, run = solved(problem)
        found = exact_end(problem, run, 3)
        assert found.answered and found.proven
        assert bounds(problem).makespan <= found.least
        assert run.makespan_min * 100 <= (1 + SPARE) * found.least + 1
        if solution.proven:
            assert round(run.makespan_min * 100) == found.least


def test_chains_and_parts():
    """Chains of four passes and three parts of three: CP-SAT proves most, and finds none that ends more than a
    fiftieth sooner than the share left for fewer turns."""
    proven = 0
    for problem in [
        *(chain_run(s, 1 + s % 3, passes=4) for s in range(6)),
        *(parts_run(s, 1, passes=3) for s in range(4)),
    ]:
        _, run = solved(replace(problem, effort=0.2))
        found = exact_end(problem, run, 2)
        assert found.answered and bounds(problem).makespan <= found.least
        assert run.makespan_min * 100 <= (1.02 + SPARE) * found.least
        proven += found.proven
    assert proven >= 8


def test_the_turns_of_small_runs():
    """Of the runs that end as soon or within SPARE later, CP-SAT's has one turn fewer in one of twenty at most."""
    behind = 0
    for seed in range(20):
        problem = small_run(seed)
        _, run = solved(problem)
        soonest = exact_end(problem, run, 3).least / 100
        found = exact_turns(problem, run, max(run.makespan_min, soonest * (1 + SPARE)), 3)
        assert found.answered and bounds(problem).turns <= found.least <= run.mix_changes
        behind += run.mix_changes - found.least
    assert behind <= 1


def test_the_evenings_of_small_runs():
    """The fewest sessions and nearly the least attendance; no bound exceeds CP-SAT's."""
    later = proven = 0
    for seed in range(8):
        problem = replace(small_run(seed), hours=Hours(1600, (0,), 4000, 200), effort=0.1)
        _, run = solved(problem)
        found = exact_evenings(problem, run, 0.5)
        assert found.answered
        if not found.proven:
            continue
        proven += 1
        sessions, attendance = divmod(found.least, SESSION)
        least = bounds(problem)
        assert least.sessions <= sessions and (least.attendance <= attendance or least.sessions < sessions)
        assert len(run.sessions) == sessions
        assert attendance <= run.attendance_min * 100 + 1e-6 <= 1.1 * attendance
        later += run.attendance_min * 100 > 1.01 * attendance
    assert later <= 2 and proven >= 4


def test_turns_of_a_small_order_by_brute_force():
    for seed in range(30):
        problem = small_run(seed)
        ops = problem.figures[0].operations
        fewest = len(ops)
        for order in permutations(range(len(ops))):
            if all(order.index(b) < order.index(i) for i in order for b in ops[i].after):
                mixes = [ops[i].mix for i in order]
                fewest = min(fewest, 1 + sum(a != b for a, b in pairwise(mixes)))
        assert least_turns(problem) == fewest


@pytest.mark.parametrize("seed", range(4))
def test_thirty_castings_meet_the_bound_of_work(seed):
    """Nothing waits: within 3 % of the work, and of a turn for each pass."""
    problem = chain_run(seed, 30)
    solution, run = solved(problem)
    assert run.makespan_min * 100 <= 1.03 * solution.bounds.makespan


def test_a_dozen_is_near_the_work():
    gaps = []
    for seed in range(6):
        solution = solve(replace(chain_run(seed, 12), effort=0.1))
        gaps.append(solution.timed.score.makespan / solution.bounds.makespan - 1)
    assert sum(gaps) / len(gaps) <= 0.08 and max(gaps) <= 0.15
