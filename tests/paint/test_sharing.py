"""Mixes that are shared, settings, drops, and answers that do not depend on the way of asking."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from finishplan.basics.errors import InputError
from finishplan.colour.light import delta_e, lab_from_hex
from finishplan.paint.box import find_paint, load_box
from finishplan.paint.measuring import measured_pot, small_unit
from finishplan.paint.mixing import (
    MixSettings,
    Wishes,
    aims,
    drops_for,
    find_mixes,
    let_down_steps,
    letters,
    recipe_json,
)
from finishplan.paint.model import Mix
from finishplan.paint.settings import DRAWN_ALIKE

FAST = MixSettings(cache=False)
NEWT = ["#d9a02a", "#2a7f7a", "#f5ead0", "#e87722", "#c1272d", "#4a2c1a", "#b56a72", "#ffffff"]


def card(mix: object) -> tuple[object, ...]:
    return tuple(getattr(mix, f) for f in ("recipe", "lab", "delta_e", "delta_e_a", "expect_within", "drop_delta_e"))


def test_close_colours_share_a_mix() -> None:
    colours = [lab_from_hex(c) for c in ("#2a7f7a", "#c1272d", "#2c807b", "#2a7f7a")]
    mixes, mix_of = find_mixes(colours, load_box(), FAST)
    assert mix_of == (0, 1, 0, 0)
    assert mixes[0].drawn_hex == "#2a7f7a"
    assert mixes[0].merged_hex == ("#2c807b",)
    _, apart = find_mixes(colours, load_box(), replace(FAST, within=0.0))
    assert apart == (0, 1, 2, 0)


def test_colours_out_of_reach_share_a_mix_that_comes_out_the_same() -> None:
    black, almost = lab_from_hex("#000000"), lab_from_hex("#1a1a1c")
    gold = lab_from_hex("#d9a02a")
    mixes, mix_of = find_mixes([almost, gold, black, black], load_box(), FAST, screen=False)
    assert mix_of == (0, 1, 0, 0) and [m.id for m in mixes] == ["A", "B"]
    assert mixes[0].drawn_hex == "#000000" and mixes[0].merged_hex == ("#1a1a1c",) and not mixes[0].reachable
    _, asked_apart = find_mixes([almost, black], load_box(), replace(FAST, within=0.0), screen=False)
    assert asked_apart == (0, 1)
    _, named = find_mixes([almost, black], load_box(), FAST, Wishes(groups=["trim", None]), screen=False)
    assert named == (0, 1)


def test_named_colours_share_whatever_their_distance() -> None:
    colours = [lab_from_hex(c) for c in ("#2a7f7a", "#c1272d", "#2a7f7a")]
    mixes, mix_of = find_mixes(colours, load_box(), FAST, Wishes(groups=["trim", "trim", None]))
    assert mixes[mix_of[0]].name == "trim" and mixes[mix_of[2]].name != "trim"
    assert mix_of == (0, 0, 1)


def test_the_very_colour_of_a_named_mix_takes_it() -> None:
    """Two of three buttons grouped: the third, drawn alike, needs no second pot of the same; another colour of the
    group, which the mix only stands for, draws nobody in."""
    lamp, glow = (70.0, 5.0, 60.0), (60.0, 20.0, 50.0)
    wishes = Wishes(groups=["lamp", "lamp", None, None], needs=[3.0, 1.0, 1.0, 1.0])
    mixes, mix_of = find_mixes([lamp, glow, lamp, glow], load_box(), FAST, wishes, screen=False)
    assert mix_of[0] == mix_of[1] == mix_of[2] != mix_of[3]
    assert mixes[mix_of[0]].name == "lamp" and len(mixes) == 2


def test_one_colour_alone_gets_the_same_recipe() -> None:
    box = load_box()
    together, mix_of = find_mixes([lab_from_hex(c) for c in NEWT], box, FAST)
    for colour, number in zip(NEWT, mix_of, strict=True):
        (alone,), _ = find_mixes([lab_from_hex(colour)], box, FAST)
        assert card(alone) == card(together[number])


def test_limits_are_kept() -> None:
    wish = replace(FAST, max_paints=2, max_parts=5)
    mixes, _ = find_mixes([lab_from_hex(c) for c in NEWT], load_box(), wish)
    for mix in mixes:
        assert len(mix.recipe) <= 2
        assert sum(i.parts for i in mix.recipe) <= 5
    (single,), _ = find_mixes([lab_from_hex("#2a7f7a")], load_box(), replace(FAST, max_paints=1))
    assert len(single.recipe) == 1


def test_more_paints_never_come_out_worse() -> None:
    from finishplan.paint.search import search
    from finishplan.paint.shelf import make_shelf

    box, aims = load_box(), np.array([lab_from_hex(c) for c in NEWT])
    best = []
    for count in (1, 2, 3, 4):
        wish = replace(FAST, max_paints=count)
        best.append([r.best for r in search(make_shelf(box, wish), aims, wish)])
    for few, more in pairwise(best):
        assert all(m <= f + 1e-9 or m <= 1.0 for f, m in zip(few, more, strict=True))


def test_unreachable_colours_say_so() -> None:
    box = load_box(own=("titanium-white", "burnt-umber", "yellow-ochre", "bone-black"))
    (mix,), _ = find_mixes([lab_from_hex("#4a6a9a")], box, FAST)
    assert not mix.reachable
    assert mix.delta_e > 2
    assert mix.add_paint is not None
    assert mix.add_name == find_paint(box.table, mix.add_paint).name
    from finishplan.paint.additions import with_paints

    (better,), _ = find_mixes([lab_from_hex("#4a6a9a")], with_paints(box, [mix.add_paint]), FAST)
    assert better.reachable


def test_less_than_three_drops_are_measured_in_tips_and_brush_loads() -> None:
    """A drop is 0.05 ml, a small brush takes up 0.03, a toothpick's tip 0.01 (common practice)."""
    (mix,), _ = find_mixes([lab_from_hex("#d9a02a")], load_box(), FAST)
    parts = sum(i.parts for i in mix.recipe)
    assert small_unit(mix, 0.15) == small_unit(mix, 3.0) == ("drops", 0.05)
    assert small_unit(mix, 0.009 * parts)[0] == "toothpick tips" and small_unit(mix, 0.0)[0] == "drops"
    for ml in (0.001, 0.02, 0.08, 0.14):
        unit, holds = small_unit(mix, ml)
        pot = measured_pot(mix, ml, holds)
        assert holds == {"toothpick tips": 0.01, "brush loads": 0.03}[unit] and pot.ml >= ml
        assert pot.ml < max(2 * 0.15, parts * 0.05)


