"""The solver against exhaustive search, on problems made from random small schemes."""

import random
from dataclasses import replace

import pytest
from exhaustive import least_broken, least_passes, pass_sequences, with_recuts
from figures import box, random_figure
from hypothesis import given, settings
from hypothesis import strategies as st

from finishplan.errors import InputError
from finishplan.finish.build import frame, items_of, problem_of
from finishplan.finish.model import Labour, Method
from finishplan.finish.passes import solve
from finishplan.finish.problem import Arc, OrderProblem, OrderSolution


def problem_from(seed: int, areas: int, mixes: int) -> OrderProblem | None:
    """The problem of a random scheme full of flags and wishes; None when all of it is left bare."""
    figure, colours = random_figure(seed, areas, mixes, flagged=0.5, wished=0.4)
    ids = sorted({m.id: m for m in colours.values()})
    shelf = {m.id: m for m in colours.values()}
    mix_of = {i: ids.index(m.id) for i, m in colours.items()}
    try:
        facts = frame(figure, [shelf[i] for i in ids], mix_of, box(), Method(undercoat=False), Labour(), 1, "satin")
    except InputError:
        return None
    return problem_of(facts, items_of(facts, {}))[0]


def check(problem: OrderProblem, answer: OrderSolution) -> None:
    """Everything is laid once, nothing before what it waits for, each pass in one mix."""
    mix, arcs = with_recuts(problem, answer.broken)
    laid = [i for o in answer.openings for i in o.items]
    assert sorted(laid) == list(range(len(mix)))
    assert all(mix[i] == o.mix for o in answer.openings for i in o.items)
    place = {i: no for no, o in enumerate(answer.openings) for i in o.items}
    kept = [(t.first, t.second) for k, t in enumerate(problem.ties) if k not in answer.dropped]
    assert all(place[a] < place[b] or (place[a] == place[b] and mix[a] == mix[b]) for a, b in [*arcs, *kept])


def test_300_random_small_schemes_equal_brute_force() -> None:
    """Broken edges and number of passes, as the exhaustive search finds them."""
    met = circles = reopened = 0
    for seed in range(400):
        problem = problem_from(seed, 4 + seed % 3, 3 + seed % 3)
        if problem is None or met == 300:
            continue
        met += 1
        answer = solve(problem)
        check(problem, answer)
        _, sets = least_broken(len(problem.mix), problem.arcs)
        assert frozenset(answer.broken) in sets, f"seed {seed}"
        mix, arcs = with_recuts(problem, answer.broken)
        fewest = least_passes(mix, tuple(arcs))
        assert len(answer.openings) == fewest == answer.bound, f"seed {seed}"
        circles += bool(answer.broken)
        reopened += fewest > len(set(mix))
    assert met == 300
    assert circles > 30 and reopened > 30, "the schemes are too easy to show anything"


def random_problem(seed: int, n: int, mixes: int, arcs: int) -> OrderProblem:
    """Acyclic, in no scheme's likeness: any mix before any other."""
    rng = random.Random(seed)
    mix = tuple(rng.randrange(mixes) for _ in range(n))
    pairs = [(a, b) for a in range(n) for b in range(a + 1, n) if mix[a] != mix[b]]
    chosen = rng.sample(pairs, min(arcs, len(pairs)))
    shuffled = rng.sample(range(n), n)
    new_mix = tuple(mix[shuffled.index(i)] for i in range(n))
    breadth = tuple(rng.choice([1.0, 2.0, 4.0, 8.0, 16.0]) for _ in range(n))
    return OrderProblem(new_mix, breadth, tuple(Arc(shuffled[a], shuffled[b]) for a, b in chosen))


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), n=st.integers(2, 10), mixes=st.integers(2, 5), arcs=st.integers(0, 20))
def test_fewest_passes_of_any_acyclic_problem(seed: int, n: int, mixes: int, arcs: int) -> None:
    problem = random_problem(seed, n, mixes, arcs)
    answer = solve(problem)
    check(problem, answer)
    assert answer.broken == ()
    assert len(answer.openings) == least_passes(problem.mix, [(a.first, a.second) for a in problem.arcs])
    assert answer.proven


