"""Fewest pots: against every choice of pots, against another solver, against the greedy rule of pairs."""

from collections.abc import Sequence
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishplan.colour.light import delta_e
from finishplan.paint import fewest
from finishplan.paint.box import load_box
from finishplan.paint.fewest import Pots, fewest_pots
from finishplan.paint.mixing import MixSettings, Wishes, choose, find_mixes
from finishplan.paint.search import search
from finishplan.paint.shelf import make_shelf

FAST = MixSettings(cache=False, max_paints=3, premixes=False)
BOX = load_box(own=("PW6", "PY43", "burnt-sienna", "PB29", "PBk9"))
Neighbours = list[tuple[int, int, float]]


def drawn_pots(seed: int, colours: int, candidates: int) -> tuple[Pots, np.ndarray, Neighbours]:
    """Colours close together, pots near them, some neighbours; the pot of its own of each colour comes first."""
    rng = np.random.default_rng(seed)
    aims = rng.normal((55, 8, 12), (4, 3, 3), (colours, 3))
    labs = np.concatenate([aims + rng.normal(0, 0.4, aims.shape), rng.normal((55, 8, 12), (4, 3, 3), (candidates, 3))])
    off = delta_e(labs[:, None], aims[None])
    serves = off <= 3.0
    serves[range(colours), range(colours)] = True
    joint = np.arange(len(labs)) >= colours + candidates // 2
    meet = [(i, i + 1) for i in range(0, colours - 1, 2)]
    apart = [(i, j, min(0.5 * float(delta_e(aims[i], aims[j])), float(delta_e(labs[i], labs[j])))) for i, j in meet]
    return Pots(labs, off, serves, rng.random(len(labs)) < 0.2, joint), rng.uniform(0.1, 1, colours), apart


def value(pots: Pots, weights: np.ndarray, apart: Neighbours, pot_of: Sequence[int]) -> tuple[int, int, float] | None:
    """Pots, how many of them are new, weighted difference; None where the choice is not allowed."""
    used = set(pot_of)
    if any(not pots.serves[r, i] for i, r in enumerate(pot_of)):
        return None
    if any(pots.joint[r] and pot_of.count(r) < 2 for r in used):  # type: ignore[attr-defined]
        return None
    for i, j, least in apart:
        if pot_of[i] == pot_of[j] or delta_e(pots.labs[pot_of[i]], pots.labs[pot_of[j]]) < least - 1e-9:
            return None
    off = sum(w * pots.off[r, i] for i, (r, w) in enumerate(zip(pot_of, weights / weights.sum(), strict=True)))
    return len(used), len(used) - sum(bool(pots.known[r]) for r in used), float(off)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("looked_at", [0, fewest.LOOKED_AT])
