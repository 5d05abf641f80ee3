"""The schedule and each of its bounds against OR-tools' CP-SAT on small runs (the larger set: tests/benchmarks)."""

import random
from dataclasses import replace
from itertools import pairwise, permutations

import pytest
from exact_crew import exact_crew
from exact_run import exact
from random_runs import any_run, chain_run, crew_run, parts_run
from run_checker import violations

from finishplan.run.bounds import bounds, least_changes
from finishplan.run.hours import Hours
from finishplan.run.replay import replay
from finishplan.run.rounds import round_by_round
from finishplan.run.schedule import as_run
from finishplan.run.solve import solve


def solved(problem, effort=0.5):
    run = as_run(problem, solve(problem, effort))
    assert violations(problem, run) == []
    return run


def answer(problem, run, seconds=5):
    """CP-SAT's answer. Its time is counted in its own steps, so that it answers on any machine or on none: where no
    answer comes, the test fails."""
    found = exact(problem, run, seconds)
    assert found.answered
    assert found.bound <= found.makespan <= round(run.makespan_min * 100)
    return found


def test_forty_runs_of_up_to_six_castings_are_optimal():
    """One painter, no dryer, eight passes in a fixed order: CP-SAT proves the optimum of all, and none is shorter."""
    proven = 0
    for seed in range(40):
        problem = chain_run(seed, 1 + seed % 6)
        run = solved(problem)
        found = answer(problem, run, 10)
        assert run.makespan_min == found.makespan / 100
        assert run.lower_bound_min <= found.makespan / 100
        proven += found.proven
    assert proven == 40


def test_parts_and_partial_orders_are_within_a_hundredth_of_the_optimum():
    """Eight runs of three parts: CP-SAT proves most and finds a shorter one for one at most, by a hundredth."""
    proven = behind = 0
    for seed in range(8):
        problem = parts_run(seed, 1 + seed % 2, passes=4)
        run = solved(problem)
        found = answer(problem, run, 2)
        assert run.makespan_min <= 1.01 * found.makespan / 100
        behind += run.makespan_min > found.makespan / 100
        if found.proven:
            assert bounds(problem).best <= found.makespan
        proven += found.proven
    assert proven >= 5 and behind <= 1


def small_run(seed):
    rng = random.Random(seed)
    problem = any_run(rng)
    keep = problem.operations[: rng.randint(2, 4)]
    castings = min(problem.castings, 2)
    return replace(
        problem,
        operations=keep,
        castings=castings,
        ready=problem.ready[:castings],
        life=(None,) * len(problem.mixes),
        painters=1,
        rack=None,
        hours=Hours(),
    )


@pytest.mark.parametrize("seed", range(40))
def test_the_optimum_of_small_runs_is_found_and_no_bound_exceeds_it(seed):
    problem = small_run(seed)
    run = solved(problem, 0.1)
    found = answer(problem, run)
    assert found.proven
    assert bounds(problem).best <= found.makespan
    assert run.makespan_min * 100 <= found.makespan * 1.02
    if run.proven:
        assert run.makespan_min == found.makespan / 100


@pytest.mark.parametrize("seed", range(10))
def test_bounds_of_short_chains(seed):
    """Chains, so that the bounds for chains are tried, with and without dryer."""
    for dryer in (False, True):
        problem = chain_run(seed, 3, passes=2, dryer=dryer)
        if len(problem.operations) > 4:
            problem = replace(problem, operations=problem.operations[:4])
        run = solved(problem, 0.1)
        found = answer(problem, run)
        assert found.proven
        each = bounds(problem)
        assert max(each.work, each.window, each.dryer, each.blocks) <= found.makespan
        assert each.blocks > 0 and (each.dryer > 0) == dryer


@pytest.mark.parametrize("what", ["painters", "sessions", "rack"])
def test_several_painters_sessions_and_rack_against_the_optimum(what):
    """Of 30 tiny runs CP-SAT proves nearly all, finds a shorter one for one at most, and no bound exceeds its own."""
    proven = behind = 0
    for seed in range(30):
        problem = crew_run(seed, what)
        run = solved(problem)
        found = exact_crew(problem, run, 3)
        assert found.answered and bounds(problem).best <= found.makespan
        proven += found.proven
        behind += run.makespan_min > found.makespan / 100
        assert run.makespan_min <= 1.06 * found.makespan / 100
    assert proven >= 28 and behind <= 1


def test_turns_of_a_small_order_by_brute_force():
    for seed in range(40):
        problem = small_run(seed)
        ops = problem.operations
        fewest = len(ops)
        for order in permutations(range(len(ops))):
            if all(order.index(b) < order.index(i) for i in order for b in ops[i].after):
                mixes = [ops[i].mix for i in order]
                fewest = min(fewest, 1 + sum(a != b for a, b in pairwise(mixes)))
        assert least_changes(problem) == fewest


@pytest.mark.parametrize("seed", range(4))
def test_the_dryer_at_four_castings(seed):
    problem = chain_run(seed, 4, dryer=True)
    run = solved(problem, 1)
    assert run.makespan_min <= 1.13 * bounds(problem).dryer / 100


@pytest.mark.parametrize("castings", [1, 2, 3, 5, 8, 12, 20])
def test_the_dryer_never_makes_it_worse(castings):
    problem = chain_run(castings, castings, dryer=True)
    plain = replay(replace(problem, dryer=False), round_by_round(problem)).score[0]
    assert solved(problem, 0.2).makespan_min * 100 <= plain


@pytest.mark.parametrize("seed", range(12))
def test_thirty_castings_meet_the_work_bound_where_drying_is_hidden(seed):
    problem = chain_run(seed, 30)
    run = solved(problem, 0.2)
    hidden = all(
        29 * min(a.work, b.work) + (problem.changes[b.mix] if a.mix != b.mix else 0) >= a.dry
        for a, b in pairwise(problem.operations)
    )
    if hidden:
        assert run.makespan_min == bounds(problem).work / 100 and run.proven and run.waiting_min == 0
    else:
        assert run.makespan_min * 100 <= 1.01 * bounds(problem).best


def test_a_dozen_with_the_dryer_is_near_the_work_alone():
    """On average within a tenth of the bound of work, which no drying and no waiting enters; so three in four runs."""
    gaps = []
    for seed in range(8):
        problem = chain_run(seed, 12, dryer=True)
        gaps.append(solve(problem, 0.5).timed.score[0] / bounds(problem).work - 1)
    assert sum(gaps) / len(gaps) <= 0.1
    assert sum(gap <= 0.1 for gap in gaps) >= 0.75 * len(gaps) and max(gaps) <= 0.14


def test_the_dozen_is_near_its_bounds():
    """By the mean; by the share within 6 % of the bound of work and windows or proven the shortest; by the worst."""
    gaps, near = [], []
    for seed in range(60):
        problem = chain_run(seed, 12)
        makespan, each = solve(problem, 0).timed.score[0], bounds(problem)
        gaps.append(makespan / max(each.work, each.window) - 1)
        near.append(makespan / each.best - 1)
    assert sum(gaps) / len(gaps) <= 0.06
    assert sum(near) / len(near) <= 0.025
    assert sum(gap <= 0.06 or not short for gap, short in zip(gaps, near, strict=True)) >= 0.55 * len(gaps)
    assert max(gaps) <= 0.17 and max(near) <= 0.09
