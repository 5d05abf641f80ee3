"""Quantities against the spreading rate of ISO 23811, sums by hand, and what a small figure needs."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_schemes import box, cut, dry, mix, mixes, one_pass, order, part_of, scheme

from finishplan.amounts.pots import pots_and_turns
from finishplan.amounts.quantities import Supplies, quantities, with_pots
from finishplan.amounts.resin import pulls, resin_quantities, shot_g
from finishplan.basics.errors import InputError
from finishplan.drying.kinds import paint_kind, paint_kinds
from finishplan.job.settings import Labour, Resin, Room, RunSettings
from finishplan.order.model import AreaCoats
from finishplan.paint.measuring import let_down, let_down_words, measured_pot, paint_drops, premix_drops
from finishplan.paint.model import Premix
from finishplan.paint.settings import DROP_ML
from finishplan.run.build import Painted, run_problem
from finishplan.run.films import film_ml, laid_ml
from finishplan.run.model import Run, Task
from finishplan.run.schedule import schedule


def made(castings=1, dried=None, **more):
    own = RunSettings(castings=castings, **{k: more.pop(k) for k in ("loss", "per_shot", "brush_ml") if k in more})
    figure = Painted(scheme(), order(), mixes(), dried or dry(), more.pop("primer_coats", 1))
    return quantities(figure, more.pop("box", box()), own, more.pop("run", None), Supplies(**more))


def by_id(castings=1, **more):
    return {(q.what, q.id): q for q in made(castings, **more)}


@pytest.mark.parametrize("key", sorted(paint_kinds()))
def test_films_of_every_kind_spread_as_iso_23811_says(key):
    """Theoretical spreading rate, m2/l = 10 x volume solids in percent / dry film in um: 10 for 40 % and 40 um."""
    kind = paint_kind(key)
    litres = film_ml(1e4, kind.wet_um(kind.dry_um)) / 1000
    assert 1 / litres == pytest.approx(10 * 100 * kind.volume_solids / kind.dry_um)


def test_an_aerosol_can_covers_one_to_two_square_metres():
    """Common practice: what the labels of 400 ml cans promise for one coat on a board, which half of it misses; of a
    small piece three to six times what stays on it is sprayed."""
    kind = paint_kind("aerosol-primer")
    assert 1.0 <= 400 / (2 * film_ml(1e4, kind.wet_um(kind.dry_um))) <= 2.0
    assert 3.0 <= RunSettings().loss * kind.overspray <= 6.0


def test_mixes_by_hand():
    """Mix B: two coats of 70 cm2 and one of 6 cm2, 52.63 um wet, loss 1.6: 1.229 ml; 0.03 ml to the brush;
    5 parts a drop: 30 drops."""
    b = by_id()["mix", "B"]
    assert b.ml_per_casting == pytest.approx((2 * 70 + 6) * 20 / 0.38 * 1e-4 * 1.6)
    assert (b.drops, b.ml_run, b.times_mixed) == (30, 1.5, 1)
    assert b.grams == pytest.approx(30 * 0.05 * 1.2)


def test_a_95_mm_figure_needs_millilitres_not_litres():
    total = sum(q.ml_per_casting for q in made() if q.what == "mix")
    assert 1 < total < 20
    assert all(0.5 < q.ml_per_casting < 20 for q in made() if q.what in ("primer", "varnish"))


def test_passes_add_up_to_the_mixes_and_the_mixes_to_the_paints():
    laid = laid_ml(scheme(), order(), dry()[1], 1.6)
    assert {no for no, _, _, _ in laid} == {1, 2, 3, 4}
    one = [q for q in made() if q.what == "mix"]
    assert sum(laid.values()) == pytest.approx(sum(q.ml_per_casting for q in one))
    assert sum(q.ml_per_casting for q in made() if q.what == "paint") == pytest.approx(sum(laid.values()))


def test_every_pass_tells_what_it_lays():
    found, mixes_found = made(12), {q.name: q for q in made(12) if q.what == "mix"}
    rows = {q.id: q for q in found if q.what == "pass"}
    assert list(rows) == ["1", "2", "3", "4"] and rows["2"].name == "pass 2, mix B"
    assert rows["2"].ml_per_casting == pytest.approx(mixes_found["mix B"].ml_per_casting)
    assert rows["2"].ml_run == pytest.approx(12 * (2 * 70 + 6) * 20 / 0.38 * 1e-4 * 1.6)
    assert rows["2"].grams == pytest.approx(1.2 * rows["2"].ml_run)


def test_premixes_are_let_down_once_for_the_run_in_whole_drops():
    """Mix B, 5 drops a part: 15 of white and 10 of 1 blue into 9 white; a second pot shares the batches."""
    b = mixes()[1]
    assert paint_drops([b], {"B": [5]}) == {"white": 15 + 9, "blue": 1}
    assert paint_drops([b], {"B": [6]}) == {"white": 18 + 18, "blue": 2}
    assert paint_drops([b], {"B": [6, 4]}) == {"white": 30 + 18, "blue": 2}
    double = mix("E", part_of("blue", 1), part_of("blue", 3, Premix("blue", 1, "black", 4)))
    assert paint_drops([double], {"E": [1]}) == {"blue": 2, "black": 4}
    assert premix_drops([b, double], {"B": [5], "E": [1]}) == {
        Premix("blue", 1, "white", 9): 10,
        Premix("blue", 1, "black", 4): 3,
    }


LETTING_DOWN = [
    (9, 10, ((1, 9),), "1 drop into 9"),
    (9, 11, ((2, 18),), "2 drops into 18"),
    (49, 1, ((1, 9), (1, 4)), "1 drop into 9, one of that into 4"),
    (49, 5, ((1, 9), (1, 4)), "1 drop into 9, one of that into 4"),
    (49, 6, ((1, 9), (2, 8)), "1 drop into 9, 2 of that into 8"),
    (49, 51, ((2, 18), (11, 44)), "2 drops into 18, 11 of that into 44"),
    (499, 1, ((1, 9), (1, 4), (1, 9)), "1 drop into 9, one of that into 4, one of that into 9"),
    (499, 60, ((1, 9), (2, 8), (6, 54)), "1 drop into 9, 2 of that into 8, 6 of that into 54"),
]


@pytest.mark.parametrize(("of", "needed", "made_by", "words"), LETTING_DOWN)
def test_a_strong_paint_is_let_down_step_by_step(of, needed, made_by, words):
    """By hand: 1 to 49 is one drop into nine, one of that into four; five drops of it cost 1 + 13 drops."""
    pre = Premix("blue", 1, "white", of)
    assert let_down(pre, needed) == made_by and let_down_words(made_by) == words
    one = mix("E", part_of("blue", needed, pre))
    assert paint_drops([one], {"E": [1]}) == {"blue": made_by[0][0], "white": sum(w for _, w in made_by)}


@given(st.sampled_from([(1, 4), (1, 9), (1, 49), (1, 499), (2, 5)]), st.integers(1, 5000))
def test_every_step_suffices_for_the_next_and_keeps_the_ratio(ratio, needed):
    steps = let_down(Premix("blue", ratio[0], "white", ratio[1]), needed)
    share = math.prod(taken / (taken + white) for taken, white in steps)
    assert share == pytest.approx(ratio[0] / sum(ratio))
    wanted = [*(taken for taken, _ in steps[1:]), needed]
    for (taken, white), next_takes in zip(steps, wanted, strict=True):
        batch = (taken + white) * ratio[0] / taken
        assert next_takes <= taken + white < next_takes + batch


def test_a_premix_of_several_steps_is_listed_by_its_last():
    tint = mix("B", part_of("white", 3), part_of("blue", 1, Premix("blue", 1, "white", 499)))
    found = {
        (q.what, q.id): q
        for q in quantities(Painted(scheme(), order(), (mixes()[0], tint), dry()), box(), RunSettings())
    }
    row, needed = found["premix", "blue:1:499:white"], found["mix", "B"].drops / 4
    assert needed <= row.drops < needed + 10 and row.grams == pytest.approx(row.drops * DROP_ML * 1.2)
    assert row.note == "1 drop into 9, one of that into 4, one of that into 9, for B"
    assert found["paint", "blue"].drops == 1


def test_a_premix_is_listed_with_what_it_is_for():
    row = by_id(1)["premix", "blue:1:9:white"]
    assert (row.drops, row.ml_run, row.note) == (20, 1.0, "2 drops into 18, for B")
    assert row.ml_per_casting == pytest.approx(by_id(1)["mix", "B"].ml_per_casting * 2 / 5)


def test_what_is_measured_out_is_what_goes_into_the_pots():
    """Drops of paints = drops of pots, but for the pre-mix that is left over."""
    found = made(7)
    paints = sum(q.drops for q in found if q.what == "paint")
    pots = sum(q.drops for q in found if q.what == "mix")
    let_down = sum(q.drops for q in found if q.what == "premix")
    each = {q.id: [q.drops // sum(i.parts for i in m.recipe)] for q in found for m in mixes() if q.id == m.id}
    assert paints == pots + let_down - sum(premix_drops(mixes(), each).values())


@settings(max_examples=80)
@given(st.lists(st.integers(1, 5), min_size=1, max_size=4), st.floats(1e-4, 50))
def test_a_pot_is_the_smallest_of_whole_parts_that_suffices(parts, ml):
    pot = measured_pot(mix("X", *(part_of(str(i), n) for i, n in enumerate(parts))), ml)
    assert pot.ml >= ml - 1e-9 and pot.drops == pot.each * sum(parts) and pot.each >= 1
    assert pot.each == 1 or (pot.each - 1) * sum(parts) * DROP_ML < ml + 1e-9


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 80), st.floats(1, 3))
def test_the_run_is_never_less_than_its_castings(castings, loss):
    for q in made(castings, loss=loss):
        assert q.ml_run >= castings * q.ml_per_casting - 1e-6
        assert q.grams > 0


def test_more_castings_loss_or_coats_never_take_less():
    base, more, lossy = by_id(5), by_id(6), by_id(5, loss=2.0)
    for key, q in base.items():
        assert more[key].ml_run >= q.ml_run and lossy[key].ml_per_casting > q.ml_per_casting
    assert by_id(5, primer_coats=2)["primer", "aerosol-primer"].ml_run > base["primer", "aerosol-primer"].ml_run
    assert ("varnish", "varnish-water") not in by_id(5, varnish_coats=0)


def test_shopping_list_against_the_box():
    stocked = by_id(30, box=box(ml_left=1.0, price_per_ml=0.3))["paint", "white"]
    assert stocked.short_ml == pytest.approx(stocked.ml_run - 1.0)
    assert stocked.cost == pytest.approx(0.3 * stocked.ml_run)
    bought = float(stocked.note.removeprefix("buy ").removesuffix(" ml"))
    assert stocked.short_ml <= bought + 1e-9 <= stocked.short_ml + 0.1
    assert stocked.buy_ml == pytest.approx(bought) and stocked.buy_cost == pytest.approx(0.3 * bought)
    plenty = by_id(1, box=box(ml_left=60.0, price_per_ml=0.3))["paint", "white"]
    assert plenty.cost > 0 and plenty.buy_cost == 0
    plenty = by_id(1, box=box(ml_left=60.0))["paint", "white"]
    assert plenty.short_ml == 0 and plenty.cost is None and plenty.note == ""


def test_a_pot_too_large_to_count_is_weighed():
    assert by_id(1)["mix", "B"].note == ""
    assert "weigh it" in by_id(12)["mix", "B"].note


def test_much_varnish_is_measured_in_half_millilitres_and_aerosols_in_five():
    few, many = by_id(1)["varnish", "varnish-water"], by_id(30)["varnish", "varnish-water"]
    assert few.drops == round(few.ml_run / 0.05) and many.drops == 0
    for castings in (30, 31, 32, 33):
        cup = by_id(castings)["varnish", "varnish-water"]
        assert (cup.ml_run / 0.5).is_integer() and cup.ml_run < castings * cup.ml_per_casting + 0.5
    can = by_id(30)["primer", "aerosol-primer"]
    assert can.drops == 0 and (can.ml_run / 5).is_integer()


def test_primer_and_varnish_are_counted_in_the_makers_own_drops():
    """A bottle whose drops are 0.03 ml: as many millilitres are more of them."""
    usual, own = (by_id(1, drop_ml=ml)["varnish", "varnish-water"] for ml in (0.05, 0.03))
    assert own.drops > usual.drops and own.drops * 0.03 == pytest.approx(own.ml_run)
    assert own.ml_per_casting <= own.ml_run < own.ml_per_casting + 0.03


def test_airbrushed_passes_take_a_thinner_film_and_lose_more():
    sprayed = order(one_pass(1, "A", {1: 2}, tool="airbrush"))
    kind = paint_kind("airbrush")
    laid = laid_ml(scheme(), sprayed, dry()[1], 1.6)
    assert laid[1, "body", 1, "A"] == pytest.approx(70 * 40 * 1e-4 * 1.6 * kind.overspray)
    assert laid == pytest.approx(laid_ml(scheme(), sprayed, dry(paint="airbrush")[1], 1.6))


def test_a_recut_takes_a_line_not_the_whole_area():
    """Edge of 40 mm, 3 mm wide: 1.2 cm2."""
    recut = order(one_pass(1, "A", {2: 1}, kind="recut", edges=((1, 2),)), edges=(cut(2, 1, 40.0), cut(3, 2, 99.0)))
    assert laid_ml(scheme(), recut, dry()[1], 1.0)[1, "body", 1, "A"] == pytest.approx(1.2 * 20 / 0.38 * 1e-4)


def test_coats_that_only_an_edge_needs_take_a_line():
    """Boots, 30 cm2: two coats over all, a third along an edge of 50 mm."""
    coats = (AreaCoats(3, "A", 3, (9.0, 3.0, 1.2, 0.4), edge_only=True, edge_coats=1),)
    laid = laid_ml(scheme(), order(one_pass(1, "A", {3: 3}), edges=(cut(1, 3, 50.0),), coats=coats), dry()[1], 1.0)
    assert [round(laid[1, "body", n, "A"] / (20 / 0.38 * 1e-4), 6) for n in (1, 2, 3)] == [30.0, 30.0, 1.5]


def test_undercoats_and_second_mixes_of_the_order_are_counted():
    white = mix("U1", part_of("white", 1))
    under = one_pass(1, "U1", {1: 1}, kind="undercoat")
    wet = one_pass(2, "A", {1: 1, 2: 1})
    wet = replace(wet, work=(wet.work[0], replace(wet.work[1], mix="C")), also_open=("C",))
    made_from = order(under, wet, extra_mixes=(white,))
    found = {
        q.id: q
        for q in quantities(Painted(scheme(), made_from, mixes(), dry()), box(), RunSettings())
        if q.what == "mix"
    }
    film = 20 / 0.38 * 1e-4 * 1.6
    assert {id: q.ml_per_casting for id, q in found.items()} == pytest.approx(
        {"A": 70 * film, "C": 20 * film, "U1": 70 * film}
    )


def scheduled(own, **labour):
    figure = Painted(scheme(), order(), mixes(), dry())
    return schedule(run_problem(figure, Labour(**labour), Room(), replace(own, search_s=0.0)))


def run_of(*tasks):
    return Run(1, 1, 0, 0, 0, 0, False, tuple(tasks), ())


def test_pots_by_hand():
    """What is laid from a pot and 0.03 ml for each turn to it, until the schedule mixes another."""
    laid = {(1, "body", 1, "A"): 0.5, (1, "body", 2, "A"): 0.25, (3, "body", 1, "C"): 0.1}
    tasks = [
        Task(0, 3, 1, 0, "mix", 1, 0, "A"),
        Task(3, 4, 1, 0, "change", 1, 0, "A"),
        Task(4, 10, 1, 1, "coat", 1, 1, "A", "body"),
        Task(10, 13, 1, 0, "mix", 3, 0, "C"),
        Task(13, 14, 1, 0, "change", 3, 0, "C"),
        Task(14, 20, 1, 1, "coat", 3, 1, "C", "body"),
        Task(30, 31, 1, 0, "change", 1, 0, "A"),
        Task(31, 40, 1, 1, "coat", 1, 2, "A", "body"),
        Task(400, 403, 1, 0, "mix", 1, 0, "A"),
        Task(403, 404, 1, 0, "change", 1, 0, "A"),
        Task(404, 410, 1, 2, "coat", 1, 1, "A", "body"),
    ]
    pots, turns = pots_and_turns(run_of(*tasks), laid, 0.03)
    assert [(p.mix, p.no, p.turns, p.made_min, p.until_min) for p in pots] == [
        ("A", 0, 2, 0, 40), ("C", 0, 1, 10, 20), ("A", 1, 1, 400, 410)
    ]  # fmt: skip
    assert [p.ml for p in pots] == pytest.approx([0.5 + 0.25 + 2 * 0.03, 0.1 + 0.03, 0.5 + 0.03])
    assert [(t.mix, t.pot, t.fresh) for t in turns] == [("A", 0, True), ("C", 0, True), ("A", 0, False), ("A", 1, True)]
    assert [t.ml for t in turns] == pytest.approx([0.5, 0.1, 0.25, 0.5])


@pytest.mark.parametrize(("palette", "castings", "painters"), [("wet", 1, 1), ("dish", 40, 1), ("wet", 4, 2)])
def test_what_is_charged_is_what_is_mixed(palette, castings, painters):
    """The schedule's minutes of mixing, its pots, the turns to them and the amounts are the same pots."""
    own = RunSettings(castings=castings, painters=painters, palette=palette)
    figure = Painted(scheme(), order(), mixes(), dry())
    run = with_pots(figure, box(), own, scheduled(own))
    told = {q.id: q for q in quantities(figure, box(), own, run) if q.what == "mix"}
    laid = laid_ml(scheme(), order(), dry()[1], own.loss)
    assert len(run.pots) == sum(t.kind == "mix" for t in run.tasks) == sum(q.times_mixed for q in told.values())
    assert len(run.pots) > len(told) or palette == "wet"
    for id, q in told.items():
        pots = [p for p in run.pots if p.mix == id]
        turns = [t for t in run.tasks if (t.kind, t.mix) == ("change", id)]
        assert sum(p.turns for p in pots) == len(turns)
        one = sum(ml for (_, _, _, mix), ml in laid.items() if mix == id)
        assert sum(p.ml for p in pots) == pytest.approx(castings * one + own.brush_ml * len(turns))
        assert (sum(p.drops for p in pots), q.ml_run) == (q.drops, pytest.approx(q.drops * DROP_ML))
        assert sum(o.drops for o in run.turns if o.mix == id) == q.drops
        assert all(p.ml <= p.drops * DROP_ML + 1e-9 and p.drops >= own.least_drops for p in pots)


