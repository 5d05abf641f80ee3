"""The schedule against an independent judge, cases by hand, and what a maker would expect of it."""

import random
from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_runs import any_run, chain_run, parts_run
from run_checker import violations

from finishplan.run import replay as replay_module
from finishplan.run.bench import Unfit
from finishplan.run.bounds import bounds
from finishplan.run.dispatch import dispatch, round_by_round, rules
from finishplan.run.hours import Hours
from finishplan.run.problem import Castings, Figure, MixWork, Operation, RunProblem, Stream, joined
from finishplan.run.replay import GO, HOME, POT, Trail, replay, run_through
from finishplan.run.schedule import as_run, schedule
from finishplan.run.solve import solve
from finishplan.run.words import least, taken, when


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 10**9))
def test_no_schedule_breaks_a_rule(seed):
    problem = any_run(random.Random(seed))
    assert violations(problem, schedule(problem)) == []


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**9))
def test_neither_do_those_by_rules_alone(seed):
    rng = random.Random(seed)
    problem = replace(any_run(rng), effort=0.0)
    for sequence in (dispatch(problem, rng.choice(list(rules(problem))))[0], solve(problem).sequence):
        assert replay(problem, sequence).score == run_through(problem, sequence)
    assert violations(problem, schedule(problem)) == []


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**9))
def test_going_on_from_where_two_orders_part_is_as_from_the_start(seed):
    """Marks, which may stand anywhere, are set and taken away; looks at the bench every three items."""
    rng = random.Random(seed)
    problem = replace(any_run(rng), dryer=seed % 3 > 0)
    trail, sequence = Trail((), ()), round_by_round(problem, 1)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(replay_module, "EVERY", 3)
        patch.setattr(replay_module, "MOST_KEPT", 10**6)
        patch.setattr(replay_module, "AHEAD", 2)
        for _ in range(12):
            at = rng.randrange(len(sequence) + 1)
            marked = sequence[at : at + 1] and sequence[at] < 0 and rng.random() < 0.5
            mark = rng.choice((GO, GO, HOME, POT - rng.randrange(len(problem.mixes))))
            sequence = sequence[:at] + ([] if marked else [mark]) + sequence[at + bool(marked) :]
            with suppress(Unfit):
                score, trail = trail.run_through(problem, sequence)
                assert score == run_through(problem, sequence)


def of(*operations, castings=1, mixes=1, **more):
    works = tuple(MixWork(chr(65 + m), 300, None) for m in range(mixes))
    return RunProblem((Figure(operations),), Castings((0,) * castings, (0,) * castings), works, **more)


TWO_COATS = (Operation(1, 1, "body", 0, 200, 1000), Operation(1, 2, "body", 0, 200, 1000, 0, (0,)))


def times(run, *kinds):
    return [(t.start_min, t.end_min) for t in run.tasks if t.kind in kinds]


def test_two_castings_by_hand():
    """Two coats of 2 min, 10 min drying; 3 min to mix, 0.75 to turn: the first coats to 5.75 and 7.75, the second when
    dry, at 15.75 and 17.75; so 19.75 min, 11.75 of them with hands busy, 8 of waiting."""
    run = schedule(of(*TWO_COATS, castings=2))
    assert times(run, "mix", "change") == [(0, 3), (3, 3.75)]
    assert times(run, "coat") == [(3.75, 5.75), (5.75, 7.75), (15.75, 17.75), (17.75, 19.75)]
    assert (run.makespan_min, run.painter_min, run.waiting_min, run.finish_min) == (19.75, 11.75, 8, (17.75, 19.75))
    assert run.proven and run.lower_bound_min == 19.75 and run.mix_changes == run.pots_mixed == 1
    figures = run.advice_figures
    assert (figures.first_wait_at_min, figures.first_wait_min) == (7.75, 8)
    assert figures.first_wait_before == "coat 2 of pass 1 on casting 1"


