"""The schedule against an independent checker, its bounds, and published or provable cases."""

import random
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_runs import any_run, chain_run, parts_run
from run_checker import violations

from finishplan.basics.words import duration
from finishplan.cli.tables import _span
from finishplan.run.advice import _best_batch
from finishplan.run.bounds import bounds, least_changes
from finishplan.run.dispatch import dispatch, rules
from finishplan.run.hours import Hours
from finishplan.run.quick import Quick
from finishplan.run.replay import replay
from finishplan.run.rounds import round_by_round
from finishplan.run.schedule import as_run, schedule
from finishplan.run.search import Search, in_groups
from finishplan.run.solve import solve
from finishplan.run.tasks import Operation, RunProblem


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
    score = replay(problem, coats).score
    assert quick.attempt(coats[since:], since, score[0] - 1)[0] == score[0]  # given up: one more than the limit
    assert quick.attempt(coats[since:], since, score[0]) == score
    quick.accept()
    since = rng.randrange(len(coats))
    coats[since:] = round_off(problem, coats[since:], rng)
    assert quick.attempt(coats[since:], since, 10**9) == replay(problem, coats).score


def round_off(problem, coats, rng):
    """The same coats in another valid order."""
    out, left = [], list(coats)
    while left:
        open_ = {c[:2] for c in left}
        free = [c for c in left if not any((i, c[1]) in open_ for i in problem.operations[c[0]].after)]
        out.append(rng.choice(free))
        left.remove(out[-1])
    return out


def test_two_castings_by_hand():
    """Two coats of 2 min, 10 min drying, 4 min to open the mix: open 0-4, first coats 4-6 and 6-8, second coats
    when dry at 16 and 18; so 20 min, 12 of them with hands busy, 8 of waiting."""
    coats = (Operation(1, 1, "body", 0, 200, 1000), Operation(1, 2, "body", 0, 200, 1000, (0,)))
    run = schedule(RunProblem(2, coats, ("A",), (400,), (None,), (0, 0)))
    assert [(t.start_min, t.end_min, t.kind, t.casting, t.coat) for t in run.tasks] == [
        (0, 4, "change", 0, 0),
        (4, 6, "coat", 1, 1),
        (6, 8, "coat", 2, 1),
        (16, 18, "coat", 1, 2),
        (18, 20, "coat", 2, 2),
    ]
    assert (run.makespan_min, run.painter_min, run.waiting_min, run.finish_min) == (20, 12, 8, (18, 20))
    assert run.proven and run.lower_bound_min == 20 and run.method == "pass by pass"
    figures = run.advice_figures
    assert (figures.first_wait_at_min, figures.first_wait_min) == (8, 8)
    assert figures.first_wait_before == "coat 2 of pass 1 on casting 1"
    assert (figures.first_finished_min, figures.half_finished_min, figures.all_finished_min) == (18, 18, 20)


def test_the_dryer_by_hand():
    """The same, dried by hand in 1 min with 0.5 min of rest. One casting: 4-6, dried 6-7, second coat 7.5-9.5."""
    coats = (Operation(1, 1, "body", 0, 200, 1000, (), 100, 50), Operation(1, 2, "body", 0, 200, 1000, (0,), 100, 50))
    problem = RunProblem(1, coats, ("A",), (400,), (None,), (0,), dryer=True)
    run = schedule(problem)
    assert run.makespan_min == 9.5 and run.proven
    assert [(t.start_min, t.end_min) for t in run.tasks if t.kind == "dryer"] == [(6, 7)]
    assert run.advice_figures.dryer_saves_min == 18 - 9.5
    without = schedule(replace(problem, dryer=False))
    assert without.makespan_min == 18 and without.advice_figures.dryer_saves_min == 18 - 9.5


def test_no_drying_by_hand_that_gains_nothing():
    problem = chain_run(3, 30, dryer=True)
    run = schedule(problem)
    assert run.proven and not [t for t in run.tasks if t.kind == "dryer"]


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 10**9))
def test_each_drying_by_hand_makes_the_run_shorter_or_less_work(seed):
    """Any one left out, all else done in the same order by the same hands: the run is worse. So is one without any."""
    problem = replace(any_run(random.Random(seed)), dryer=True)
    timed, count = solve(problem).timed, len(problem.operations)
    coats = [(p.operation + count * p.dryer, p.casting, p.painter) for p in timed.placed]
    dried = {(i - count, j) for i, j, _ in coats if i >= count}
    others = frozenset(product(range(count), range(problem.castings))) - dried
    assert replay(problem, coats, others).score == timed.score
    for one in dried:
        assert problem.goal(replay(problem, coats, others | {one}).score) > problem.goal(timed.score), one
    if dried:
        assert problem.goal(replay(problem, coats, others | dried).score) > problem.goal(timed.score)


