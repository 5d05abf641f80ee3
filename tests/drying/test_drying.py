"""Drying against steam tables, PsychroLib, the ASHRAE pool formula, small steps of the heat balance, and the trade."""

import csv
from dataclasses import replace
from pathlib import Path

import psychrolib
import pytest
import scipy.constants
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import odeint
from scipy.optimize import brentq

from finishplan.basics.errors import InputError
from finishplan.drying import moist_air
from finishplan.drying.kinds import paint_kind, paint_kinds
from finishplan.drying.times import dry_times, evaporation_s, heat_kw_m2, room_warnings
from finishplan.job.settings import OwnTiming, Room

KINDS = sorted(paint_kinds())
WATERBORNE = [k for k in KINDS if paint_kind(k).medium == "water"]
SOLVENT = [k for k in KINDS if paint_kind(k).medium == "solvent"]
REFERENCE = Path(__file__).parents[1] / "reference" / "saturation-pressure.csv"
STAGES = ("touch_dry_min", "recoat_min", "handling_min", "cured_min", "dryer_hand_min")

rooms = st.builds(Room, st.floats(5, 40), st.floats(5, 92), st.floats(0.0, 3.0), st.just(True))


def settled_film_c(room, air_c, air_m_s):
    """Temperature, C, at which evaporation takes what air (at air_c) and walls (at the room's temperature) give."""

    def surplus(film_c):
        warmed, taken = heat_kw_m2(film_c, room, air_c, air_m_s)
        return warmed - taken

    return brentq(surplus, -40.0, max(air_c, room.temperature_c) + 1.0)


def steam_table():
    lines = [line for line in REFERENCE.read_text().splitlines() if not line.startswith("#")]
    return [(float(row["temperature_c"]), float(row["pressure_kpa"])) for row in csv.DictReader(lines)]


@pytest.mark.parametrize(("temperature_c", "pressure_kpa"), steam_table())
def test_saturation_pressure_is_the_steam_tables(temperature_c, pressure_kpa):
    assert moist_air.saturation_kpa(temperature_c) == pytest.approx(pressure_kpa, abs=0.0005)


@pytest.mark.parametrize("temperature_c", [1, 10, 21, 37, 55])
def test_saturation_pressure_is_psychrolibs(temperature_c):
    psychrolib.SetUnitSystem(psychrolib.SI)
    assert moist_air.saturation_kpa(temperature_c) == pytest.approx(
        psychrolib.GetSatVapPres(temperature_c) / 1000, rel=1e-6
    )


def test_radiation_is_the_slope_of_the_fourth_power_law():
    """Stefan-Boltzmann (constant as scipy carries CODATA): between 290 and 291 K the difference of e sigma T^4."""
    law = 0.9 * scipy.constants.Stefan_Boltzmann * (291.0**4 - 290.0**4) / 1000
    assert moist_air.radiation_kw_m2_k(290.5 - 273.15) == pytest.approx(law, rel=1e-5)


def test_latent_heat_is_the_steam_tables():
    """Steam tables: 2453.5 kJ/kg at 20 C, 2429.8 at 30 C; the linear form is good to a tenth of a percent."""
    assert moist_air.latent_kj_per_kg(20) == pytest.approx(2453.5, rel=1e-3)
    assert moist_air.latent_kj_per_kg(30) == pytest.approx(2429.8, rel=1e-3)


def test_evaporation_is_ashraes_pool_rate():
    """ASHRAE HVAC Applications, natatoriums, prints for 0.1 m/s: w = 4e-5 (p_w - p_a) kg/(s m2), kPa (from memory)."""
    assert moist_air.heat_per_kpa(0.1) / moist_air.latent_kj_per_kg(28) == pytest.approx(4e-5, abs=0.5e-5)


@pytest.mark.parametrize(("temperature_c", "humidity_pct"), [(10, 30), (15, 50), (20, 50), (23, 80), (30, 40)])
def test_without_radiation_the_film_settles_at_psychrolibs_wet_bulb(temperature_c, humidity_pct, monkeypatch):
    psychrolib.SetUnitSystem(psychrolib.SI)
    monkeypatch.setattr(moist_air, "EMISSIVITY", 0.0)
    film = settled_film_c(Room(temperature_c, humidity_pct), temperature_c, 0.1)
    wet_bulb = psychrolib.GetTWetBulbFromRelHum(temperature_c, humidity_pct / 100, 101325)
    assert film == pytest.approx(wet_bulb, abs=0.15)


@given(rooms)
def test_the_film_settles_between_wet_bulb_and_room(room):
    psychrolib.SetUnitSystem(psychrolib.SI)
    wet_bulb = psychrolib.GetTWetBulbFromRelHum(room.temperature_c, room.humidity_pct / 100, 101325)
    film = settled_film_c(room, room.temperature_c, room.air_speed_m_s)
    assert wet_bulb - 0.3 < film < room.temperature_c


