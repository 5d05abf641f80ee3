"""Coats from film optics: what must hold for any film, and what painters know."""

from dataclasses import replace

import figures
import numpy as np
import pytest
from figures import area, box, edge, order_of, scheme, shelf
from hypothesis import given, settings
from hypothesis import strategies as st

from finishplan.basics.words import duration
from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson
from finishplan.colour.hiding import CLOSE, HIDDEN, UNEVEN, Films, dabs_to_hide, full_coats
from finishplan.colour.light import delta_e, lab
from finishplan.job.settings import Labour, Method
from finishplan.order.coats import coat_mm, films
from finishplan.order.primer import TONES, smooth_reflectance, tones

NAMES = sorted(shelf())
VERY_THIN_UM = 5.5
"""So thin a coat that most colours take several: for what only several coats bring about."""
PAINTS = box().table.paints


def everything() -> Films:
    """Every paint of the shipped table and every test mix."""
    K = np.stack([p.K for p in PAINTS] + [shelf()[n].K for n in NAMES])
    S = np.stack([p.S for p in PAINTS] + [shelf()[n].S for n in NAMES])
    return Films(K, S, opaque(K, S), box().table.k1, box().table.k2)


def greys(*reflectances: float) -> np.ndarray:
    """(G, 31) internal reflectances of even greys seen as `reflectances`."""
    even = np.repeat(np.array(reflectances)[:, None], 31, axis=1)
    return inverse_saunderson(even, box().table.k1, box().table.k2)


def one(name: str) -> Films:
    return films([shelf()[name]], box(), "satin")


def coats(name: str, ground: str, um: float = 20.0) -> int:
    """Brush coats of a mix over a primer of TONES or over another mix's dry colour."""
    below = greys(TONES[ground]) if ground in TONES else one(ground).opaque
    return int(one(name).coats(below, um / 1000)[0, 0])


def test_more_coats_never_show_the_ground_more() -> None:
    """In reflectance at every wavelength, exactly; in CIEDE2000 within 0.05, as a hue may swing on its way."""
    f = everything()
    grounds = greys(0.045, 0.1, 0.2, 0.35, 0.55, 0.7, 0.85)
    thickness = 0.02 * np.arange(13)[None, None, :, None]
    r = film(f.K[:, None, None], f.S[:, None, None], thickness, grounds[None, :, None])
    off = np.abs(r - f.opaque[:, None, None])
    assert np.all(np.diff(off, axis=2) <= 1e-12)
    assert np.diff(f.curves(grounds, 0.02), axis=-1).max() < 0.05


def every_patch(f: Films, grounds: np.ndarray) -> np.ndarray:
    """(M, G, 31) what thin and thick places of 0 to 30 brush coats differ by."""
    m, g, n = (x.ravel() for x in np.indices((len(f.K), len(grounds), 31)))
    return f.patches(m, grounds[g], n, 0.02).reshape(len(f.K), len(grounds), 31)


def test_the_coats_told_hide_and_one_fewer_does_not() -> None:
    """Every count of coats beyond it hides too: a swing of the hue on the way never brings the ground back."""
    f = everything()
    grounds = np.concatenate([greys(*TONES.values()), f.opaque])
    curves, count = f.curves(grounds, 0.02), f.coats(grounds, 0.02)
    patches = every_patch(f, grounds)
    hidden = (curves <= HIDDEN) | ((curves <= CLOSE) & (patches <= HIDDEN))
    for m, g in np.ndindex(count.shape):
        n = min(int(count[m, g]), 31)
        assert hidden[m, g, n:].all() and not hidden[m, g, 1:n].any()
    full = full_coats(curves)
    assert np.all(full >= count)
    assert np.all(np.take_along_axis(curves, np.minimum(full, 30)[..., None], -1)[full <= 30] <= HIDDEN)


