"""What a painter reads: the trade's order of things, brushes, holds, masks, edges. Facts of the trade: common
practice."""

from dataclasses import replace

import pytest
from figures import area, edge, newt, order_of, scheme, shelf

from finishplan.basics.words import counted
from finishplan.bench.safety import plan_cautions
from finishplan.job.settings import Labour, Method
from finishplan.order.area_names import label, listed
from finishplan.order.brushes import FLATS_MM, ROUNDS_MM, broad_mm, brush_for
from finishplan.order.minutes import COATING_BRUSH_MM, AreaWork, cover_per_cm2, cut_minutes, work_minutes
from finishplan.order.model import EdgeOrder, PaintingOrder, Pass, PassWork
from finishplan.order.order import paint_order
from finishplan.order.reasons import pass_reasons
from finishplan.order.rules import Look, rulings
from finishplan.order.settings import OrderSettings
from finishplan.paint.box import load_box
from finishplan.paint.model import Ingredient, Mix, Premix
from finishplan.run.build import Painted
from finishplan.scheme.model import Scheme


@pytest.fixture(scope="module")
def painted() -> tuple[Scheme, dict[int, Mix], PaintingOrder]:
    figure, colours = newt()
    return figure, colours, order_of(figure, colours)


@pytest.fixture(scope="module")
def thinly() -> tuple[Scheme, PaintingOrder]:
    """The newt in coats so thin that undercoats pay."""
    figure, colours = newt()
    return figure, order_of(figure, colours, method=Method(coat_um=5.5))


def pass_of(order: PaintingOrder, figure: Scheme, name: str) -> int:
    id = next(a.id for a in figure.areas if a.name == name)
    return next(p.no for p in order.passes for w in p.work if w.area == id and w.kind in ("colour", "dot", "blend"))


def edge_of(order: PaintingOrder, a: int, b: int) -> EdgeOrder:
    return next(e for e in order.edges if e.areas == (a, b))


@pytest.mark.parametrize(
    ("sooner", "later"),
    [
        ("eye left", "pupil left"),  # white before the black that cuts over it
        ("pupil left", "glint left"),  # the glint after the pupil
        ("mouth", "lips"),  # the inside of the mouth before the lips
        ("mouth", "tongue"),
        ("panes", "frame"),  # a lantern's panes before its bars
        ("panes", "flame"),
        ("coat", "scarf"),  # yellow before red
        ("coat", "coat buttons"),
        ("belly", "coat"),  # cream before yellow
        ("hood", "hood lining"),
        ("boot tops", "boots"),
        ("face", "cheek spot left"),
        ("mushroom stalks", "mushroom caps"),
    ],
)
def test_common_practice_the_newt_is_painted_as_a_painter_would(
    painted: tuple[Scheme, dict[int, Mix], PaintingOrder], sooner: str, later: str
) -> None:
    figure, _, order = painted
    assert pass_of(order, figure, sooner) < pass_of(order, figure, later)


def test_the_newt_takes_one_pass_more_than_it_has_mixes(
    painted: tuple[Scheme, dict[int, Mix], PaintingOrder],
) -> None:
    """Sixteen mixes; only white is opened twice, as the glints go on the pupils; and that is proven the least."""
    _, colours, order = painted
    mixes = {m.id for m in colours.values()}
    opened = [p.mix for p in order.passes]
    assert len(mixes) == 16 and len(opened) == 17 and order.proven
    assert [m for m in mixes if opened.count(m) > 1] == [shelf()["white"].id]
    again = next(p for p in order.passes if p.mix == shelf()["white"].id and 12 in p.areas)
    assert any("opened again" in line and "pupil" in line for line in again.why)


def test_an_undercoat_gives_no_reasons_of_the_colour_that_covers_it(thinly: tuple[Scheme, PaintingOrder]) -> None:
    """Brass goes under the coat and the hood; that these are lighter than what touches them is said where they are
    painted."""
    figure, order = thinly
    under = next(p for p in order.passes if any(w.kind == "undercoat" and w.area == 20 for w in p.work))
    mine = {w.area for w in under.work if w.kind != "undercoat"}
    around = {i for e in figure.edges if mine & set(e.areas) for i in e.areas}
    places = [line for line in under.why if line.startswith(("lighter than", "darker than"))]
    named = {a.id for a in figure.areas for line in places if label(a) in line}
    assert named and named <= around


