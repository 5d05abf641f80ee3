"""The schedule against an independent checker, its bounds, and published or provable cases."""

import random
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from random_runs import any_run
from run_checker import violations

from finishplan.run.dispatch import dispatch, rules
from finishplan.run.hours import Hours
from finishplan.run.quick import Quick
from finishplan.run.replay import replay
from finishplan.run.schedule import schedule


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 10**9))
def test_no_schedule_breaks_a_rule(seed):
    problem = any_run(random.Random(seed))
    run = schedule(problem)
    assert violations(problem, run) == []


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 10**9))
def test_the_quick_score_is_the_replayed_score(seed):
    rng = random.Random(seed)
    problem = replace(any_run(rng), painters=1, rack=None, hours=Hours())
    coats, quick = list(dispatch(problem, rng.choice(list(rules(problem))))), Quick(problem)
    assert quick.keep(coats) == replay(problem, coats).score
    since = rng.randrange(len(coats))
    coats[since:] = round_off(problem, coats[since:], rng)
    assert quick.attempt(coats, since, 10**9) == replay(problem, coats).score


def round_off(problem, coats, rng):
    """The same coats in another valid order."""
    out, left = [], list(coats)
    while left:
        open_ = {c[:2] for c in left}
        free = [c for c in left if not any((i, c[1]) in open_ for i in problem.operations[c[0]].after)]
        out.append(rng.choice(free))
        left.remove(out[-1])
    return out
