"""The solver against exhaustive search, on problems made from random small schemes."""

import random
from collections.abc import Collection, Sequence
from dataclasses import replace

import pytest
from exhaustive import darkness, least_broken, least_passes, pass_sequences, with_recuts
from figures import box, random_figure
from hypothesis import given, settings
from hypothesis import strategies as st

from finishplan.basics.errors import InputError
from finishplan.job.settings import Method
from finishplan.order.fewest_passes import Knots
from finishplan.order.items import items_of, order_inputs, problem_of
from finishplan.order.passes import solve
from finishplan.order.problem import Arc, OrderProblem, OrderSolution


def problem_from(seed: int, areas: int, mixes: int) -> OrderProblem | None:
    """The problem of a random scheme full of flags and wishes; None when all of it is left bare."""
    figure, colours = random_figure(seed, areas, mixes, flagged=0.5, wished=0.4)
    ids = sorted({m.id: m for m in colours.values()})
    shelf = {m.id: m for m in colours.values()}
    mix_of = {i: ids.index(m.id) for i, m in colours.items()}
    try:
        facts = order_inputs(figure, ([shelf[i] for i in ids], mix_of), box(), Method(undercoat=False), "satin")
    except InputError:
        return None
    return problem_of(facts, items_of(facts, {}), [shelf[i].lab[0] for i in ids])[0]


def check(problem: OrderProblem, answer: OrderSolution) -> None:
    """Everything is laid once, nothing before what it waits for, each pass in one mix."""
    mix, arcs = with_recuts(problem, answer.broken)
    laid = [i for o in answer.openings for i in o.items]
    assert sorted(laid) == list(range(len(mix)))
    assert all(mix[i] == o.mix for o in answer.openings for i in o.items)
    place = {i: no for no, o in enumerate(answer.openings) for i in o.items}
    kept = [(t.first, t.second) for k, t in enumerate(problem.ties) if k not in answer.dropped]
    assert all(place[a] < place[b] or (place[a] == place[b] and mix[a] == mix[b]) for a, b in [*arcs, *kept])


def test_120_random_small_schemes_equal_brute_force() -> None:
    """Broken edges and number of passes, as the exhaustive search finds them."""
    met = circles = reopened = 0
    for seed in range(200):
        problem = problem_from(seed, 4 + seed % 3, 3 + seed % 3)
        if problem is None or met == 120:
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
    assert met == 120
    assert circles > 12 and reopened > 12, "the schemes are too easy to show anything"


def random_problem(seed: int, n: int, mixes: int, arcs: int) -> OrderProblem:
    """Acyclic, in no scheme's likeness: any mix before any other."""
    rng = random.Random(seed)
    mix = tuple(rng.randrange(mixes) for _ in range(n))
    pairs = [(a, b) for a in range(n) for b in range(a + 1, n) if mix[a] != mix[b]]
    chosen = rng.sample(pairs, min(arcs, len(pairs)))
    shuffled = rng.sample(range(n), n)
    new_mix = tuple(mix[shuffled.index(i)] for i in range(n))
    breadth = tuple(rng.choice([0.0, 1.0, 2.0, 4.0, 8.0, 16.0]) for _ in range(n))
    arcs_of = tuple(Arc(shuffled[a], shuffled[b], 1.0) for a, b in chosen)
    return OrderProblem(new_mix, breadth, tuple(20.0 + 2 * rng.randrange(8) for _ in range(mixes)), arcs_of)


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
def test_light_before_dark_then_broad_before_fine_among_all_orders_as_short(seed: int) -> None:
    """Nothing of as few passes has less darkness out of order, and nothing as light first takes broader brushes, or of
    equally broad ones lighter colours, at the first step where they differ."""
    problem = random_problem(seed, 9, 5, 4 + seed % 8)
    answer = solve(problem)
    arcs = [(a.first, a.second) for a in problem.arcs]

    def broad(sequence: Sequence[Collection[int]]) -> list[tuple[float, float]]:
        colour = [problem.lightness[problem.mix[next(iter(items))]] for items in sequence]
        return list(zip((max(problem.breadth[i] for i in items) for items in sequence), colour, strict=True))

    every = list(pass_sequences(problem.mix, arcs, len(answer.openings)))
    found, least = [o.items for o in answer.openings], min(darkness(problem, s) for s in every)
    assert darkness(problem, found) == least
    assert broad(found) == max(broad(s) for s in every if darkness(problem, s) == least)


def test_light_before_dark_over_pieces_that_do_not_touch() -> None:
    """Common practice: nothing but lightness orders six colours on six pieces, and a white speck comes last all the
    same."""
    light = (35.0, 92.0, 48.0, 67.0, 74.0, 25.0, 99.0)
    problem = OrderProblem((0, 1, 2, 3, 4, 5, 6), (9.0, 1.0, 4.0, 2.0, 7.0, 3.0, 0.0), light, (Arc(5, 6, 1.0),))
    assert [o.mix for o in solve(problem).openings] == [1, 4, 3, 2, 0, 5, 6]


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


def strings(seed: int, count: int, length: int, mixes: int) -> OrderProblem:
    """Chains of items in random mixes: the shortest common supersequence of random strings, hard by nature."""
    rng = random.Random(seed)
    mix: list[int] = []
    for k in range(count * length):
        mix.append(rng.choice([m for m in range(mixes) if k % length == 0 or m != mix[-1]]))
    arcs = tuple(Arc(k, k + 1, 1.0) for k in range(count * length - 1) if (k + 1) % length)
    breadth = tuple(rng.choice([1.0, 2.0, 4.0, 8.0, 16.0]) for _ in mix)
    return OrderProblem(tuple(mix), breadth, tuple(rng.uniform(20, 95) for _ in range(mixes)), arcs)