def test_a_recess_is_told_once_from_every_side(
    painted: tuple[Scheme, dict[int, Mix], PaintingOrder],
) -> None:
    figure, _, order = painted
    told = [line for p in order.passes for line in p.why if "15 mouth" in line and "recess" in line]
    assert len(told) == len(set(told)) == 3
    mouth, lips = (order.passes[pass_of(order, figure, name) - 1] for name in ("mouth", "lips"))
    assert "15 mouth lies in a recess: before 14 lips and 16 tongue beside it" in mouth.why
    assert any(line.startswith("14 lips") and "after the recess beside, 15 mouth" in line for line in lips.why)


def test_each_colour_under_an_undercoat_is_told_what_it_spares(thinly: tuple[Scheme, PaintingOrder]) -> None:
    figure, order = thinly
    saves = {c.area: c.saves for c in order.coats if c.undercoat}
    under = [(p, w.area) for p in order.passes for w in p.work if w.kind == "undercoat"]
    assert saves and {i for _, i in under} == set(saves)
    names = {a.id: label(a) for a in figure.areas}
    for p, i in under:
        lines = [line for line in p.why if line.startswith("undercoat for")]
        named = [line for line in lines if names[i] in line]
        assert any(f"spares {counted(saves[i], 'coat')} there" in line for line in named or lines)


@pytest.mark.parametrize(
    ("hiding", "cm2", "first", "second"),
    [
        (0.9, 4.0, "as light as 2 y, which hides better and goes over it", "goes over 1 x: as light, hides better"),
        (0.5, 2.0, "as light as 2 y, but larger: that goes over it", "goes over 1 x: as light, but smaller"),
        (0.5, 4.0, "as light as 2 y, but warmer: that goes over it", "goes over 1 x: as light, but less warm"),
    ],
)
def test_a_pass_placed_by_a_tie_says_so_on_both_sides(hiding: float, cm2: float, first: str, second: str) -> None:
    colour = shelf()["red"]
    rows = [area(1, "a", "x", colour), area(2, "a", "y", colour, cm2=cm2)]
    looks = {1: Look(0, (50.0, 30.0, 30.0), 0.5), 2: Look(1, (50.0, -30.0, -30.0), hiding)}
    (ruling,) = rulings(scheme(rows, [edge(1, 2)]), looks)
    tie = EdgeOrder((1, 2), ruling.first, ruling.second, "cut", 20.0, ruling.why, rule="tie", pass_no=2, tie=ruling.tie)
    passes = [Pass(i, "colour", "AB"[i - 1], (PassWork(i, "a", 2, 1.0),), 2, "", "brush", 2.0) for i in (1, 2)]
    areas = {a.id: a for a in rows}
    assert [pass_reasons(p, passes, [tie], {}, areas) for p in passes] == [(first,), (second,)]


def test_a_pass_that_only_a_dot_waits_for_does_not_say_that_nothing_waits() -> None:
    rows = [
        area(1, "a", "x", shelf()["red"]),
        area(2, "a", "y", shelf()["white"], narrow=1.0, wide=2.0, within=1),
    ]
    told = EdgeOrder((1, 2), 1, 2, "dot", 6.0, "dotted on", rule="dot", pass_no=2)
    passes = [Pass(i, "colour", "AB"[i - 1], (PassWork(i, "a", 2, 1.0),), 2, "", "brush", 2.0) for i in (1, 2)]
    (why,) = pass_reasons(passes[0], passes, [told], {}, {a.id: a for a in rows})
    assert why.startswith("it waits for no colour and only 2 y for it")