def test_the_largest_area_leads_a_shared_mix_unless_one_is_named() -> None:
    colours = [lab_from_hex(c) for c in ("#2a7f7a", "#c1272d", "#2f8a84")]
    box, names = load_box(), ["trim", None, "trim"]
    led = [
        find_mixes(colours, box, FAST, Wishes(names, needs, leads))[0][0]
        for needs, leads in (([0.9, 1, 0.1], {}), ([0.1, 1, 0.9], {}), ([0.9, 1, 0.1], {"trim": 2}))
    ]
    assert [m.drawn_hex for m in led] == ["#2a7f7a", "#2f8a84", "#2f8a84"]
    assert led[0].merged_hex == ("#2f8a84",) and led[1].merged_hex == ("#2a7f7a",)
    for mix, other in zip(led, (colours[2], colours[0], colours[0]), strict=True):
        assert mix.merged_off[0] == pytest.approx(float(delta_e(mix.lab, other)), abs=0.01)
    far, _ = find_mixes(colours, box, FAST, Wishes(["all"] * 3, [1, 0.1, 0.1]))
    assert max(far[0].merged_off) > 5
    from finishplan.plan.assumptions import plan_warnings

    (line,) = plan_warnings(far, box, "")
    assert f"#c1272d by A all, {max(far[0].merged_off):.1f} off" in line and "#2f8a84" not in line


