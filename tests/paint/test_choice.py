"""Which of several recipes near enough is taken: each rule just where it decides. Aims are real colours near paints."""

import numpy as np
import pytest

from finishplan.paint.box import load_box
from finishplan.paint.search import Recipe, coats_over_white, search
from finishplan.paint.settings import MixSettings
from finishplan.paint.shelf import Shelf, make_shelf
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


def test_a_pot_more_is_mixed_only_to_spare_two_coats(shelf: Shelf) -> None:
    """Our rule, as a coat takes more minutes than a paint does: white would spare this yellow a single one."""
    parts, _ = taken(shelf, 70.09, 24.45, 85.15)
    assert parts == {"diarylide-yellow": 6, "yellow-ochre": 1}
    whiter = coats(shelf, ("titanium-white", 1), ("diarylide-yellow", 5), ("yellow-ochre", 1))
    assert coats(shelf, *parts.items()) - whiter == 1


def test_coats_count_from_two_to_eight(shelf: Shelf) -> None:
    """One coat is laid on specks alone, and who lays nine lays ten (our rule): of two dark violets that hide in one and
    in two coats the more forgiving is taken; of two blues that take more than four the one of fewer coats."""
    assert taken(shelf, 25.99, 4.12, -1.04)[0] == {"quinacridone-magenta": 1, "dioxazine-purple": 2}
    assert taken(shelf, 22.98, 15.43, -23.03)[0] == {"ultramarine-blue": 1, "phthalo-blue-green-shade": 2}


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
    """Our rule: of a violet that comes within 1.8 with a pre-mix and within 2.9 without, under 0.3 ml goes without."""
    strong, aim = make_shelf(STRONG, LET_DOWN), np.array([(59.68, 20.28, -34.89)])
    found, _ = sparing(strong, aim, LET_DOWN, search(strong, aim, LET_DOWN), [ml])
    assert bool((strong.of[found[0].ingredients] > 0).any()) == premixed