def test_common_practice_yellow_before_the_dark_blue_beside_it() -> None:
    colours = {1: shelf()["dark blue"], 2: shelf()["yellow"]}
    rows = [area(1, "a", "sea", colours[1]), area(2, "a", "sun", colours[2])]
    order = order_of(scheme(rows, [edge(1, 2)]), colours)
    told = edge_of(order, 1, 2)
    assert (told.first, told.second, told.rule, told.reversed_rule) == (2, 1, "lighter", False)
    figure = scheme(rows, [])
    assert "2 sun is lighter than 1 sea" in told.why
    assert pass_of(order, figure, "sun") < pass_of(order, figure, "sea")


def test_lightness_is_that_of_the_mix_not_of_the_drawing() -> None:
    light, dark = shelf()["cream"], shelf()["brown"]
    rows = [area(1, "a", "x", dark), area(2, "a", "y", light)]
    swapped = [replace(rows[0], target=light.lab), replace(rows[1], target=dark.lab)]
    order = order_of(scheme(swapped, [edge(1, 2)]), {1: dark, 2: light})
    assert edge_of(order, 1, 2).first == 2


def test_the_makers_word_turns_an_edge_round_and_is_the_reason() -> None:
    colours = {1: shelf()["cream"], 2: shelf()["brown"]}
    rows = [area(1, "a", "sky", colours[1]), area(2, "a", "tree", colours[2])]
    told = edge_of(order_of(scheme(rows, [edge(1, 2, first=2)]), colours), 1, 2)
    assert told.first == 2 and told.reversed_rule and "you asked" in told.why


def test_treatments_name_both_sides() -> None:
    """Cut with the first lapped under; no lap where the second would not hide it; lap between like colours; soft
    edges blend."""
    cream, yellow, brown, sage = (shelf()[n] for n in ("cream", "yellow", "brown", "sage"))
    like = replace(cream, id="C2", lab=(cream.lab[0] - 0.5, *cream.lab[1:]))
    colours = {1: cream, 2: brown, 3: like, 4: sage, 5: cream}
    rows = [area(i, "a", f"n{i}", m) for i, m in colours.items()]
    links = [edge(1, 2), edge(1, 3), edge(1, 4, soft=True), edge(1, 5), edge(2, 4, treat="lap")]
    order = order_of(scheme(rows, links), colours)
    treats = {e.areas: (e.treat, e.lap_mm > 0) for e in order.edges}
    assert treats == {
        (1, 2): ("cut", True),
        (1, 3): ("lap", True),
        (1, 4): ("blend", False),
        (1, 5): ("lap", False),
        (2, 4): ("lap", True),
    }
    assert "one mix" in edge_of(order, 1, 5).why
    rows = [area(1, "a", "hollow", brown, flags=["recess"]), area(2, "a", "rim", yellow)]
    thin = Method(coat_um=5.5)
    stop = edge_of(order_of(scheme(rows, [edge(1, 2)]), {1: brown, 2: yellow}, method=thin), 1, 2)
    assert (stop.treat, stop.lap_mm, stop.first) == ("cut", 0.0, 1) and "stop 1 hollow at the line" in stop.why


def test_no_lap_is_wider_than_half_of_what_covers_it() -> None:
    colours = {1: shelf()["cream"], 2: shelf()["brown"]}
    rows = [area(1, "a", "x", colours[1]), area(2, "a", "line", colours[2], narrow=0.8)]
    figure = scheme(rows, [edge(1, 2)])
    assert edge_of(order_of(figure, colours), 1, 2).lap_mm == 0.4
    assert edge_of(order_of(figure, colours, method=Method(lap_mm=0.2)), 1, 2).lap_mm == 0.2


def test_specks_are_dotted_only_when_small_every_way_and_enclosed() -> None:
    pupil, white = shelf()["black"], shelf()["white"]
    around = area(1, "a", "pupil", pupil)
    spot = area(2, "a", "glint", white, narrow=0.8, wide=1.0, within=1)
    cases = [(spot, 1), (replace(spot, extent_mm=9.0), 2), (replace(spot, enclosed_by=None), 2)]
    cases += [(replace(spot, wide_mm=4.0), 2), (replace(spot, wide_mm=4.0, flags=frozenset({"dot"})), 1)]
    for other, first in cases:
        told = edge_of(order_of(scheme([around, other], [edge(1, 2)]), {1: pupil, 2: white}), 1, 2)
        assert told.first == first and (told.treat == "dot") == (first == 1)