def test_recipes_that_a_hand_cannot_keep_apart_become_one() -> None:
    """Two greens 2.3 apart, farther than 2: their recipes lie nearer than a tenth in each part moves them."""
    from finishplan.paint.shelf import make_shelf
    from finishplan.paint.trust import hand_keeps

    box = load_box()
    one, other = (40.0, -20.0, 10.0), (41.0, -22.6, 11.3)
    assert float(delta_e(one, other)) > DRAWN_ALIKE - 1
    alone = [find_mixes([c], box, FAST, screen=False)[0][0] for c in (one, other)]
    both, mix_of = find_mixes([one, other], box, replace(FAST, within=0.5), screen=False)
    shelf = make_shelf(box, FAST)
    ids = [p.id for p in box.paints]
    keeps = [
        hand_keeps(shelf, np.array([ids.index(i.paint) for i in m.recipe]), np.array([i.parts for i in m.recipe]))
        for m in alone
        if all(i.premix is None for i in m.recipe)
    ]
    near = float(delta_e(alone[0].lab, alone[1].lab)) < min(keeps, default=0.0)
    assert (mix_of[0] == mix_of[1]) == near
    assert len(both) == 1 + (mix_of[0] != mix_of[1])
    apart, _ = find_mixes([one, other], box, replace(FAST, within=0.0), screen=False)
    assert len(apart) == 2


def test_drops() -> None:
    (mix,), _ = find_mixes([lab_from_hex("#d9a02a")], load_box(), FAST)
    parts = [i.parts for i in mix.recipe]
    for volume in (0.05, 0.5, 1.0, 4.0, 33.3):
        drops = drops_for(mix, volume)
        assert sum(drops) * 0.05 >= volume - 1e-9
        assert {d / p for d, p in zip(drops, parts, strict=True)} == {drops[0] / parts[0]}
        assert (sum(drops) - sum(parts)) * 0.05 < volume
    with pytest.raises(InputError):
        drops_for(mix, 0.0)
    assert recipe_json(mix, 1.0, load_box())["target"] == "#d9a02a"


def test_forgiving_figure_is_what_a_drop_does() -> None:
    """One drop more of the named paint, into a pot of the settings' volume, moves the colour by the printed figure; a
    smaller drop moves it less."""
    from finishplan.colour.film import opaque, saunderson
    from finishplan.colour.light import lab

    box = load_box()
    (mix,), _ = find_mixes([lab_from_hex("#d9a02a")], box, FAST)
    paints = {p.id: p for p in box.paints}
    drops = np.array(drops_for(mix, FAST.volume_ml), float)
    named = [i.paint for i in mix.recipe]

    def look(amounts: np.ndarray) -> np.ndarray:
        K, S = (sum(a * getattr(paints[n], c) for a, n in zip(amounts, named, strict=True)) for c in "KS")
        return lab(saunderson(opaque(K, S), box.table.k1, box.table.k2))

    moved = [float(delta_e(look(drops + np.eye(len(drops))[j]), look(drops))) for j in range(len(drops))]
    assert mix.drop_delta_e == pytest.approx(max(moved), abs=1e-6)
    assert mix.drop_paint == named[int(np.argmax(moved))]
    (fine,), _ = find_mixes([lab_from_hex("#d9a02a")], box, replace(FAST, drop_ml=0.02))
    assert fine.recipe == mix.recipe and 0 < fine.drop_delta_e < 0.6 * mix.drop_delta_e


def test_letters() -> None:
    assert [letters(n) for n in (0, 25, 26, 27, 701, 702)] == ["A", "Z", "AA", "AB", "ZZ", "AAA"]