@pytest.mark.parametrize(("seed", "painters"), [(4, 1), (17, 2), (33, 2)])
def test_the_pots_open_from_before_are_those_used_again(seed, painters):
    problem = replace(parts_run(seed, 4), painters=painters, hours=Hours(3000, (0,), 144_000, 100))
    run = as_run(solve(problem, 0))
    assert len(run.sessions) > 2
    for session in run.sessions:
        still = set()
        for coat in (t for t in run.tasks if t.kind == "coat" and t.start_min >= session.start_min):
            pots = [t.end_min for t in run.tasks if (t.kind, t.painter, t.mix) == ("mix", coat.painter, coat.mix)]
            if max(end for end in pots if end <= coat.start_min) <= session.start_min:
                still.add(coat.mix)
        assert set(session.open) == still


def test_an_evening_of_two_painters_is_one_evening_at_the_bench():
    """Side by side: 13.75 min of the first evening, then 2.75 of the second until both wait 5 min for their coat."""
    coats = [
        Operation(n, 1, "body", 0, work, dry, 0, (n - 2,) * (n > 1))
        for n, work, dry in ((1, 1000, 1000), (2, 200, 500), (3, 200, 0))
    ]
    figures = schedule(of(*coats, castings=2, painters=2, hours=Hours(1500, (0, 4000)))).advice_figures
    assert (figures.first_wait_at_min, figures.first_wait_min) == (16.5, 5)


def test_one_go_dries_all_that_stands_in_the_stream():
    """Four castings: the last first coat ends at 11.75; where the second waits for 15 min, one go of 3 min and a rest
    of one lets it begin at 15.75."""
    coats = (Operation(1, 1, "body", 0, 200, 3000), Operation(1, 2, "body", 0, 200, 3000, 0, (0,)))
    run = schedule(of(*coats, castings=4, dryer=True))
    assert times(run, "dryer") == [(11.75, 14.75)] and run.makespan_min == 15.75 + 4 * 2
    assert next(t for t in run.tasks if t.kind == "dryer").castings == (1, 2, 3, 4)
    without = schedule(of(*coats, castings=4))
    assert without.advice_figures.dryer_saves_min == without.makespan_min - run.makespan_min
    assert any(line.startswith("A hair dryer would save ") for line in without.advice)
    best = without.hints[0]
    assert (best.key, best.value, best.saves_min) == ("room.dryer", True, without.advice_figures.dryer_saves_min)
    assert best.text in without.advice and "room.dryer" not in {hint.key for hint in run.hints}


def test_beside_waits_for_touch_dry_and_over_for_the_next_coat():
    first = Operation(1, 1, "body", 0, 200, 3000, 1000)
    for waits, begins in (({"over": (0,)}, 35.75), ({"beside": (0,)}, 15.75)):
        run = schedule(of(first, Operation(2, 1, "body", 1, 200, 0, 0, **waits), mixes=2))
        assert times(run, "coat")[1] == (begins, begins + 2)


def test_pots_are_mixed_while_paint_dries():
    """The second pot takes 3 min of the ten that the first coat dries."""
    coats = (Operation(1, 1, "body", 0, 200, 1000), Operation(2, 1, "body", 1, 200, 0, 0, (0,)))
    run = schedule(of(*coats, mixes=2))
    assert times(run, "mix")[1] == (5.75, 8.75) and times(run, "coat")[1] == (15.75, 17.75)


@pytest.mark.parametrize(("hours", "ahead"), [(0.1, False), (16, True)])
def test_only_a_pot_that_is_still_good_then_is_mixed_before_it_is_needed(hours, ahead):
    """Our rule, where the sequence says nothing of pots: what skins over in a dish waits until its coat can be laid."""
    coats = (*TWO_COATS, Operation(2, 1, "body", 1, 200, 0, 0, (1,)))
    pots = tuple(MixWork(m, 300, round(hours * 6000)) for m in "AB")
    timed = replay(replace(of(*coats, mixes=2), mixes=pots), (0, 1, 2))
    second = [one for one in timed.done if one.kind == "mix"][1]
    assert (second.start == 575) == ahead


def test_a_pot_is_mixed_again_only_when_it_is_too_old_or_its_well_was_needed():
    coats = tuple(Operation(n + 1, 1, "body", n % 3, 200, 0, 0, (n - 1,) if n else ()) for n in range(6))
    assert schedule(of(*coats, mixes=3)).pots_mixed == 3
    assert schedule(of(*coats, mixes=3, wells=2)).pots_mixed == 5  # C keeps: the last of A is used up
    aged = tuple(MixWork(m, 300, 600) for m in "ABC")
    assert schedule(replace(of(*coats, mixes=3), mixes=aged)).pots_mixed == 6


