"""Steps from the mould to the box: which, in what order, how long, and what the maker may change."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_schemes import area, box, dry, mix, mixes, one_pass, order, part, part_of, scheme

from finishplan.basics.errors import InputError
from finishplan.basics.text_files import shipped_toml
from finishplan.bench.holding import blown_over, piece_grams
from finishplan.bench.safety import caution, caution_texts, plan_cautions
from finishplan.bench.steps import finishing_steps
from finishplan.job.settings import Labour, Room, RunSettings, StepChange, StepSettings
from finishplan.order.minutes import COATING_BRUSH_MM, cover_per_cm2
from finishplan.order.model import AreaCoats, Care, Pass, PassWork
from finishplan.run.build import Painted
from finishplan.scheme.model import Scheme

BEFORE = ("demould", "vents", "seams", "wash", "dry-fit", "mask-glue", "hold", "prime", "inspect")
AFTER = ("touch-up", "off-sticks", "unmask", "glue", "join", "harden", "varnish", "cure", "pack")
ALL = [*BEFORE, "pass-1", "pass-2", "pass-3", "pass-4", *AFTER]


def steps(castings=1, changes=None, **more):
    own = StepSettings(changes or {}, **more.pop("own", {}))
    figure = Painted(scheme(), order(), (), more.pop("dry", dry()))
    return finishing_steps(figure, own, run=RunSettings(castings=castings, **more))


def by_key(castings=1, changes=None, **more):
    return {s.key: s for s in steps(castings, changes, **more)}


def test_the_whole_job_in_working_order():
    made = steps()
    assert [s.key for s in made] == ALL
    assert [s.no for s in made] == list(range(1, len(ALL) + 1))
    kinds = ["casting", "preparing", "priming", "painting", "assembling", "finishing"]
    ranks = [kinds.index(s.kind) for s in made]
    assert ranks == sorted(ranks)
    assert all(s.text and s.why and s.minutes >= 0 and s.wait_min >= 0 for s in made)
    assert not any("{" in s.text + s.why for s in made)


def test_one_piece_needs_no_fitting_and_no_glue():
    figure = scheme()
    bare = part("body", (1, 2, 3), 30.0, 95.0, 45.0)
    one = Scheme("Newt", 95.0, 0.1, (bare,), figure.areas[:3], figure.edges)
    keys = {s.key for s in finishing_steps(Painted(one, order(one_pass(1, "A", {1: 1})), (), dry()))}
    assert not keys & {"dry-fit", "mask-glue", "off-sticks", "unmask", "glue", "join"}
    assert {"demould", "prime", "pass-1", "varnish", "pack"} <= keys


def test_sticks_stand_in_glue_faces_which_are_not_masked_too():
    made = by_key()
    assert "where it will be glued (body: neck; head: neck); cover that face with tack" in made["hold"].text
    for key in ("mask-glue", "unmask"):
        assert ": palm (body)." in made[key].text and "neck" not in made[key].text
    figure = scheme()
    held = tuple(replace(p, glue_faces=p.glue_faces[:1]) for p in figure.parts)
    keys = {s.key for s in finishing_steps(Painted(replace(figure, parts=held), order(), (), dry()))}
    assert not keys & {"mask-glue", "unmask"} and "off-sticks" in keys


def test_sticks_and_masks_come_off_before_the_glue():
    made = steps()
    off = made[[s.key for s in made].index("off-sticks") + 1 :]
    assert [s.key for s in off[:2]] == ["unmask", "glue"]
    assert not any("stick" in s.text for s in off)
    assert "by its base or stand it on tack" in by_key()["varnish"].text


def test_a_figure_of_one_piece_stays_on_its_stick_until_it_is_packed():
    figure = scheme()
    body = part("body", (1, 2, 3), 30.0, 95.0, 45.0)
    one = Scheme("Newt", 95.0, 0.1, (body,), figure.areas[:3], figure.edges)
    made = {s.key: s for s in finishing_steps(Painted(one, order(one_pass(1, "A", {1: 1})), (), dry()))}
    assert "under its base." in made["hold"].text and "glue" not in made["hold"].text
    assert "glued" not in made["varnish"].text
    assert made["pack"].text.startswith("Take off the stick")


def test_masks_are_timed_copy_by_copy():
    """Two arms, each with a second glue face: two masks of 0.5 and of 0.3 min."""
    pair = (part("arm", (1,), 5.0, 30.0, 15.0, copies=2, glue_faces=("shoulder", "wrist")),)
    arms = Scheme("Newt", 95.0, 0.1, pair, scheme().areas[:1], ())
    made = {s.key: s for s in finishing_steps(Painted(arms, order(one_pass(1, "A", {1: 1})), (), dry()))}
    assert made["mask-glue"].minutes == pytest.approx(1.0) and made["unmask"].minutes == pytest.approx(0.6)


def test_two_copies_of_one_part_are_two_pieces():
    figure = scheme()
    pair = (part("arm", (1,), 5.0, 30.0, 15.0, copies=2),)
    arms = Scheme("Newt", 95.0, 0.1, pair, figure.areas[:1], ())
    made = {s.key: s for s in finishing_steps(Painted(arms, order(one_pass(1, "A", {1: 1})), (), dry()))}
    assert "2 × arm" in made["glue"].text


def test_no_primer_and_no_varnish_leave_their_steps_out():
    bare = [s.key for s in steps(own={"primer_coats": 0, "varnish_coats": 0})]
    assert bare == [k for k in ALL if k not in ("prime", "inspect", "varnish", "cure")]
    twice = by_key(own={"primer_coats": 2})["prime"]
    assert "2 thin coats 19 min apart" in twice.text and twice.wait_min == pytest.approx(
        dry()[0].recoat_min + dry()[0].brushed_over_min
    )


def test_coats_that_only_the_line_needs_are_told_apart():
    """Boots: two coats over all and a third along the cut; scarf: two coats."""
    along = (AreaCoats(3, "A", 3, (9.0, 3.0, 0.4), edge_only=True, edge_coats=1),)
    laid = order(one_pass(1, "A", {2: 2, 3: 3}), one_pass(2, "A", {3: 3}), coats=along)
    made = {s.key: s for s in finishing_steps(Painted(scheme(), laid, (), dry()))}
    assert "; 2 thin coats, then 1 along the cut edge only (area 3), round 4." in made["pass-1"].text
    assert "; 2 thin coats, then 1 along the cut edge only, round 4." in made["pass-2"].text


def test_waits_come_from_the_drying_model():
    primer, paint, varnish = dry()
    made = by_key()
    assert made["prime"].wait_min == primer.brushed_over_min > 2 * primer.recoat_min
    assert made["pass-2"].wait_min == pytest.approx(2 * paint.recoat_min)
    assert made["harden"].wait_min == paint.cured_min
    assert made["varnish"].wait_min == pytest.approx(2 * varnish.recoat_min)
    assert made["cure"].wait_min == varnish.cured_min
    damp = by_key(dry=dry(room=Room(15, 80)))
    assert damp["pass-2"].wait_min > made["pass-2"].wait_min


def test_minutes_follow_surface_handling_and_the_washing_of_brushes():
    labour = Labour(handle_min=1.0, spray_per_cm2_min=0.05, turn_min=5.0)
    flat = cover_per_cm2(labour, COATING_BRUSH_MM)
    made = {
        s.key: s
        for s in finishing_steps(Painted(scheme(), order(), (), dry()), labour=labour, run=RunSettings(castings=3))
    }
    surface = sum(p.surface_cm2 for p in scheme().parts)
    assert made["prime"].minutes == pytest.approx(5 / 3 + 3 * 1.0 + 0.05 * surface)
    assert made["varnish"].minutes == pytest.approx(6 / 3 + 2 * (3 * 1.0 + flat * surface))
    assert made["pass-2"].minutes == pytest.approx(5 / 3 + order().passes[1].minutes)


def test_a_pass_names_its_areas_once():
    grouped = order(one_pass(1, "A", {1: 1, 2: 1, 3: 1}))
    same = tuple(replace(a, name="mustard") if a.id in (1, 3) else a for a in scheme().areas)
    made = {s.key: s for s in finishing_steps(Painted(replace(scheme(), areas=same), grouped, mixes(), dry()))}
    assert "mix A (mix A) on 1 and 3 mustard, 2 scarf; one thin coat, round 4." in made["pass-1"].text


@pytest.mark.parametrize("key", ALL)
def test_every_step_can_be_skipped_renamed_and_timed(key):
    plain = by_key()
    skipped = steps(changes={key: StepChange(skip=True)})
    assert [s.key for s in skipped] == [k for k in ALL if k != key]
    assert [s.no for s in skipped] == list(range(1, len(ALL)))
    changed = by_key(changes={key: StepChange(text="Mine {pieces}", minutes=7.5, wait_min=0)})
    assert (changed[key].text, changed[key].minutes, changed[key].wait_min) == ("Mine {pieces}", 7.5, 0)
    assert {k: s for k, s in changed.items() if k != key} == {k: s for k, s in plain.items() if k != key}


@pytest.mark.parametrize("change", [{"varnsh": StepChange()}, {"pass-9": StepChange(skip=True)}])
def test_a_step_that_does_not_exist_names_the_nearest(change):
    with pytest.raises(InputError, match=r"did you mean 'varnish'|use one of: pass-1, pass-2, pass-3, pass-4$"):
        steps(changes=change)


@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf])
def test_impossible_minutes_are_refused(value):
    with pytest.raises(InputError, match="is no time"):
        steps(changes={"wash": StepChange(minutes=value)})


def test_one_two_and_thirty_castings_differ_as_a_maker_expects():
    one, two, thirty = (by_key(n, per_shot=2, cadence_min=45, first_ready_min=60) for n in (1, 2, 30))
    assert one["pass-2"].text == two["pass-2"].text == thirty["pass-2"].text, "the run sheet says which casting when"
    assert "15 pulls" in thirty["demould"].text and "11 h 30 min" in thirty["demould"].text
    assert "in one go" not in thirty["prime"].text and "All 30 castings in one go" in by_key(30)["prime"].text
    assert "Number the sticks 1 and 2." in two["hold"].text
    assert "Number the sticks 1 to 30" in thirty["hold"].text and "Number" not in one["hold"].text
    totals = [sum(s.minutes for s in made.values()) for made in (one, two, thirty)]
    assert totals[0] > totals[1] > totals[2]
    assert [s.wait_min for s in one.values()] == [s.wait_min for s in thirty.values()]


@pytest.mark.parametrize(
    "more, at_once",
    [
        ({}, True),
        ({"rack": 12}, True),
        ({"rack": 11}, False),
        ({"session_min": 180.0}, True),
        ({"session_min": 10.0}, False),
    ],
)
def test_priming_in_one_go_is_told_where_rack_and_session_allow_it(more, at_once):
    said = by_key(12, **more)["prime"].text
    assert ("All 12 castings in one go." in said) == at_once
    assert ("As many at a time as the run sheet says." in said) != at_once


def test_a_long_list_of_areas_is_cut_short():
    many = tuple(area(id, "body", "moss", 1.0) for id in range(1, 41))
    mossy = Scheme("Newt", 95.0, 0.1, (part("body", tuple(range(1, 41)), 30.0, 95.0, 45.0),), many, ())
    dots = Pass(1, "dot", "A", tuple(PassWork(a.id, "body", 1, 0.1) for a in many), 1, "round 0", "brush", 4.0)
    text = {s.key: s for s in finishing_steps(Painted(mossy, order(dots), (), dry()))}["pass-1"].text
    assert "on 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 28 more, moss;" in text


def test_a_pass_names_second_mixes_undercoats_and_masks():
    wet = replace(
        one_pass(1, "U1", {1: 1}, kind="undercoat"), also_open=("C",), masks=(Care("", "mask the glue faces"),)
    )
    made_from = order(wet, extra_mixes=(mix("U1", part_of("red", 1)),))
    made = {s.key: s for s in finishing_steps(Painted(scheme(), made_from, mixes(), dry()))}
    assert "undercoat: mix U1 (mix U1) with mix C (mix C) on 1 coat" in made["pass-1"].text
    assert made["pass-1"].text.endswith(" Mask the glue faces.")
    assert "cadmium (red)" in cautions_of(mixes=(), order=made_from)


def test_mass_of_a_ball():
    """A ball of 3 cm: 4/3 pi r^3 = 14.14 cm3, 15.6 g at 1.1 g/cm3."""
    ball = part("ball", (1,), math.pi * 1.5**2, 30.0, 30.0)
    assert piece_grams(ball, 1.1) == pytest.approx(1.1 * 4 / 3 * math.pi * 1.5**3)


def test_light_pieces_are_tacked_down_for_a_spray_only():
    """Common practice: a fingertip-sized piece blows away, a figure's body stands."""
    small, large = part("glint", (1,), 0.5, 8.0, 8.0), part("body", (2,), 30.0, 95.0, 45.0)
    assert blown_over(small, 8.0) and not blown_over(large, 8.0)
    assert not blown_over(small, 1.0)
    assert "tack down: lantern." in by_key()["hold"].text
    assert "blown" not in by_key(dry=dry(primer="brush-primer"))["hold"].text


