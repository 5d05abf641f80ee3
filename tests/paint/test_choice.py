"""Which of several recipes near enough is taken: each rule just where it decides. Aims are real colours near paints."""

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest

from finishplan.colour.lab import Lab
from finishplan.colour.light import delta_e, lab, lab_from_hex
from finishplan.paint.box import load_box
from finishplan.paint.mixing import Wishes, find_mixes
from finishplan.paint.model import Premix
from finishplan.paint.search import Recipe, coats_over_white, search
from finishplan.paint.settings import MixSettings
from finishplan.paint.shelf import Shelf, let_down_steps, make_shelf
from finishplan.paint.sparing import sparing
from finishplan.paint.trust import expect_within

BOX = load_box()
WISH = MixSettings(max_paints=3, max_parts=8, cache=False, premixes=False)


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return make_shelf(BOX, WISH)


def taken(shelf: Shelf, *aim: float) -> tuple[dict[str, int], Recipe]:
    """Parts by paint, and the recipe, for one aim."""
    (recipe,) = search(shelf, np.array([aim]), WISH)
    ids = [BOX.paints[p].id for p in shelf.paint[recipe.ingredients]]
    return dict(zip(ids, map(int, recipe.parts), strict=True)), recipe


def may_miss(shelf: Shelf, *parts: tuple[str, int]) -> float:
    ids = [p.id for p in BOX.paints]
    return expect_within(shelf, np.array([ids.index(i) for i, _ in parts]), np.array([float(n) for _, n in parts]))


def coats(shelf: Shelf, *parts: tuple[str, int]) -> int:
    ids = [p.id for p in BOX.paints]
    used = np.array([[ids.index(i) for i, _ in parts]])
    return int(coats_over_white(shelf, used, np.array([[n for _, n in parts]]))[0])


def test_a_paint_as_it_comes_goes_first_where_it_is_surer_by_a_step(shelf: Shelf) -> None:
    """Our rule: burnt umber would be surer than a brown of two paints by 0.6 only, burnt sienna than a red brown by 2.1
    though it lies 1.1 farther from the aim."""
    brown, mixed = taken(shelf, 26.25, 3.81, 3.68)
    assert len(brown) == 2
    assert 0.5 < expect_within(shelf, mixed.ingredients, mixed.parts) - may_miss(shelf, ("burnt-umber", 1)) < 1
    sienna, plain = taken(shelf, 29.79, 16.43, 11.43)
    assert sienna == {"burnt-sienna": 1} and 0.75 < plain.delta_e - 0.98 < 1.5
    assert may_miss(shelf, ("pyrrole-red", 3), ("burnt-umber", 5)) - may_miss(shelf, ("burnt-sienna", 1)) > 1


def test_a_paint_more_is_mixed_where_it_spares_a_coat(shelf: Shelf) -> None:
    """Our rule, as a coat takes more minutes than a paint does: a little white spares this yellow one."""
    parts, _ = taken(shelf, 70.09, 24.45, 85.15)
    assert parts == {"titanium-white": 1, "diarylide-yellow": 5, "yellow-ochre": 1}
    assert coats(shelf, ("diarylide-yellow", 6), ("yellow-ochre", 1)) - coats(shelf, *parts.items()) == 1


def test_coats_count_from_two_to_eight(shelf: Shelf) -> None:
    """One coat is laid on specks alone, and who lays nine lays ten (our rule): of two dark violets that hide in one and
    in two coats the more forgiving is taken; of two blues that take more than four the one of fewer coats."""
    assert taken(shelf, 25.99, 4.12, -1.04)[0] == {"quinacridone-magenta": 1, "dioxazine-purple": 2}
    assert taken(shelf, 22.98, 15.43, -23.03)[0] == {"ultramarine-blue": 1, "phthalo-blue-green-shade": 2}


@pytest.mark.parametrize(("ml", "paints"), [(0.009, 1), (0.0125, 2)])
def test_a_fifth_of_a_drop_takes_the_fewest_drops(shelf: Shelf, ml: float, paints: int) -> None:
    """Our rule: of a brown of which each of two hundred castings takes less than 0.01 ml, umber as it comes will do."""
    aim, many = np.array([(26.25, 3.81, 3.68)]), replace(WISH, castings=200)
    found, *_ = sparing(shelf, aim, many, search(shelf, aim, many), [ml])
    assert len(found[0].parts) == paints


STRONG = load_box(own=("titanium-white", "phthalo-blue-green-shade", "phthalo-green-blue-shade", "dioxazine-purple"))
LET_DOWN = MixSettings(max_paints=3, max_parts=8, cache=False)


def test_a_second_pre_mix_must_bring_a_colour_nearer_by_one_and_a_half() -> None:
    """Our rule, as each is a pot more: a pale violet comes within 1.6 with one and would come within 0.5 with two."""
    strong = make_shelf(STRONG, LET_DOWN)
    (recipe,) = search(strong, np.array([(65.0, 17.06, -31.8)]), LET_DOWN)
    assert (strong.of[recipe.ingredients] > 0).sum() == 1
    assert 0.75 < recipe.delta_e - recipe.best < 1.5