def test_pots_lie_open_from_evening_to_evening():
    problem = replace(chain_run(3, 12, passes=5), hours=Hours(15_000, (0,), 144_000, 1000))
    run = schedule(problem)
    assert violations(problem, run) == []
    assert len(run.sessions) > 1 and run.pots_mixed == 5
    assert run.sessions[0].open == () and all(s.open for s in run.sessions[1:])
    assert taken(run).startswith(f"{len(run.sessions)} evenings, ") and " in all" in least(run)
    assert when(run, run.makespan_min).startswith(f"in evening {len(run.sessions)}, after ")


@pytest.mark.parametrize("seed", range(3))
def test_an_evening_runs_over_only_where_that_spares_one(seed):
    """And so no last evening is shorter than the slack of those before it could hold."""
    problem = replace(chain_run(seed, 7, passes=4), hours=Hours(9000, (0,), 144_000, 1000))
    strict, slack = schedule(problem), schedule(replace(problem, slack=1500))
    assert violations(replace(problem, slack=1500), slack) == []
    over = any(s.end_min - s.start_min > 90 for s in slack.sessions)
    assert over == (len(slack.sessions) < len(strict.sessions))
    last = slack.sessions[-1]
    assert len(slack.sessions) == 1 or last.end_min - last.start_min - 10 > 9


def test_what_spares_an_evening_by_hand():
    """Coats of 20 min that wait for nothing: 3 + 0.75 + 4 x 20 = 83.75 and ten of setting up; an evening of 80 takes
    three coats, one of 80 and 15 four."""
    coats = tuple(Operation(1, 1, f"part {n}", 0, 2000, 0) for n in range(4))
    problem = of(*coats, hours=Hours(8000, (0,), 144_000, 1000))
    assert len(schedule(problem).sessions) == 2
    run = schedule(replace(problem, slack=1500))
    assert [s.end_min for s in run.sessions] == [93.75] and run.attendance_min == 93.75 == run.attendance_bound_min


def test_a_turn_that_saves_less_than_it_costs_is_not_made():
    """Of the runs within 3 % of the soonest end one of the fewest turns is taken."""
    for seed in range(6):
        problem = replace(parts_run(seed, 2), effort=0.1)
        run = as_run(solve(problem))
        soonest = min(dispatch(problem, r)[1].makespan for r in rules(problem)) / 100
        assert run.makespan_min <= 1.03 * soonest and run.changes_bound <= run.mix_changes
        spare = as_run(solve(replace(problem, fewest_turns=True)))
        assert violations(problem, spare) == [] and spare.mix_changes <= run.mix_changes


def test_a_dryer_that_gains_nothing_is_not_used():
    problem = replace(chain_run(3, 30, dryer=True), effort=0.02)
    run = schedule(problem)
    assert not times(run, "dryer") and run.advice_figures.dryer_saves_min == 0


def test_a_dryer_never_costs_time():
    """Six castings of figures where a search among its goes alone ends later than one without it."""
    for seed in (0, 2, 6):
        problem = replace(parts_run(seed, 6, passes=4), effort=0.05)
        with_it, without = solve(replace(problem, dryer=True)), solve(problem)
        assert with_it.timed.score.makespan <= without.timed.score.makespan
        assert violations(replace(problem, dryer=True), as_run(with_it)) == []


def test_solvent_is_kept_out_of_the_stream():
    primer = Operation(0, 1, "body", 0, 100, 2000, 1000, forced=False, kind="prime")
    coats = (primer, Operation(1, 1, "body", 1, 200, 3000, 2000, (0,)), Operation(1, 2, "body", 1, 200, 0, 0, (1,)))
    problem = of(*coats, castings=2, mixes=2, dryer=True, stream=Stream((200, 200), 100))
    run = schedule(problem)
    assert violations(problem, run) == []
    assert all(start >= 20 for start, _ in times(run, "dryer")) and times(run, "dryer")