@pytest.mark.parametrize("seed", range(12))
def test_a_search_that_is_given_up_states_an_honest_bound_and_a_light_first_order(seed: int) -> None:
    problem = strings(seed, 6, 7, 10)
    exact, short = solve(problem), solve(problem, node_limit=1)
    check(problem, short)
    assert exact.proven
    assert short.bound <= len(exact.openings) <= len(short.openings)
    before = {b: {a.first for a in problem.arcs if a.second == b} for b in range(len(problem.mix))}
    done: set[int] = set()
    for k, o in enumerate(short.openings):
        later = short.openings[k:]
        due = [p for p in later if all(before[i] <= done | set(p.items) for i in p.items)]
        due = [p for p in due if all(q.mix != p.mix for q in later[: later.index(p)])]
        adds = {p.items: _added(problem, p.items, [i for q in later if q is not p for i in q.items]) for p in due}
        assert adds[o.items] == min(adds.values()) or short.proven
        done |= set(o.items)


def _added(problem: OrderProblem, laid: Sequence[int], left: Sequence[int]) -> int:
    """Darkness out of order that laying these adds, in hundredths: what must follow in its string anyway is free."""
    light = [round(100 * problem.lightness[m]) for m in problem.mix]
    pairs = [(i, j) for i in laid for j in left if not (i // 7 == j // 7 and i < j)]
    return sum(light[j] - light[i] for i, j in pairs if light[j] - light[i] >= 300)


def test_a_search_that_is_given_up_may_prove_less() -> None:
    assert sum(not solve(strings(seed, 6, 7, 10), node_limit=1).proven for seed in range(12)) >= 3


def test_a_quick_order_keeps_the_ties_it_says_it_keeps() -> None:
    rng, given_up = random.Random(4), 0
    for seed in range(12):
        problem = strings(seed, 6, 7, 10)
        pairs = [(a, b) for a in range(42) for b in range(42) if problem.mix[a] != problem.mix[b]]
        tied = replace(problem, ties=tuple(Arc(a, b, 1.0, wish=k < 2) for k, (a, b) in enumerate(rng.sample(pairs, 8))))
        answer = solve(tied, node_limit=0)
        check(tied, answer)
        given_up += len(answer.dropped)
        assert len(answer.openings) <= len(solve(problem, node_limit=0).openings)
    assert given_up > 12


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), n=st.integers(2, 10), mixes=st.integers(2, 5), arcs=st.integers(0, 20))
def test_no_bound_is_above_the_fewest_passes(seed: int, n: int, mixes: int, arcs: int) -> None:
    """Of all items and of what is left after any few passes; mixes taken all together are counted exactly."""
    problem = random_problem(seed, n, mixes, arcs)
    pairs = [(a.first, a.second) for a in problem.arcs]
    search = Knots(problem.mix, pairs, 1)
    rng, left = random.Random(seed), search.everything
    while left:
        items = [i for i in range(n) if left >> i & 1]
        place = {i: k for k, i in enumerate(items)}
        inner = tuple((place[a], place[b]) for a, b in pairs if a in place and b in place)
        fewest = least_passes([problem.mix[i] for i in items], inner)
        assert max(search.bound(left), search.by_groups(left)) <= fewest == search.alone(left)
        left = rng.choice(search.moves(left))[1]


def hard_scheme(seed: int) -> OrderProblem:
    """Sixty items in fourteen mixes, each touching its nearest neighbours, their order drawn at random."""
    rng = random.Random(seed)
    mix = tuple(rng.randrange(14) for _ in range(60))
    spot = [complex(rng.random(), rng.random()) for _ in mix]
    near = [sorted(range(60), key=lambda j: abs(spot[j] - spot[i]))[1:5] for i in range(60)]
    pairs = {(min(i, j), max(i, j)) for i in range(60) for j in near[i] if mix[i] != mix[j]}
    light = tuple(rng.uniform(20, 95) for _ in range(14))
    return OrderProblem(mix, (1.0,) * 60, light, tuple(Arc(a, b, 1.0) for a, b in sorted(pairs)))


@pytest.mark.parametrize("seed", range(8))
def test_fourteen_mixes_on_sixty_areas_are_proven(seed: int) -> None:
    assert solve(hard_scheme(seed)).proven


def test_a_recut_is_folded_into_a_later_pass_of_its_mix() -> None:
    """0 before 1, 1 before 2, 2 before 0: the cheapest (2 before 0) is broken; item 3 of the mix of 0 comes last
    anyway."""
    arcs = (Arc(0, 1, 9), Arc(1, 2, 9), Arc(2, 0, 1), Arc(2, 3, 9))
    answer = solve(OrderProblem((0, 1, 2, 0), (4.0, 3.0, 2.0, 1.0), (50.0,) * 3, arcs))
    assert answer.broken == answer.recuts == (2,)
    assert [(o.mix, o.items) for o in answer.openings] == [(0, (0,)), (1, (1,)), (2, (2,)), (0, (3, 4))]


def test_a_problem_checks_itself() -> None:
    for bad in (Arc(0, 0, 1.0), Arc(0, 5, 1.0), Arc(0, 1, 0.0)):
        with pytest.raises(ValueError, match=r"Arc|joins|names"):
            OrderProblem((0, 1), (1.0, 1.0), (50.0, 50.0), (bad,))
    with pytest.raises(ValueError, match="2 mixes but 1"):
        OrderProblem((0, 1), (1.0,), (50.0, 50.0), ())
    with pytest.raises(ValueError, match="without its lightness"):
        OrderProblem((0, 1), (1.0, 1.0), (50.0,), ())