def test_the_choice_is_the_best_of_all(seed: int, looked_at: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every way to give five colours one of eleven pots, by the solver and without it; with neighbours in every other
    draw."""
    monkeypatch.setattr(fewest, "LOOKED_AT", looked_at)
    pots, weights, apart = drawn_pots(seed, 5, 6)
    apart = apart if seed % 2 else []
    fits = [np.flatnonzero(pots.serves[:, i]).tolist() for i in range(5)]
    values = [v for way in product(*fits) if (v := value(pots, weights, apart, way)) is not None]
    taken = fewest_pots(pots, weights.tolist(), apart)
    found = value(pots, weights, apart, taken.pot_of)
    best = min(values)
    assert found is not None and taken.proven and found[:2] == best[:2]
    assert found[2] == pytest.approx(best[2], abs=1e-6)


def test_thirty_colours_against_another_solver() -> None:
    """The bare number of pots, as a set cover, by OR-tools' CP-SAT."""
    from ortools.sat.python import cp_model

    for seed in (1, 2, 3):
        pots, weights, _ = drawn_pots(seed, 30, 60)
        model = cp_model.CpModel()
        taken = [model.new_bool_var(str(r)) for r in range(len(pots.labs))]
        for column in pots.serves.T:
            model.add_bool_or(taken[r] for r in np.flatnonzero(column).tolist())
        model.minimize(sum(taken))
        solver = cp_model.CpSolver()
        assert solver.solve(model) == cp_model.OPTIMAL
        free = Pots(pots.labs, pots.off, pots.serves, pots.known, np.zeros_like(pots.joint))
        found = fewest_pots(free, weights.tolist(), [])
        assert found.proven and len(set(found.pot_of)) == round(solver.objective_value) < 25


def shaded(seed: int, bases: int = 3, steps: int = 5) -> np.ndarray:
    """Tones of a few base colours, as a soft-shaded drawing has them."""
    rng = np.random.default_rng(seed)
    base = rng.uniform((45, 0, 5), (70, 12, 30), (bases, 3))
    return np.concatenate([base + (k - steps / 2) * np.array([2.2, 0.2, 0.4]) for k in range(steps)])


def merged(aims: np.ndarray, nearer_than: float) -> list[list[int]]:
    """The greedy rule: a colour joins the first group whose colours all lie nearer than so much."""
    groups: list[list[int]] = []
    for i in range(len(aims)):
        home = next((g for g in groups if (delta_e(aims[g], aims[i]) < nearer_than).all()), None)
        if home is None:
            groups.append([i])
        else:
            home.append(i)
    return groups


@pytest.mark.parametrize("seed", range(3))
def test_never_more_pots_than_the_rule_of_pairs(seed: int) -> None:
    """At the tolerance to which the greedy rule, with the first colour's recipe for each group, comes."""
    aims = shaded(seed)
    own = search(make_shelf(BOX, FAST), aims, FAST)
    groups = merged(aims, 3.0)
    seen = {g[0]: find_mixes([tuple(aims[g[0]])], BOX, FAST, screen=False)[0][0].lab for g in groups}
    reached = max(float(delta_e(np.array(seen[g[0]]), aims[i])) for g in groups for i in g)
    wish = MixSettings(cache=False, max_paints=3, premixes=False, within=max(reached, max(r.delta_e for r in own)))
    found = choose([tuple(a) for a in aims], BOX, wish, screen=False)
    assert len(found.mixes) == found.least <= len(groups)


@pytest.mark.parametrize("seed", range(3))
def test_every_colour_lies_within_and_neighbours_stay_apart(seed: int) -> None:
    """Each of fifteen tones within 3 or as near as it comes alone; tones that meet keep half of their difference."""
    aims = shaded(seed)
    colours, pairs = [tuple(a) for a in aims], [(i, i + 3) for i in range(len(aims) - 3)]
    alone = [find_mixes([c], BOX, FAST, screen=False)[0][0] for c in colours]
    found = choose(colours, BOX, FAST, Wishes(neighbours=pairs, curve=True), screen=False)
    assert [within for within, _ in found.curve] == [1, 2, 3, 4, 5]
    pots = [n for _, n in found.curve]
    assert pots == sorted(pots, reverse=True)
    for i, (colour, own) in enumerate(zip(colours, alone, strict=True)):
        off = float(delta_e(np.array(found.mixes[found.mix_of[i]].lab), np.array(colour)))
        assert off <= max(3.0, own.delta_e if own.reachable else own.delta_e + 1) + 1e-6
    for i, j in pairs:
        drawn, own_apart = (
            float(delta_e(np.array(a), np.array(b)))
            for a, b in ((colours[i], colours[j]), (alone[i].lab, alone[j].lab))
        )
        if drawn > 2 and alone[i].recipe != alone[j].recipe:
            one, other = found.mix_of[i], found.mix_of[j]
            kept = float(delta_e(np.array(found.mixes[one].lab), np.array(found.mixes[other].lab)))
            assert one != other and kept >= min(0.5 * drawn, own_apart) - 1e-6


def test_the_order_of_the_colours_decides_nothing() -> None:
    aims = shaded(4)
    colours = [tuple(a) for a in aims]
    weights = np.linspace(0.2, 1.0, len(colours))
    mixes, mix_of = find_mixes(colours, BOX, FAST, Wishes(needs=weights.tolist()), screen=False)
    turned = np.random.default_rng(0).permutation(len(colours))
    again, other = find_mixes(
        [colours[i] for i in turned], BOX, FAST, Wishes(needs=weights[turned].tolist()), screen=False
    )
    recipes = [mixes[m].recipe for m in mix_of]
    assert [again[m].recipe for m in other] == [recipes[i] for i in turned]
    assert len(mixes) < len(colours)


@settings(max_examples=100, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_a_recipe_near_to_two_colours_tells_that_they_lie_near(seed: int) -> None:
    """CIEDE2000 bends the rule of triangles, but never so far as the search for candidates counts on (3/2)."""
    rng = np.random.default_rng(seed)
    aims = rng.uniform((5, -60, -60), (95, 60, 60), (64, 3))
    points = aims[:, None] + rng.normal(0, 4, (64, 8, 3))
    away = delta_e(points, aims[:, None])
    for one, other in combinations(range(8), 2):
        far = delta_e(points[:, one], points[:, other])
        limit = np.maximum(away[:, one], away[:, other])
        assert (far <= 3.0 * limit + 1e-9).all()


def test_two_colours_nearly_two_tolerances_apart_share_what_lies_between() -> None:
    """Each 2.8 from one mix that serves both, within 3; from each other more than one and a half times that."""
    middle = np.array(find_mixes([(60.0, 8.0, 20.0)], BOX, FAST, screen=False)[0][0].lab)
    aims = [tuple(middle + np.array([step, 0.0, 0.0])) for step in (-3.1, 3.1)]
    off = [float(delta_e(np.array(a), middle)) for a in aims]
    assert max(off) < 2.95 and float(delta_e(np.array(aims[0]), np.array(aims[1]))) > 1.7 * 3.0
    assert len(choose(aims, BOX, FAST, screen=False).mixes) == 1