def test_two_figures_share_their_pots():
    one, other = chain_run(1, 2, passes=3), chain_run(2, 1, passes=3)
    both = joined([one, other])
    run = schedule(both)
    assert violations(both, run) == [] and run.castings == 3 and run.pots_mixed == 3
    assert run.makespan_min < schedule(one).makespan_min + schedule(other).makespan_min


def test_the_same_problem_gives_the_same_run():
    problem = replace(parts_run(4, 3, dryer=True), effort=0.1)
    assert schedule(problem) == schedule(replace(problem))


def test_more_time_for_drying_never_ends_sooner_and_a_second_painter_hardly_later():
    for seed in range(4):
        problem = chain_run(seed, 6)
        slower = replace(problem, figures=tuple(Figure(tuple(_slower(f))) for f in problem.figures))
        assert bounds(slower).makespan >= bounds(problem).makespan
        one, two = (solve(replace(problem, painters=k)).timed.score for k in (1, 2))
        assert two.makespan <= one.makespan


def _slower(figure):
    return (replace(o, recoat=o.recoat + 700, touch=o.touch + 700) for o in figure.operations)


def test_castings_are_primed_before_the_first_is_painted():
    """Common practice: nothing is sprayed beside wet paint, and the spray can is shaken once."""
    for seed in range(4):
        problem = parts_run(seed, 4, dryer=bool(seed % 2))
        ops = problem.figures[0].operations
        primed = tuple(op if op.after else replace(op, kind="prime", forced=False) for op in ops)
        problem = replace(problem, figures=(Figure(primed),), effort=0.05)
        assert violations(problem, as_run(solve(problem))) == []  # it looks for that too


def shifted(run, number, minutes_):
    tasks = list(run.tasks)
    task = tasks[number]
    tasks[number] = replace(task, start_min=task.start_min + minutes_, end_min=task.end_min + minutes_)
    return replace(run, tasks=tuple(tasks))


def test_the_judge_sees_what_is_wrong():
    problem = replace(chain_run(5, 3, dryer=True, passes=4), effort=0.1)
    run = schedule(problem)
    assert violations(problem, run) == [] and times(run, "dryer")
    for number in range(len(run.tasks)):
        assert violations(problem, replace(run, tasks=run.tasks[:number] + run.tasks[number + 1 :]))
        if run.tasks[number].kind in ("coat", "dryer"):
            assert violations(problem, shifted(run, number, -0.5)), run.tasks[number]
    coat = next(n for n, t in enumerate(run.tasks) if t.kind == "coat")
    for change in ({"mix": "D"}, {"painter": 2}, {"casting": 9}):
        wrong = (*run.tasks[:coat], replace(run.tasks[coat], **change), *run.tasks[coat + 1 :])
        assert violations(problem, replace(run, tasks=wrong))
    small = replace(problem.castings, rack=1)
    assert violations(replace(problem, castings=small), run) and violations(replace(problem, dryer=False), run)
    assert violations(replace(problem, mixes=tuple(replace(m, life=900) for m in problem.mixes)), run)
    assert violations(replace(problem, hours=Hours(3000, (0,), 4000, 100)), run)
    late = replace(problem.castings, ready=(0, 0, 99_999))
    assert violations(replace(problem, castings=late), run)


def test_a_sequence_that_leaves_something_out_or_turns_it_round_is_refused():
    problem = chain_run(1, 2)
    with pytest.raises(ValueError, match="left out"):
        replay(problem, [GO, *round_by_round(problem)[:-1]])
    with pytest.raises(ValueError, match="before one it waits for"):
        replay(problem, round_by_round(problem)[::-1])


def test_the_advice_is_plain():
    run = schedule(replace(chain_run(2, 20), effort=0.0))
    figures, told = run.advice_figures, " ".join(run.advice)
    assert figures.keep_in_work and f"{figures.keep_in_work} castings at once are enough" in told
    assert figures.second_painter_saves_min > 0 and "With a second painter it would be done " in told
    taken_through = (
        f"{figures.best_batch} castings at a time" if figures.best_batch < 20 else "all 20 castings together"
    )
    assert f"take {taken_through} through each pass" in told and "The first wait is " in told