@settings(max_examples=50)
@given(st.floats(2, 100), st.floats(2, 100), st.floats(0.5, 15), st.floats(1.0, 3))
def test_a_stronger_spray_never_spares_a_piece(height, width, speed, more):
    piece = part("piece", (1,), height * width / 130, height, width)
    assert blown_over(piece, speed * more) or not blown_over(piece, speed)
    assert blown_over(piece, speed, 0.5) or not blown_over(piece, speed, 1.1)


def test_sprayed_steps_carry_their_cautions():
    texts = {key: row.get("short") for key, row in caution_texts().items()}
    made = by_key()
    assert texts["aerosol"] in made["prime"].cautions and texts["spraying"] in made["prime"].cautions
    assert texts["isocyanate"] in made["demould"].cautions
    brushed = by_key(dry=dry(primer="brush-primer"))
    assert texts["spraying"] not in brushed["prime"].cautions
    solvent = by_key(dry=dry(varnish="varnish-solvent"))
    assert texts["solvent"] in solvent["varnish"].cautions


def told(key, *names, **kinds):
    """Whether a step carries all the named cautions."""
    cautions = by_key(dry=dry(**kinds))[key].cautions
    return all(caution(name) in cautions for name in names)


def test_each_step_that_can_hurt_carries_its_cautions():
    """Blades and dust where something is scraped, eyes where it is cut, air where it gives off vapour (common
    practice); priming a spot again is priming."""
    assert told("vents", "blades", "eyes")
    assert told("inspect", "blades", "dust", "air", "spraying", "aerosol", primer="aerosol-primer")
    assert told("off-sticks", "blades", "dust")
    assert told("glue", "air", "glue")
    assert told("varnish", "air", "solvent", "skin", varnish="varnish-solvent")
    assert "gloves" in caution("skin").lower() and "rags" in caution("solvent")
    assert told("varnish", "air", "aerosol", "skin", varnish="varnish-aerosol")
    assert not told("varnish", "solvent", varnish="varnish-water")