@pytest.mark.parametrize(
    ("room", "air_c", "air_m_s"),
    [
        (Room(21, 50), 21, 0.1),
        (Room(12, 80), 12, 0.1),
        (Room(30, 20), 30, 0.5),
        (Room(21, 50), 55, 5.0),
        (Room(10, 90), 55, 5.0),
    ],
)
@pytest.mark.parametrize("grams", [10, 30, 90])
def test_evaporation_agrees_with_small_steps_of_the_heat_balance(room, air_c, air_m_s, grams):
    """Euler's method, a twentieth of a second a step, from the pool formula and the two heat flows."""
    vapour = room.humidity_pct / 100 * moist_air.saturation_kpa(room.temperature_c)
    convection = moist_air.convection_kw_m2_k(room.temperature_c, air_m_s)
    radiation = moist_air.radiation_kw_m2_k(room.temperature_c)
    film, lost, steps, dt = float(room.temperature_c), 0.0, 0, 0.05
    while lost < grams / 1000:
        taken = (moist_air.saturation_kpa(film) - vapour) * moist_air.heat_per_kpa(air_m_s)
        lost += dt * taken / moist_air.latent_kj_per_kg(room.temperature_c)
        warmed = convection * (air_c - film) + radiation * (room.temperature_c - film)
        film += dt * (warmed - taken) / (1100 * 1.5 * 0.0025)
        steps += 1
    seconds = evaporation_s(grams / 1000, room, air_c, air_m_s)
    assert seconds == pytest.approx(steps * dt, rel=0.002, abs=0.1)


@given(rooms, st.sampled_from((0.0, 35.0)), st.floats(-3.5, 0.5))
@settings(max_examples=60, deadline=None)
def test_evaporation_agrees_with_scipys_odeint(room, warmer, log_kg):
    """SciPy's LSODA on the same heat balance, over the water lost."""
    latent, air_c = moist_air.latent_kj_per_kg(room.temperature_c), room.temperature_c + warmer

    def per_kg(state, _):
        warmed, taken = heat_kw_m2(state[0], room, air_c, 1.0)
        return (warmed - taken) / (1100 * 1.5 * 0.0025) * latent / taken, latent / taken

    kg = 10**log_kg
    path = odeint(per_kg, (room.temperature_c, 0.0), (0.0, kg), rtol=1e-10, atol=1e-10)
    assert evaporation_s(kg, room, air_c, 1.0) == pytest.approx(path[-1, 1], rel=1e-4)


@pytest.mark.parametrize("temperature_c", [20.0, 21.5, 23.0])
def test_a_thin_coat_is_touch_dry_in_ten_to_twenty_minutes(temperature_c):
    """Common practice at 50 %; a minute or two with the hair dryer."""
    times = dry_times("acrylic", 20, Room(temperature_c, 50), dryer=True)
    assert 10 <= times.touch_dry_min <= 20
    assert 1 <= times.dryer_hand_min <= 2
    assert times.recoat_min == pytest.approx(1.5 * times.touch_dry_min)
    cooling = times.dryer_rest_min - 0.5 * times.dryer_hand_min
    assert 0.7 <= cooling <= 2, "a minute or two until the casting is no longer warm to the hand"


def test_an_airbrush_coat_dries_in_minutes_and_a_millimetre_in_a_day():
    """Common practice: 5-10 minutes; thick acrylic about a day for each millimetre."""
    assert 4 <= dry_times("airbrush", None, Room(21, 50)).touch_dry_min <= 12
    assert 20 <= dry_times("acrylic", 1000, Room(21, 50)).touch_dry_min / 60 <= 48


@pytest.mark.parametrize("kind", KINDS)
def test_stages_follow_each_other(kind):
    times = dry_times(kind, None, Room(), dryer=True)
    assert 0 < times.touch_dry_min < times.recoat_min <= times.handling_min <= times.cured_min
    assert (times.dryer_hand_min is None) == (kind in SOLVENT)
    assert times.wet_um * paint_kind(kind).volume_solids == pytest.approx(times.dry_um)
    assert len(paint_kind(kind).source) > 10


def _no_slower(quick, slow):
    for stage in STAGES:
        a, b = getattr(quick, stage), getattr(slow, stage)
        assert b is None or a <= b * (1 + 1e-6), stage


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(KINDS), rooms, st.floats(3, 100), st.floats(0.1, 10))
def test_warmer_is_never_slower(kind, room, dry_um, more):
    warm = replace(room, temperature_c=room.temperature_c + min(more, 45 - room.temperature_c))
    _no_slower(dry_times(kind, dry_um, warm), dry_times(kind, dry_um, room))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(KINDS), rooms, st.floats(3, 100), st.floats(0.1, 50))
def test_damper_is_never_quicker(kind, room, dry_um, more):
    assume(room.humidity_pct + more < 99)
    damp = replace(room, humidity_pct=room.humidity_pct + more)
    _no_slower(dry_times(kind, dry_um, room), dry_times(kind, dry_um, damp))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(KINDS), rooms, st.floats(3, 100), st.floats(0.01, 2))