def test_patches_are_what_thin_and_thick_places_differ_by() -> None:
    """Four brush coats of teal over white, 80 um on the whole, by hand: each varies by a quarter, so four vary by half
    a coat, as independent errors add in squares."""
    assert UNEVEN == 0.25
    teal = shelf()["teal"]
    thin, thick = (lab(saunderson(film(teal.K, teal.S, mm, greys(0.85)[0]), 0.03, 0.65)) for mm in (0.07, 0.09))
    assert every_patch(one("teal"), greys(0.85))[0, 0, 4] == pytest.approx(float(delta_e(thin, thick)))


def test_a_ground_near_in_colour_lies_even_at_once_and_a_far_one_does_not() -> None:
    """White over light grey: one coat looks even, though one more does not make it opaque. Over black it does not."""
    white = one("white")
    off, patch = white.curves(greys(0.70, 0.045), 0.02)[0], every_patch(white, greys(0.70, 0.045))[0]
    assert patch[0, 1] < HIDDEN < off[0, 2] < CLOSE
    assert patch[1, 2] > HIDDEN and coats("white", "black") > 2 > coats("white", "white")


def test_a_curve_is_the_difference_from_the_own_opaque_film() -> None:
    """One entry by hand: two coats of teal over white."""
    teal, ground = shelf()["teal"], greys(0.85)[0]
    seen = lab(saunderson(film(teal.K, teal.S, 0.04, ground), 0.03, 0.65))
    own = lab(saunderson(opaque(teal.K, teal.S), 0.03, 0.65))
    assert one("teal").curves(ground[None], 0.02)[0, 0, 2] == pytest.approx(float(delta_e(seen, own)))


@settings(max_examples=200, deadline=None)
@given(
    mix=st.integers(0, len(PAINTS) + len(NAMES) - 1),
    darker=st.floats(0.04, 0.9),
    lighter=st.floats(0.04, 0.9),
    um=st.sampled_from([10.0, 20.0, 30.0]),
)
def test_a_darker_ground_never_needs_fewer_coats_of_a_lighter_mix(
    mix: int, darker: float, lighter: float, um: float
) -> None:
    darker, lighter = sorted((darker, lighter))
    f = everything()
    f = Films(f.K[[mix]], f.S[[mix]], f.opaque[[mix]], f.k1, f.k2)
    if f.seen(f.opaque)[0, 0] <= lab(np.full(31, lighter))[0]:
        return
    n = f.coats(greys(darker, lighter), um / 1000)[0]
    assert n[0] >= n[1]


def test_coats_half_as_thick_take_up_to_twice_as_many() -> None:
    """Up to: more and thinner coats lie more even, so that less paint in all may do (common practice: thin coats)."""
    f = everything()
    grounds = greys(*TONES.values())
    thin, thick = (f.coats(grounds, mm, 60) for mm in (0.0025, 0.005))
    known = thick <= 28
    assert np.all(thin[known] <= 2 * thick[known] + 1)
    assert np.all(thin[known] + 1 >= 1.5 * thick[known])


def test_dabs_stop_sooner_than_coats() -> None:
    grounds = greys(*TONES.values())
    assert np.all(dabs_to_hide(everything().curves(grounds, 0.06)) <= everything().coats(grounds, 0.06))


def test_common_practice_two_thin_coats_of_a_mid_tone_over_white() -> None:
    """Common practice: two thin coats of most colours over white. Optics ask no more of any mid-tone that is cut with
    white, even of a coat of 15 um, and of nearly all test mixes; nobody lays fewer than two over an area."""
    mids = [n for n in NAMES if 45 < shelf()[n].lab[0] < 80 and shelf()[n].recipe[0].paint == "titanium-white"]
    assert len(mids) >= 5
    assert {coats(n, "white", um=15.0) for n in mids} <= {1, 2}
    assert sum(coats(n, "white") <= 2 for n in NAMES) >= 0.9 * len(NAMES)


def test_common_practice_white_over_black_needs_three_or_more() -> None:
    assert coats("white", "black") >= 3
    assert coats("white", "white") == 1