def test_every_step_and_caution_of_the_data_files_is_whole():
    for key, row in shipped_toml("bench/data/steps.toml").items():
        assert all(caution(c).endswith(".") for c in row.get("cautions", ())), key
    assert all(row["text"].endswith(".") for row in caution_texts().values())


def cautions_of(**more):
    used = more.pop("mixes", mixes())
    figure = Painted(more.pop("scheme", scheme()), more.pop("order", order()), used, more.pop("dry", dry()))
    return "\n".join(plan_cautions(figure, box(), **more))


def test_every_plan_defers_to_data_sheet_rules_and_laboratory():
    said = cautions_of(dry=dry("brush-primer"), mixes=(), resin=False)
    for words in ("data sheet", "local rules", "window open", "respirator", "gloves", "EN 71-3", "licensed laboratory"):
        assert words in said.replace("Wear gloves", "gloves")
    assert "Aerosol" not in said and "isocyanates" not in said and "Hair dryer" not in said


def test_cautions_follow_what_the_plan_uses():
    said = cautions_of(room=Room(dryer=True))
    for words in ("isocyanates", "Pressure and vacuum pots", "Aerosol cans", "Hair dryer", "Spraying", "Instant glue"):
        assert words in said
    assert "Paint with cadmium (red): do not spray it, sand it" in said
    assert "cadmium" not in cautions_of(mixes=(mix("D", part_of("blue", 1)),))
    sprayed = order(one_pass(1, "D", {1: 2}, tool="airbrush"))
    assert "Spraying" in cautions_of(order=sprayed, dry=dry("brush-primer"))


def test_a_sprayed_pass_of_a_metal_paint_is_refused_by_name():
    """Mixes A and C hold the cadmium red, D does not."""
    spray = [one_pass(no, id, {no: 1}, tool="airbrush") for no, id in ((1, "A"), (2, "D"), (3, "C"))]
    said = cautions_of(order=order(*spray, one_pass(4, "A", {4: 1})))
    assert "Passes that would spray paint with cadmium: 1, 3. Do not" in said
    assert "would spray" not in cautions_of()


def test_a_ball_slides_before_it_tips():
    """By hand, a ball of 3 cm (15.6 g, outline 7.07 cm2) in air of 1.2 kg/m3, drag 1.1, friction 0.4: it slides where
    1/2 rho c v2 S passes 0.4 m g = 0.061 N, at 11.5 m/s."""
    ball = part("ball", (1,), math.pi * 1.5**2, 30.0, 30.0)
    assert blown_over(ball, 11.6, 1.1) and not blown_over(ball, 11.4, 1.1)
