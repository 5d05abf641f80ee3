"""The schedule against an independent checker, its bounds, and published or provable cases."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_runs import any_run, chain_run
from run_checker import violations

from finishplan.run.replay import replay, scorer
from finishplan.run.rounds import round_by_round
from finishplan.run.schedule import schedule


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 10**9))
def test_no_schedule_breaks_a_rule(seed):
    problem = any_run(random.Random(seed))
    run = schedule(problem)
    assert violations(problem, run) == []


@pytest.mark.parametrize("seed", range(20))
def test_the_quick_score_is_the_replayed_score(seed):
    problem = chain_run(seed, 5, dryer=True)
    rng = random.Random(seed)
    dried = [rng.randint(0, 5) for _ in problem.operations]
    actions = round_by_round(problem, dried=dried, batch=rng.randint(1, 5))
    assert scorer(problem)(actions) == replay(problem, actions).score