@pytest.mark.parametrize(
    ("id", "white", "black"),
    [
        ("titanium-white", (1, 2), (3, 5)),
        ("yellow-ochre", (2, 3), (2, 4)),
        ("arylide-yellow", (1, 3), (6, 31)),
        ("diarylide-yellow", (1, 3), (6, 31)),
        ("pyrrole-orange", (1, 3), (4, 31)),
        ("pyrrole-red", (1, 3), (3, 31)),
        ("iron-oxide-red", (1, 2), (1, 2)),
        ("chromium-oxide-green", (1, 2), (1, 2)),
        ("burnt-umber", (1, 3), (1, 2)),
        ("bone-black", (1, 2), (1, 1)),
    ],
)
def test_common_practice_coats_of_ten_pigments(id: str, white: tuple[int, int], black: tuple[int, int]) -> None:
    """Least and most thin coats of the neat paint over white and over black (common practice): oxides and blacks hide
    in one or two, white over black takes three or more, a clear yellow over black is hopeless, orange and red there
    take far more than over white."""
    paint = next(p for p in PAINTS if p.id == id)
    own = Films(paint.K[None], paint.S[None], opaque(paint.K, paint.S)[None], box().table.k1, box().table.k2)
    for n, (least, most) in zip(own.coats(greys(0.85, 0.045), 0.02)[0], (white, black), strict=True):
        assert least <= n <= most


@pytest.mark.parametrize("id", ["arylide-yellow", "diarylide-yellow"])
def test_common_practice_yellow_over_black_gets_an_undercoat(id: str) -> None:
    """Hopeless alone: more than the five coats allowed; the undercoat brings both together well below that figure."""
    mix = figures.mix("Y", "clear yellow", {id: 1})
    assert int(films([mix], box(), "satin").coats(greys(TONES["black"]), 0.02)[0, 0]) > 5
    figure = scheme([area(1, "a", "flag", mix)], [])
    for_free = order_of(figure, {1: mix}, method=Method(primer="black", undercoat=False))
    order = order_of(figure, {1: mix}, method=Method(primer="black"))
    [told] = order.coats
    assert told.undercoat == "U1" and order.extra_mixes[0].name == "white undercoat"
    assert [p.kind for p in order.passes] == ["undercoat", "colour"]
    assert told.saves == for_free.coats[0].coats - told.coats - told.undercoat_coats >= 2
    assert order.primer.minutes < for_free.primer.minutes


def test_an_undercoat_is_made_of_a_mix_already_open_where_one_serves() -> None:
    yellow, white = figures.mix("Y", "clear yellow", {"arylide-yellow": 1}), shelf()["white"]
    figure = scheme([area(1, "a", "flag", yellow), area(2, "a", "cloud", white)], [])
    order = order_of(figure, {1: yellow, 2: white}, method=Method(primer="black"))
    mine = {c.area: c for c in order.coats}
    assert mine[1].undercoat == white.id and order.extra_mixes == ()
    assert len(order.passes) == 2 and set(order.passes[0].areas) == {1, 2}


def test_details_go_without_an_undercoat() -> None:
    """Common practice: a strange colour under an eye shows at its rim; only what is hopeless alone gets one."""
    tan, plum = shelf()["tan"], shelf()["plum"]
    rows = [area(1, "a", "eye", tan, cm2=0.4), area(2, "a", "rest", plum, cm2=9)]
    white = Method(primer="white", coat_um=VERY_THIN_UM)
    order = order_of(scheme(rows, [edge(1, 2)]), {1: tan, 2: plum}, castings=200, method=white)
    assert order.coats[0].coats == 5 and order.coats[0].undercoat is None