@pytest.mark.parametrize("seed", range(12))
def test_a_dryer_that_saves_nothing_is_not_used(seed):
    problem = replace(parts_run(seed, 3, dryer=True), hours=Hours(4000, (0,), 10_000), effort=0.02)
    run = schedule(problem)
    used = any(t.kind == "dryer" for t in run.tasks)
    assert not (used and any("dryer saves nothing" in line for line in run.advice))
    if used and not run.advice_figures.dryer_saves_min:
        assert run.painter_min < schedule(replace(problem, dryer=False)).painter_min


def test_one_casting_at_a_time_takes_a_multiple_of_pass_by_pass():
    """The measured figures of such runs: four times for 4 castings, nine times for 30; here about so."""
    for castings, least, most in ((4, 3.3, 4.3), (30, 6.5, 11.5)):
        problem = chain_run(11, castings)
        singly = replay(problem, round_by_round(problem, batch=1)).score[0]
        assert least < singly / (schedule(problem).makespan_min * 100) < most


def test_the_same_problem_gives_the_same_run():
    problem = replace(parts_run(4, 3, dryer=True), effort=0.3)
    assert schedule(problem) == schedule(replace(problem))


def test_more_time_for_drying_never_ends_sooner_and_a_second_painter_never_later():
    for seed in range(6):
        problem = replace(chain_run(seed, 6), effort=0.1)
        run = schedule(problem)
        slower = replace(problem, operations=tuple(replace(o, dry=o.dry + 700) for o in problem.operations))
        assert schedule(slower).lower_bound_min >= run.lower_bound_min
        assert schedule(slower).makespan_min >= run.makespan_min
        assert schedule(replace(problem, painters=2)).makespan_min <= run.makespan_min


def test_advice_counts_what_waits():
    problem = replace(chain_run(2, 12), effort=0.2)
    figures = schedule(problem).advice_figures
    keep = figures.keep_in_work
    for count, enough in ((keep - 1, False), (keep, True), (keep + 1, True)):
        less = replay(problem.of(count), round_by_round(problem.of(count))).score
        assert (20 * (less[0] - less[1]) <= less[0]) == enough
    both = schedule(replace(problem, painters=2))
    assert figures.second_painter_saves_min <= schedule(problem).makespan_min - both.makespan_min + 1e-9
    assert figures.second_painter_saves_min > 0


def test_advice_says_what_it_leaves_out():
    problem = replace(chain_run(2, 20), effort=0.0)
    assert "one painter" not in " ".join(schedule(problem).advice)
    crew = " ".join(schedule(replace(problem, painters=2, hours=Hours(20_000, (0,), 144_000))).advice)
    assert crew.count("Painted pass by pass for one painter in one stretch, ") == 2


def test_the_advice_says_what_waits_and_for_what():
    """In percent of the time and minutes for each casting, not in shares to be worked out; how many castings to keep
    in work, only where the run has so many."""
    problem = replace(chain_run(2, 20), effort=0.0)
    run = schedule(problem)
    figures = run.advice_figures
    waiting = f"{figures.keep_in_work} castings at once are enough: waiting for paint then takes less than 5 % of"
    each = f"take {duration(figures.best_batch_min_per_casting)} each (as planned here "
    assert sum(waiting in line for line in run.advice) == sum(each in line for line in run.advice) == 1
    few = schedule(problem.of(figures.keep_in_work - 1))
    assert few.advice_figures.keep_in_work == figures.keep_in_work
    assert not any("castings at once" in line for line in few.advice)
    assert "twentieth" not in " ".join(run.advice)


def test_a_run_without_sessions_is_told_in_hours():
    """Two coats with 66 h 40 min of drying between: no days, which sessions alone give a meaning."""
    coats = (Operation(1, 1, "body", 0, 200, 400_000), Operation(1, 2, "body", 0, 200, 400_000, (0,)))
    problem = RunProblem(1, coats, ("A",), (400,), (None,), (0,))
    run = schedule(problem)
    assert "66 h 40 min, then coat 2" in " ".join(run.advice)
    assert _span(run, run.makespan_min) == "66 h 48 min"
    broken_off = schedule(replace(problem, hours=Hours(12_000, (0,), 144_000)))
    assert _span(broken_off, broken_off.makespan_min) == "3 d"


def shifted(run, number, minutes_):
    tasks = list(run.tasks)
    task = tasks[number]
    tasks[number] = replace(task, start_min=task.start_min + minutes_, end_min=task.end_min + minutes_)
    return replace(run, tasks=tuple(tasks))


def test_the_checker_sees_what_is_wrong():
    problem = replace(chain_run(5, 3, dryer=True, passes=4), effort=0.2)
    run = schedule(problem)
    assert violations(problem, run) == []
    for number in range(1, len(run.tasks)):
        aside = 0.5 if run.tasks[number].kind == "change" else -0.5
        assert violations(problem, shifted(run, number, aside)), run.tasks[number]
        assert violations(problem, replace(run, tasks=run.tasks[:number] + run.tasks[number + 1 :]))
    coat = next(n for n, t in enumerate(run.tasks) if t.kind == "coat")
    for change in ({"mix": "D"}, {"painter": 2}, {"casting": 9}):
        wrong = (*run.tasks[:coat], replace(run.tasks[coat], **change), *run.tasks[coat + 1 :])
        assert violations(problem, replace(run, tasks=wrong))
    assert violations(replace(problem, rack=1), run) and violations(replace(problem, dryer=False), run)
    assert violations(replace(problem, life=(450,) * 4), run)
    assert violations(replace(problem, hours=Hours(3000, (0,), 4000)), run)
    assert violations(replace(problem, ready=(0, 0, 99_999)), run)