def test_brushes_fit_the_widths() -> None:
    """A flat is at most half the widest place, a round no thicker than the narrowest; sizes as sold."""
    broad = area(1, "a", "", shelf()["red"], narrow=2.4, wide=17.0)
    assert brush_for([broad], "colour", "brush") == "flat 8 mm for the broad areas, round 2 (2.2 mm) for edges"
    slim = area(2, "a", "", shelf()["red"], narrow=1.1, wide=2.2)
    assert brush_for([slim], "colour", "brush") == "round 3/0 (1 mm)"
    tiny = area(3, "a", "", shelf()["red"], narrow=0.2, wide=0.3)
    assert brush_for([tiny], "colour", "brush") == "round 5/0 (0.7 mm)"
    assert "cocktail stick" in brush_for([tiny], "dot", "brush")
    assert "airbrush" in brush_for([broad], "colour", "airbrush")
    assert list(ROUNDS_MM.values()) == sorted(ROUNDS_MM.values()) and list(FLATS_MM) == sorted(FLATS_MM)


def test_hold_and_mask() -> None:
    figure, colours = newt()
    order = order_of(figure, colours)
    head = next(p for p in order.passes if {w.part for w in p.work} == {"head"})
    assert head.hold == "head: by its stick (glue face: neck)"
    assert head.mask == ("head: keep the glue face bare (neck)",)
    lantern = next(p for p in order.passes if {w.part for w in p.work} == {"lantern"})
    assert lantern.hold == "lantern: by its stick" and lantern.mask == ()
    alone = order_of(scheme([area(1, "a", "egg", shelf()["red"])], []), {1: shelf()["red"]})
    assert alone.passes[0].hold == "a: by its stick"


def test_without_a_stick_a_piece_is_held_by_what_is_bare_and_broad_enough() -> None:
    """Never by a speck, by wet paint or by paint of an earlier pass, however large."""
    mix = shelf()
    colours = {1: mix["cream"], 2: mix["teal"], 3: mix["brown"], 4: mix["brown"]}
    rows = [
        area(1, "a", "belly", colours[1], cm2=40, wide=30),
        area(2, "a", "back", colours[2], cm2=20, wide=20),
        area(3, "a", "eye", colours[3], cm2=0.4, wide=7),
        area(4, "a", "boot", colours[4], cm2=6, wide=12),
    ]
    method = Method(primer="white", undercoat=False)
    figure = scheme(rows, [edge(1, 2)])
    passes = order_of(figure, colours, method=method, sticks=False).passes
    assert [p.areas for p in passes] == [(1,), (2,), (3, 4)]
    assert [p.hold for p in passes] == [
        "a: by 4 boot, not begun",
        "a: by 4 boot, not begun",
        "a: on a pin, or on putty under it",
    ]
    glued = scheme(rows, [edge(1, 2)], glue={"a": ("neck",)})
    assert order_of(glued, colours, method=method, sticks=False).passes[0].hold == "a: by its glue face (neck)"


def test_over_spray_is_masked_off_what_is_painted_and_what_is_to_be_lighter() -> None:
    """The dark recess is sprayed first: the lighter rim beside it would be darkened."""
    black, cream, mint = shelf()["black"], shelf()["cream"], shelf()["mint"]
    colours = {1: black, 2: cream, 3: mint}
    rows = [
        area(1, "a", "well", black, cm2=400, wide=30, flags=["recess"]),
        area(2, "a", "rim", cream, cm2=300, wide=20),
        area(3, "a", "foot", mint, cm2=300, wide=20),
    ]
    order = order_of(scheme(rows, [edge(1, 2), edge(2, 3)]), colours, method=Method(tool="airbrush"))
    first = order.passes[0]
    assert first.tool == "airbrush" and first.areas == (1,)
    assert any("2 rim" in line and "lighter and still to come" in line for line in first.mask)
    assert not any("3 foot" in line for line in first.mask)
    second = next(p for p in order.passes if 2 in p.areas)
    assert any("1 well" in line and "painted already" in line for line in second.mask)
    assert any("broad enough to spray" in line for line in first.why)
    assert any("sprayed" in n and "over-spray" in n for n in order.notes)
    assert order.primer.minutes < order_of(scheme(rows, [edge(1, 2), edge(2, 3)]), colours).primer.minutes