def test_no_pot_is_less_than_three_drops():
    """One drop would do for mix D, of one paint: common practice asks for three."""
    tiny = replace(mixes()[3], recipe=(part_of("blue", 1),))
    laid = order(one_pass(1, "D", {5: 1}))
    rows = quantities(Painted(scheme(), laid, (tiny,), dry()), box(), RunSettings(loss=1.0, brush_ml=0.0))
    assert next(q for q in rows if q.what == "mix").drops == 3
    more = quantities(Painted(scheme(), laid, (tiny,), dry()), box(), RunSettings(loss=1.0, least_drops=5))
    assert next(q for q in more if q.what == "mix").drops == 5


def test_resin_by_hand():
    """4 castings of 100 + 20 g, 2 a shot: 240 g a shot; first 300, then 252: 552 g, by 100:90."""
    resin, run = Resin(100, 20, ratio=(100, 90)), RunSettings(castings=4, per_shot=2)
    assert pulls(run) == 2 and shot_g(resin, 2, first=True) == 300 and shot_g(resin, 2) == 252
    a, b = resin_quantities(resin, run)
    assert (a.grams, b.grams) == (math.ceil(552 * 100 / 190), math.ceil(552 * 90 / 190))
    assert a.ml_run == pytest.approx(a.grams / 1.1) and "2 shots" in a.note