@pytest.mark.parametrize("seed", range(40))
def test_broad_before_fine_among_all_orders_as_short(seed: int) -> None:
    problem = random_problem(seed, 8, 4, 9)
    answer = solve(problem)
    arcs = [(a.first, a.second) for a in problem.arcs]
    profiles = [
        [max(problem.breadth[i] for i in items) for items in sequence]
        for sequence in pass_sequences(problem.mix, arcs, len(answer.openings))
    ]
    assert [max(problem.breadth[i] for i in o.items) for o in answer.openings] == max(profiles)


@pytest.mark.parametrize("seed", range(25))
def test_ties_never_cost_a_pass_and_are_given_up_only_for_one(seed: int) -> None:
    rng = random.Random(seed)
    problem = random_problem(seed, 8, 4, 7)
    pairs = [(a, b) for a in range(8) for b in range(8) if problem.mix[a] != problem.mix[b]]
    ties = tuple(Arc(a, b, rng.uniform(1, 9)) for a, b in rng.sample(pairs, 5))
    answer = solve(replace(problem, ties=ties))
    check(replace(problem, ties=ties), answer)
    hard = [(a.first, a.second) for a in problem.arcs]
    assert len(answer.openings) == least_passes(problem.mix, hard)
    kept = [(t.first, t.second) for k, t in enumerate(ties) if k not in answer.dropped]
    for k in answer.dropped:
        again = [*hard, *kept, (ties[k].first, ties[k].second)]
        try:
            assert least_passes(problem.mix, again) > len(answer.openings)
        except ValueError:  # nothing is due: the tie closes a circle
            continue


def test_a_search_that_is_given_up_states_an_honest_bound() -> None:
    for seed in range(12):
        problem = random_problem(seed, 14, 6, 30)
        exact = solve(problem)
        short = solve(problem, node_limit=1)
        check(problem, short)
        assert exact.proven
        assert short.bound <= len(exact.openings) <= len(short.openings)
        broad = [max(problem.breadth[i] for i in o.items) for o in short.openings]
        before = {b: {a.first for a in problem.arcs if a.second == b} for b in range(14)}
        done: set[int] = set()
        for width, o in zip(broad, short.openings, strict=True):
            due = [
                p
                for p in short.openings
                if not set(p.items) & done and all(before[i] <= done | set(p.items) for i in p.items)
            ]
            assert short.proven or width == max(
                max(problem.breadth[i] for i in p.items)
                for p in due
                if p.mix not in {q.mix for q in short.openings[: short.openings.index(p)] if not set(q.items) & done}
            )
            done |= set(o.items)
    assert any(not solve(random_problem(s, 14, 6, 30), node_limit=1).proven for s in range(12))


def test_a_recut_is_folded_into_a_later_pass_of_its_mix() -> None:
    """0 before 1, 1 before 2, 2 before 0: the cheapest (2 before 0) is broken; item 3 of the mix of 0 comes last
    anyway."""
    arcs = (Arc(0, 1, 9), Arc(1, 2, 9), Arc(2, 0, 1), Arc(2, 3, 9))
    answer = solve(OrderProblem((0, 1, 2, 0), (4.0, 3.0, 2.0, 1.0), arcs))
    assert answer.broken == answer.recuts == (2,)
    assert [(o.mix, o.items) for o in answer.openings] == [(0, (0,)), (1, (1,)), (2, (2,)), (0, (3, 4))]


def test_a_problem_checks_itself() -> None:
    for bad in (Arc(0, 0), Arc(0, 5), Arc(0, 1, 0.0)):
        with pytest.raises(ValueError, match=r"Arc|joins|names"):
            OrderProblem((0, 1), (1.0, 1.0), (bad,))
    with pytest.raises(ValueError, match="2 mixes but 1"):
        OrderProblem((0, 1), (1.0,), ())