def test_minutes_of_one_area_by_hand() -> None:
    labour = Labour(line_10mm_min=0.2, edge_10mm_min=0.05, spray_per_cm2_min=0.02, per_dot_min=0.3)
    cover = cover_per_cm2(labour, 5.0) * 10
    by_hand = {
        ("colour", "brush", 3, 1): 2 * cover + 1.0 + 2 * 0.25,
        ("colour", "airbrush", 4, 1): 3 * 0.2 + 1,
        ("dot", "brush", 2, 0): 1.2,
        ("recut", "brush", 2, 0): 1.25,
    }
    for work, minutes in by_hand.items():
        assert work_minutes(AreaWork(*work, cm2=10.0, cut_mm=50.0, copies=2, brush_mm=5.0), labour) == pytest.approx(
            minutes
        )


@pytest.mark.parametrize(("brush_mm", "by_hand"), [(1.0, 0.8333), (2.0, 0.2083), (5.0, 0.0667), (10.0, 0.0333)])
def test_covering_goes_by_the_width_of_the_brush(brush_mm: float, by_hand: float) -> None:
    """100 mm2 / (60 s x half the width overlapping x width x min(25, 10 widths) mm/s x 40 % on the piece)."""
    assert cover_per_cm2(Labour(), brush_mm) == pytest.approx(by_hand, abs=5e-5)


def test_cutting_an_edge_goes_by_the_steering_law() -> None:
    """Accot and Zhai (CHI 1997), time = b L / W, with b = 0.15 s (from memory) and W of 0.3 mm for the coat that makes
    the line, 1 mm for those before it: 5.0 and 1.5 s for 10 mm; the rest of 0.12 and 0.04 min is reloading."""
    line, before = cut_minutes(Labour(), 10.0, 1), cut_minutes(Labour(), 10.0, 2) - cut_minutes(Labour(), 10.0, 1)
    for minutes, width_mm in ((line, 0.3), (before, 1.0)):
        steered = 0.15 * 10 / width_mm / 60
        assert steered < minutes < 2 * steered


def test_words() -> None:
    assert listed(["a, b", "c"]) == "a, b and c" and listed([]) == "" and listed(["a"]) == "a"
    assert listed("abcdef") == "a, b, c and 3 more"
    assert counted(1, "pass") == "1 pass" and counted(2, "pass") == "2 passes" and counted(2, "coat") == "2 coats"
    assert label(area(7, "a", "", shelf()["red"])) == "7"


def test_what_holds_cadmium_or_cobalt_is_brushed_however_broad() -> None:
    """PR108, PO20 and PB28 are a cadmium red, a cadmium orange and a cobalt blue (Colour Index); a pre-mix counts."""
    own = load_box(own=("titanium-white", "cadmium-red-light", "cobalt-blue", "yellow-ochre", "pyrrole-orange"))
    paints = {p.id: p for p in own.paints}
    letdown = Premix("pyrrole-orange", 1, "cadmium-red-light", 4)
    recipes = {"A": ("cadmium-red-light", None), "B": ("cobalt-blue", None), "C": ("yellow-ochre", None)}
    mixes = tuple(
        replace(
            shelf()["red"],
            id=id,
            recipe=(Ingredient(p, p, paints[p].ci, 1, pre),),
            K=paints[p].K,
            S=paints[p].S,
        )
        for id, (p, pre) in (recipes | {"D": ("pyrrole-orange", letdown)}).items()
    )
    rows = [area(k, f"part {k}", m.id, m, cm2=80, wide=30) for k, m in enumerate(mixes, start=1)]
    method = Method(tool="airbrush", undercoat=False)
    figure, of = scheme(rows, []), {k: k - 1 for k in range(1, 5)}
    order = paint_order(figure, mixes, of, own, OrderSettings(method, Labour(), 5))
    tools = {p.mix: p.tool for p in order.passes}
    assert tools == {"A": "brush", "B": "brush", "C": "airbrush", "D": "brush"}
    why = {p.mix: "\n".join(p.why) for p in order.passes}
    assert "brushed, not sprayed: holds cadmium" in why["A"] and "holds cadmium" in why["D"]
    assert "brushed, not sprayed: holds cobalt" in why["B"] and "not sprayed" not in why["C"]
    said = "\n".join(plan_cautions(Painted(figure, order, mixes, ()), own))
    assert "Paint with cadmium, cobalt" in said and "would spray" not in said
    alone = paint_order(scheme(rows[:1], []), mixes[:1], {1: 0}, own, OrderSettings(method, Labour(), 5))
    assert any(n.startswith("nothing is sprayed: what is broad enough") for n in alone.notes)