def test_silicone_and_its_hardener_at_ten_percent():
    """Common practice: 10 parts of hardener to 100 of silicone by mass; a mould lasts for so many pulls."""
    resin, run = Resin(100, silicone_g=440, mould_life=20, pigment_pct=1.0), RunSettings(castings=60, per_shot=2)
    found = {q.id: q for q in resin_quantities(resin, run)}
    assert found["silicone"].grams == 800 and found["silicone-hardener"].grams == 80
    assert "2 moulds" in found["silicone"].note
    mixed = found["resin-a"].grams + found["resin-b"].grams
    assert found["pigment"].grams == pytest.approx(1.1 * 0.01 * mixed, abs=1.1)


def test_a_shot_is_told_of_both_parts_together():
    """38 g of casting and 9 g of sprue: 47 g, 25 % more for the first shot and 5 % for the others (our margins)."""
    many, one = (resin_quantities(Resin(38, 9), RunSettings(castings=n)) for n in (30, 1))
    said = "30 shots, A and B together: 59 g for the first, weigh it, then about 50 g each"
    assert [q.note for q in many] == [said, said]
    assert {q.note for q in one} == {"1 shot, A and B together: 59 g"}
    assert sum(q.grams for q in many) == pytest.approx(58.75 + 29 * 49.35, abs=2)