@pytest.mark.parametrize(("castings", "cm2", "worth"), [(1, 1.2, False), (200, 20.0, True)])
def test_an_undercoat_that_costs_more_minutes_than_it_spares_is_told_but_not_laid(
    castings: int, cm2: float, worth: bool
) -> None:
    """Very thin coats: plum under tan spares two of five, but plum is darker and must be opened twice for it: not worth
    a wash of the brush for one small patch, worth it on two hundred large ones."""
    tan, plum = shelf()["tan"], shelf()["plum"]
    rows = [area(1, "a", "patch", tan, cm2=cm2), area(2, "a", "rest", plum, cm2=9)]
    link = [edge(1, 2)]
    white = Method(primer="white", coat_um=VERY_THIN_UM)
    slow = Labour(turn_min=4.0)
    order = order_of(scheme(rows, link), {1: tan, 2: plum}, castings=castings, method=white, labour=slow)
    white = replace(white, undercoat=False)
    bare = order_of(scheme(rows, link), {1: tan, 2: plum}, castings=castings, method=white, labour=slow)
    assert (order.coats[0].undercoat == plum.id) == worth
    assert order.coats[0].coats + order.coats[0].undercoat_coats == (3 if worth else 5) and bare.coats[0].coats == 5
    assert any("1 patch would spare 2 coats" in n and "not laid" in n for n in order.notes) == (not worth)
    assert len(order.passes) == (3 if worth else 2)
    assert (order.primer.minutes < bare.primer.minutes) == worth and order.primer.minutes <= bare.primer.minutes


def test_common_practice_a_dark_cuts_over_a_light_in_fewer_coats_than_a_light_over_a_dark() -> None:
    """Common practice, for opaque darks and clear lights. It is no law: a glazing blue, or a light full of white, is
    the other way round."""
    for dark in ("brown", "black", "plum"):
        for light in ("white", "cream", "lamp yellow", "yellow", "orange"):
            assert coats(dark, light) <= coats(light, dark)


def test_primer_by_painters_minutes() -> None:
    """A figure all in dark brown is cheapest over black, one in mint over white or grey, and the figures are told."""
    for name, best in (("brown", {"black"}), ("mint", {"white", "light grey", "mid grey"})):
        figure, thin = scheme([area(1, "a", "all", shelf()[name], cm2=30)], []), Method(coat_um=VERY_THIN_UM)
        order = order_of(figure, {1: shelf()[name]}, method=thin)
        assert order.primer.name in best
        weighed = dict(order.primers)
        assert set(weighed) == set(TONES)
        fewer = weighed[order.primer.runner_up] - weighed[order.primer.name]
        said = f"{duration(fewer, days=False)} less work over 30 castings than those on {order.primer.runner_up}"
        assert order.primer.why == f"{order.primer.name}: its coats take {said}"


def test_a_lighter_primer_goes_before_one_that_spares_next_to_nothing() -> None:
    """Brown wants a dark primer, cream and yellow a light one: where the dark one wins by a trifle, the light one is
    taken; where by more, it is not."""
    told = set()
    for dark in (82.0, 90.0, 120.0):
        names = {1: ("brown", dark), 2: ("cream", 12.0), 3: ("yellow", 12.0)}
        colours = {i: shelf()[name] for i, (name, _) in names.items()}
        rows = [area(i, "a", name, colours[i], cm2=cm2) for i, (name, cm2) in names.items()]
        thin = Method(undercoat=False, coat_um=VERY_THIN_UM)
        order = order_of(scheme(rows, [edge(1, 2), edge(2, 3)]), colours, method=thin)
        weighed, name = dict(order.primers), order.primer.name
        least = min(weighed, key=lambda n: weighed[n])
        told.add(name == least)
        if name != least:
            assert TONES[name] > TONES[least] and weighed[name] <= 1.05 * weighed[least]
            dearer = f"its coats take {duration(weighed[name] - weighed[least], days=False)} ("
            assert dearer in order.primer.why and f"than those on {least}; taken as the lighter" in order.primer.why
    assert told == {True, False}


def test_mix_changes_count_as_the_run_will_have_them() -> None:
    """Five coats on one casting open their mix five times, for other mixes are laid while it dries; where a coat on
    all castings takes as long as it dries, the mix stays open."""
    mix = figures.mix("Y", "clear yellow", {"arylide-yellow": 1})
    figure = scheme([area(1, "a", "all", mix, cm2=30)], [])
    for castings, often in ((1, True), (200, False)):
        method = Method(primer="black", undercoat=False)
        one, other = (order_of(figure, {1: mix}, castings=castings, method=method, wait_min=w) for w in (0.0, 30.0))
        coats = one.coats[0].coats
        assert coats > 3 and (castings * one.passes[0].minutes < coats * 30) == often
        changes = (coats - 1) * Labour().turn_min if often else 0
        assert other.primer.minutes == pytest.approx(one.primer.minutes + changes)