def test_a_sequence_with_a_coat_missing_is_refused():
    problem = chain_run(1, 2)
    with pytest.raises(ValueError, match="left out"):
        replay(problem, round_by_round(problem)[:-1])


def test_the_fewest_changes_are_reached_and_never_end_sooner():
    for seed in range(6):
        problem = replace(parts_run(seed, 1 + seed % 3), effort=0.2)
        quick, spare = schedule(problem), schedule(replace(problem, fewest_changes=True))
        assert violations(problem, spare) == []
        assert spare.mix_changes == least_changes(problem) <= quick.mix_changes
        assert spare.makespan_min >= quick.makespan_min


def test_of_equally_short_runs_the_one_with_fewer_changes():
    """Two parts of one coat and a third whose second coat waits long: the order in which the mixes are opened is free,
    the bound is the wait, and no mix needs to be opened twice."""
    coats = (
        Operation(1, 1, "head", 0, 100, 6000),
        Operation(1, 1, "body", 1, 100, 100),
        Operation(2, 1, "tail", 2, 100, 100),
        Operation(3, 1, "lid", 1, 100, 100),
        Operation(4, 2, "head", 3, 100, 100, (0,)),
    )
    run = schedule(RunProblem(1, coats, ("A", "B", "C", "D"), (400,) * 4, (None,) * 4, (0,)))
    assert run.proven and run.makespan_min == 4 + 1 + 60 + 1
    assert run.mix_changes == 4


def test_batches_are_as_equal_as_can_be():
    """12 castings: 6.8 min each together, 7 in sixes, 8 in fours; 7 <= 1.05 x 6.8, and nothing smaller is so near."""
    each = [20.0, 11, 9, 8, 7.5, 7, 7.5, 7.5, 7.5, 7.5, 7.5, 6.8]
    assert _best_batch(12, each) == (6, 7)
    assert _best_batch(1, [20]) == (1, 20)
    assert _best_batch(5, [20, 11, 9]) == (3, (3 * 9 + 2 * 11) / 5)  # a rack of three


@pytest.mark.parametrize("seed", range(8))
def test_stragglers_are_called_to_their_round(seed):
    """Two castings of one round left behind, their mix opened again for them alone: they are brought back."""
    problem, rng = chain_run(seed, 12), random.Random(seed)
    coats = round_by_round(problem)
    left = rng.choice([i for i, f in enumerate(problem.followers[:-1]) if problem.operations[f[0]].mix])
    late = [c for c in coats if c[0] >= left and c[1] >= 10]
    straggling = [c for c in coats if c not in late] + sorted(late)
    search = Search(problem, straggling, in_groups(12, 12), bounds(problem).best)
    assert search.score[2] > replay(problem, coats).score[2]
    assert problem.goal(replay(problem, search.gather(10**7)).score) <= problem.goal(replay(problem, coats).score)


@pytest.mark.parametrize("seed", range(4))
def test_a_round_alone_with_its_mix_is_put_beside_another_of_it(seed):
    """Last passes that wait for nothing but their own first: opened again at the end, though there was time before."""
    rng = random.Random(seed)
    works = [rng.randint(100, 300) for _ in range(3)]
    rounds = (("body", 0, ()), ("head", 1, ()), ("base", 0, ()))
    operations = [Operation(n + 1, 1, p, m, works[n], 500, a) for n, (p, m, a) in enumerate(rounds)]
    problem = RunProblem(9, tuple(operations), ("A", "B"), (400, 400), (None, None), (0,) * 9)
    search = Search(problem, round_by_round(problem), in_groups(9, 9), 0)
    assert search.score[2] == 3
    assert replay(problem, search.gather(10**6)).score == (800 + 9 * sum(works), 800 + 9 * sum(works), 2)


def test_all_castings_are_primed_before_the_first_is_painted():
    """Common practice: nothing is sprayed beside wet paint, and the spray can is shaken once."""
    for seed in range(4):
        problem = parts_run(seed, 4, dryer=bool(seed % 2))
        first = [i for i, op in enumerate(problem.operations) if not op.after]
        primed = tuple(
            replace(op, kind="prime", hand=None) if i in first else op for i, op in enumerate(problem.operations)
        )
        problem = replace(problem, operations=primed, ready=(0,) * 4, rack=None, effort=0.05)
        run = as_run(problem, solve(problem))
        assert violations(problem, run) == []
        ends = [t.end_min for t in run.tasks if t.kind == "prime"]
        assert len(ends) == 4 * len(first)
        assert max(ends) <= min(t.start_min for t in run.tasks if t.kind == "coat")