@pytest.mark.parametrize(
    ("treat", "said"),
    [
        ("lap", "2 dark runs over the edge of 1 light, no line is cut, as you asked"),
        ("blend", "2 dark is worked into 1 light while both are wet, as you asked"),
        ("dot", "2 dark is set on top of 1 light, as you asked"),
        ("cut", "so the darker cuts over it; 2 dark makes a clean line against 1 light, as you asked"),
    ],
)
def test_the_treatment_asked_for_is_the_one_its_reason_tells(treat: str, said: str) -> None:
    colours = {1: shelf()["cream"], 2: shelf()["brown"]}
    rows = [area(1, "a", "light", colours[1]), area(2, "a", "dark", colours[2])]
    order = order_of(scheme(rows, [edge(1, 2, treat=treat)]), colours)
    told = edge_of(order, 1, 2)
    assert told.treat == treat and said in told.why
    reasons = "\n".join((told.why, *(line for p in order.passes for line in p.why)))
    assert ("cut over" in reasons or "cuts over" in reasons or "makes the line" in reasons) == (treat == "cut")
    assert treat == "blend" or ("lighter than 2 dark" in reasons and "darker than 1 light" in reasons)


def test_one_mix_on_both_sides_of_a_line_asked_for() -> None:
    cream = shelf()["cream"]
    rows = [area(1, "a", "x", cream, cm2=9), area(2, "a", "y", cream, cm2=2)]
    told = order_of(scheme(rows, [edge(1, 2, treat="cut")]), {1: cream, 2: cream}).edges[0]
    assert told.treat == "cut" and told.why.endswith("2 y makes a clean line against 1 x, as you asked")


def test_a_speck_whose_edge_the_maker_wants_lapped_is_no_dot() -> None:
    pupil, white = shelf()["black"], shelf()["white"]
    rows = [area(1, "a", "pupil", pupil), area(2, "a", "glint", white, narrow=0.8, wide=1.0, within=1)]
    order = order_of(scheme(rows, [edge(1, 2, treat="lap")]), {1: pupil, 2: white})
    assert {p.kind for p in order.passes} == {"colour"} and edge_of(order, 1, 2).treat == "lap"
    assert "dotted" not in edge_of(order, 1, 2).why


def test_a_figure_is_varnished_by_hand_in_a_few_minutes() -> None:
    """Common practice: 100 cm2 with a flat take two to five minutes a coat."""
    assert 2 <= 100 * cover_per_cm2(Labour(), COATING_BRUSH_MM) <= 5


@pytest.mark.parametrize(
    ("wide", "extent", "brush"),
    [(1.4, 9.0, 1.2), (1.4, 4.0, 0.7), (3.6, 20.0, 3.2), (5.0, 30.0, 2.2)],
)
def test_a_stripe_is_drawn_in_strokes_of_its_own_width(wide: float, extent: float, brush: float) -> None:
    """Common practice: a thin band or brow is one stroke of a brush that wide; what is as broad as long, or broader
    than a round lays evenly (4 mm), takes one half as wide, which leaves room to steer along the rim."""
    one = replace(area(1, "body", "band", shelf()["red"], narrow=wide, wide=wide), extent_mm=extent)
    assert broad_mm(one) == brush
    assert f"({brush:g} mm)" in brush_for([one], "colour", "brush")