def test_bare_casting_is_the_ground_where_no_primer_is_laid() -> None:
    mix = shelf()["mint"]
    figure = scheme([area(1, "a", "all", mix, cm2=30)], [])
    order = order_of(figure, {1: mix}, primer_coats=0)
    assert (order.primer.name, order.primer.coats, order.primer.runner_up) == ("bare casting", 0, "")
    assert "none: the bare casting is the ground" in order.primer.why
    assert "the bare casting" in order.coats[0].why and "the the" not in order.coats[0].why
    grey = order_of(figure, {1: mix}, primer_coats=0, method=Method(primer="#303030"))
    assert grey.primer.hex == "#303030" and grey.coats[0].coats >= order.coats[0].coats
    primed = order_of(figure, {1: mix}, method=Method(primer="#303030"))
    assert grey.coats[0].curve == primed.coats[0].curve


def test_own_primer_is_used_and_its_price_told() -> None:
    mix = shelf()["cream"]
    order = order_of(scheme([area(1, "a", "all", mix, cm2=30)], []), {1: mix}, method=Method(primer="#202020"))
    assert order.primer.name == "#202020" and order.primer.hex == "#202020"
    dearer = order.primer.minutes - order.primer.runner_up_minutes
    assert dearer > 0 and f"would take {duration(dearer, days=False)} less work over 30" in order.primer.why


@settings(max_examples=60, deadline=None)
@given(L=st.floats(15, 92), a=st.floats(-20, 20), b=st.floats(-20, 20))
def test_a_coloured_primer_has_the_colour_asked_for(L: float, a: float, b: float) -> None:
    R = smooth_reflectance((L, a, b))
    if R.min() > 0.01 and R.max() < 0.99:
        assert lab(R) == pytest.approx((L, a, b), abs=1e-6)


def test_the_primer_wished_for_comes_first() -> None:
    assert tones("Mid grey", box())[0].name == "mid grey"
    assert tones("auto", box())[0].reflectance == pytest.approx(0.85)


def test_only_the_edge_needs_one_more() -> None:
    """Pink over white takes two very thin coats; where it cuts over plum it is looked at on its own."""
    pink, teal = shelf()["pink"], shelf()["teal"]
    inside, line = (coats("pink", ground, VERY_THIN_UM) for ground in ("white", "plum"))
    assert line > inside
    colours = {1: shelf()["plum"], 2: pink, 3: teal}
    rows = [area(1, "a", "mouth", colours[1], flags=["recess"]), area(2, "a", "lips", pink), area(3, "a", "face", teal)]
    method = Method(primer="white", coat_um=VERY_THIN_UM)
    order = order_of(scheme(rows, [edge(1, 2), edge(2, 3)]), colours, method=method)
    told = next(c for c in order.coats if c.area == 2)
    assert told.edge_only and told.edge_coats == line - inside and told.coats == line
    assert len(told.curve) == inside + 1
    assert "only along the cut" in told.why
    lap = next(e for e in order.edges if e.areas == (1, 2))
    assert lap.lap_mm == Method().lap_mm and "along the cut edge only" in lap.why


def test_the_finish_moves_the_dried_colour_and_the_plan_says_how_far() -> None:
    mix = shelf()["black"]
    figure = scheme([area(1, "a", "all", mix)], [])
    for finish in ("matt", "satin", "gloss"):
        note = next(n for n in order_of(figure, {1: mix}, finish=finish).notes if "varnish" in n)
        assert finish in note and ("darker under gloss" in note or finish == "gloss")
    assert any("metallic and pearl" in n for n in order_of(figure, {1: mix}).notes)


def test_coat_thickness_by_tool_or_as_set() -> None:
    assert coat_mm(Method(), "brush") == 0.02 and coat_mm(Method(), "airbrush") == 0.01
    assert coat_mm(Method(coat_um=35.0), "brush") == 0.035 and coat_mm(Method(coat_um=35.0), "airbrush") == 0.01
    assert coat_mm(Method(spray_um=12.0), "airbrush") == 0.012