def test_moving_air_is_never_slower(kind, room, dry_um, more):
    windy = replace(room, air_speed_m_s=room.air_speed_m_s + more)
    _no_slower(dry_times(kind, dry_um, windy), dry_times(kind, dry_um, room))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(KINDS), rooms, st.floats(1, 200), st.floats(1.01, 5))
def test_thicker_is_never_quicker(kind, room, dry_um, factor):
    thin, thick = dry_times(kind, dry_um, room), dry_times(kind, dry_um * factor, room)
    _no_slower(thin, thick)
    assert thick.touch_dry_min > thin.touch_dry_min


@pytest.mark.parametrize("kind", WATERBORNE)
def test_a_film_twice_as_thick_takes_more_than_twice_as_long(kind):
    once, twice = (dry_times(kind, um, Room()).touch_dry_min for um in (40, 80))
    assert twice > 2 * once


@pytest.mark.parametrize("kind", SOLVENT)
def test_solvent_times_halve_for_every_ten_degrees(kind):
    """Common practice; the row's label time stands at 20 C."""
    at = {t: dry_times(kind, None, Room(t, 50)) for t in (10, 20, 30)}
    assert at[20].touch_dry_min == pytest.approx(paint_kind(kind).touch_min)
    assert at[20].recoat_min == pytest.approx(paint_kind(kind).recoat_min)
    assert at[10].touch_dry_min == pytest.approx(2 * at[20].touch_dry_min)
    assert at[30].recoat_min == pytest.approx(at[20].recoat_min / 2)


@pytest.mark.parametrize("kind", ["aerosol-primer", "brush-primer"])
def test_a_primer_is_brushed_over_after_an_hour_or_two(kind):
    """Common practice, by the labels of such primers at 20 C; sooner where it is warmer, never before recoat."""
    times = dry_times(kind, None, Room(20, 50))
    assert 60 <= times.brushed_over_min <= 120 and times.brushed_over_min >= times.recoat_min
    assert dry_times(kind, None, Room(30, 50)).over_min == pytest.approx(times.over_min / 2)
    assert replace(times, over_min=0.0).brushed_over_min == times.recoat_min


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(KINDS), st.floats(1, 120), st.floats(8, 35), st.floats(20, 80))
def test_own_timing_is_met_on_the_makers_day(kind, touch_min, temperature_c, humidity_pct):
    room, own = Room(temperature_c, humidity_pct), OwnTiming(touch_min, temperature_c, humidity_pct)
    times = dry_times(kind, None, room, own=own)
    assert times.touch_dry_min == pytest.approx(touch_min)
    ratio = dry_times(kind, None, room).recoat_min / dry_times(kind, None, room).touch_dry_min
    assert times.recoat_min == pytest.approx(ratio * touch_min)


def test_own_timing_carries_over_to_another_day():
    own, damp = OwnTiming(12, 20, 50), Room(16, 75, dryer=True)
    plain, mine = dry_times("acrylic", 30, damp), dry_times("acrylic", 30, damp, own=own)
    factor = 12 / dry_times("acrylic", None, Room(20, 50)).touch_dry_min
    for stage in ("touch_dry_min", "recoat_min", "dryer_hand_min"):
        assert getattr(mine, stage) == pytest.approx(factor * getattr(plain, stage))
    assert mine.cured_min == plain.cured_min


def test_room_warnings_name_what_to_change():
    assert room_warnings(Room(21, 50)) == ()
    cold, damp, dry = (room_warnings(r) for r in (Room(8, 50), Room(20, 90), Room(20, 20)))
    assert "warm the room" in cold[0] and "10 °C" in cold[0]
    assert "dry or warm the air" in damp[0] and "85 %" in damp[0]
    assert "brush" in dry[0]
    assert len(room_warnings(Room(5, 95))) == 2
    assert "cooler" in room_warnings(Room(36, 50))[0]
    assert "bloom" in room_warnings(Room(20, 75))[0]


@pytest.mark.parametrize(
    ("kind", "dry_um", "room", "own"),
    [
        ("acrylik", 20, Room(), None),
        ("acrylic", 0, Room(), None),
        ("acrylic", float("nan"), Room(), None),
        ("acrylic", 1e9, Room(), None),
        ("acrylic", 20, Room(60, 50), None),
        ("acrylic", 20, Room(20, 0), None),
        ("acrylic", 20, Room(20, 100), None),
        ("acrylic", 20, Room(20, 50, -1), None),
        ("acrylic", 20, Room(), OwnTiming(0)),
        ("acrylic", 20, Room(), OwnTiming(float("nan"))),
    ],
)
def test_impossible_input_is_refused_with_its_cure(kind, dry_um, room, own):
    with pytest.raises(InputError) as caught:
        dry_times(kind, dry_um, room, own=own)
    assert caught.value.cure and "\n" not in str(caught.value)


def test_a_misspelt_kind_names_the_nearest():
    with pytest.raises(InputError, match="did you mean 'acrylic'"):
        paint_kind("acrylik")