def test_an_odd_casting_takes_a_whole_shot():
    resin = Resin(50)
    five, six = (resin_quantities(resin, RunSettings(castings=n, per_shot=2))[0].grams for n in (5, 6))
    assert five == six


@pytest.mark.parametrize(
    "wrong",
    [
        {"part_g": 0},
        {"part_g": math.nan},
        {"part_g": 10, "waste_g": -1},
        {"part_g": 10, "ratio": (1, 0)},
        {"part_g": 10, "mould_life": 0},
        {"part_g": 10, "silicone_g": -5},
        {"part_g": 10, "hardener_pct": math.inf},
    ],
)
def test_resin_that_cannot_be_poured_is_refused(wrong):
    with pytest.raises(InputError) as caught:
        Resin(**wrong)
    assert caught.value.key.startswith("resin.") and caught.value.cure


def test_resin_joins_the_quantities_when_asked():
    assert not [q for q in made() if q.what == "resin"]
    assert [q.id for q in made(resin=Resin(120)) if q.what == "resin"] == ["resin-a", "resin-b"]


def test_negative_coats_are_refused():
    with pytest.raises(InputError, match="coats of varnish"):
        made(varnish_coats=-1)


def test_varnish_is_laid_twice_unless_told():
    """Two thin coats (common practice)."""
    one, usual = (
        next(q for (what, _), q in by_id(**more).items() if what == "varnish") for more in ({"varnish_coats": 1}, {})
    )
    assert "2 coats" in usual.note and usual.ml_per_casting == pytest.approx(2 * one.ml_per_casting)