@pytest.mark.parametrize(("ml", "premixed"), [(0.29, False), (0.31, True)])
def test_six_drops_are_worth_a_pre_mix(ml: float, premixed: bool) -> None:
    """Our rule: a violet comes within 1.8 with a pre-mix and 2.9 without; less than 0.3 ml go without."""
    strong, aim = make_shelf(STRONG, LET_DOWN), np.array([(59.68, 20.28, -34.89)])
    found, *_ = sparing(strong, aim, LET_DOWN, search(strong, aim, LET_DOWN), [ml])
    assert bool((strong.of[found[0].ingredients] > 0).any()) == premixed


def test_strong_paints_are_let_down_by_tens_and_fives() -> None:
    """To a tenth, a fiftieth and a five-hundredth, each step counted in at most nine drops (common practice: a drop in
    nine, one of that in four or nine); in a paint that is not white to a tenth and a fiftieth (our rule)."""
    strong = make_shelf(STRONG, LET_DOWN)
    white, yellow = strong.into == strong.white, strong.into == 1
    assert {round(1 / (1 + n), 4) for n in strong.of[white].tolist()} == {0.1, 0.02, 0.002}
    assert {round(1 / (1 + n), 4) for n in strong.of[yellow].tolist()} == {0.1, 0.02}
    for of in (9, 49, 499):
        steps = let_down_steps(Premix("a", 1, "b", of))
        assert max(steps) <= 9 and np.prod([1 + n for n in steps]) == 1 + of
        assert len(steps) == {9: 1, 49: 2, 499: 3}[of]


EARTHS = load_box(own=("titanium-white", "yellow-ochre", "ultramarine-blue", "burnt-sienna"))


@pytest.mark.parametrize(
    ("one", "other", "pots"),
    [((76.7, 8.0, 10.5), (75.5, 9.8, 11.8), 1), ((76.7, 8.0, 10.5), (75.1, 10.4, 12.2), 2)],
)
def test_neighbours_drawn_alike_may_come_to_one_pot(one: Lab, other: Lab, pots: int) -> None:
    """Our rule: under CIEDE2000 2 nobody sees the border on a small figure; drawn 1.8 apart they share, 2.4 apart they
    do not, though a pot lies within 3 of both."""
    assert (float(delta_e(np.array(one), np.array(other))) < 2) == (pots == 1)
    mixes, _ = find_mixes([one, other], EARTHS, WISH, Wishes(neighbours=[(0, 1)]))
    assert len(mixes) == pots


def test_neighbours_keep_half_of_their_drawn_difference() -> None:
    """Our rule: five browns in a row, within 4; the third and the fourth, drawn 6.8 apart, are no nearer than 3.4."""
    row: list[Lab] = [(56.6, 9.0, 19.8), (55.6, 12.9, 14.4), (52.8, 17.0, 7.5), (57.9, 10.6, 5.2), (53.9, 9.2, 13.5)]
    near = [(k, k + 1) for k in range(4)]
    mixes, of = find_mixes(row, EARTHS, replace(WISH, within=4.0), Wishes(neighbours=near))
    drawn = float(delta_e(np.array(row[2]), np.array(row[3])))
    assert float(delta_e(np.array(mixes[of[2]].lab), np.array(mixes[of[3]].lab))) >= 0.5 * drawn > 3.3


@pytest.mark.parametrize("hexed", ["#7b00ff", "#e0218a", "#ff66cc", "#800080"])
def test_a_colour_far_from_all_recipes_is_given_no_grey(hexed: str) -> None:
    """Six tubes without a magenta, judged by CAM02-LCD (Luo, Cui, Li 2006; colour-science), which was made for large
    differences: the recipe is the likest of all by a twentieth, where the nearest by CIEDE2000 is a grey."""
    wish, cis = replace(WISH, max_paints=4), {"PW6", "PBk9", "PY43", "PR101", "PB29", "PG7"}
    six = tuple(p for p in BOX.table.paints if p.ci in cis)
    shelf, aim = make_shelf(replace(BOX, paints=six), wish), np.array(lab_from_hex(hexed))
    (recipe,) = search(shelf, aim[None], wish)
    parts = np.array([n for n in product(range(9), repeat=4) if 0 < sum(n) <= 8])
    every = np.concatenate([lab(shelf.seen(np.tile(f, (len(parts), 1)), parts)) for f in combinations(range(6), 4)])
    given = lab(shelf.seen(recipe.ingredients[None], recipe.parts[None]))
    nearest = every[[int(delta_e(aim, every).argmin())]]
    off = [float(seen_apart(aim, colours).min()) for colours in (given, nearest, every)]
    assert off[0] < 1.05 * off[2] and off[1] > 1.3 * off[2]


def seen_apart(aim: np.ndarray, colours: np.ndarray) -> np.ndarray:
    """(n,) difference of L*a*b* colours (n, 3) from an aim (3,)."""
    import colour

    return colour.delta_E(np.broadcast_to(aim, colours.shape), colours, method="CAM02-LCD")