@pytest.mark.parametrize("wrong", [{"max_paints": 0}, {"max_parts": 99}, {"finish": "shiny"}, {"within": -1.0}])
def test_wrong_settings(wrong: dict[str, object]) -> None:
    with pytest.raises(InputError):
        MixSettings(**wrong)  # type: ignore[arg-type]


def test_too_many_recipes() -> None:
    from finishplan.paint.table import load_table

    box = load_box(own=tuple(p.id for p in load_table(None).paints))
    with pytest.raises(InputError, match="million recipes"):
        find_mixes([(50, 0, 0)], box, replace(FAST, max_paints=6))


def test_colour_that_is_no_number() -> None:
    with pytest.raises(InputError):
        find_mixes([(float("nan"), 0, 0)], load_box(), FAST)


def test_colours_that_come_to_one_paint_are_one_mix() -> None:
    """Two near-blacks farther apart than 2, both best trusted to bone black as it comes."""
    colours = [lab_from_hex(c) for c in ("#000000", "#17131a", "#d9a02a")]
    mixes, mix_of = find_mixes(colours, load_box(), FAST)
    assert delta_e(*aims(colours[:2], load_box())) > DRAWN_ALIKE
    assert mix_of == (0, 0, 1) and mixes[0].merged_hex == ("#17131a",)


def drops_of_a_pot(mix: Mix) -> int:
    """Whole drops of the smallest pot, with those of each pre-mix by the steps a hand makes it in."""
    made = [sum(1 + n for n in let_down_steps(i.premix)) for i in mix.recipe if i.premix is not None]
    return sum(i.parts for i in mix.recipe) + sum(made)


def test_a_mix_of_next_to_nothing_takes_few_drops() -> None:
    """A speck of pale pink, else with black let down 1:9, is mixed of plain drops within 2 of its aim; where more of it
    is needed it is not, and neither is a colour out of reach, however little is needed."""
    colours = [lab_from_hex(c) for c in ("#e0a0a4", "#d9a02a", "#b841fd")]
    usual, _ = find_mixes(colours, load_box(), FAST)
    speck, _ = find_mixes(colours, load_box(), FAST, Wishes(needs=[0.004, 0.4, 0.004]))
    plenty, _ = find_mixes(colours, load_box(), FAST, Wishes(needs=[0.4, 0.4, 0.4]))
    assert [m.recipe for m in plenty] == [m.recipe for m in usual]
    assert [m.recipe for m in speck[1:]] == [m.recipe for m in usual[1:]]
    assert [m.few_drops for m in speck] == [True, False, False]
    assert drops_of_a_pot(usual[0]) > drops_of_a_pot(speck[0]) + 5
    assert all(i.premix is None for i in speck[0].recipe) and speck[0].delta_e <= 2
    twice, _ = find_mixes([colours[0]] * 3, load_box(), FAST, Wishes(needs=[0.004] * 3))
    assert all(i.premix is None for i in twice[0].recipe) and twice[0].delta_e + 1 > 2 and twice[0].few_drops
    run, _ = find_mixes([colours[0]] * 3, load_box(), replace(FAST, castings=30), Wishes(needs=[0.004] * 3))
    assert run[0].recipe == usual[0].recipe and not run[0].few_drops


def test_a_simpler_recipe_puts_no_colour_out_of_reach() -> None:
    """Two colours that pre-mixes meet; so little is needed that none are made, and the mix lies over 2 off."""
    for colour in (lab_from_hex("#debd94"), (72.68, -20.32, -1.96)):
        (mix,), _ = find_mixes([colour], load_box(), FAST, Wishes(needs=[0.01]), screen=False)
        assert mix.delta_e > FAST.reach >= mix.best_delta_e
        assert mix.reachable and mix.missed == () and all(i.premix is None for i in mix.recipe)
