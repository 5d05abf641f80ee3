"""How long a coat takes to dry in this room.

A waterborne coat loses water at the rate of the ASHRAE pool formula until its particles touch, then ever slower; the
water still inside must also diffuse out, which only a thick film notices. Evaporation cools the film; air, walls and
the casting's own heat warm it again, so that it dries between the wet bulb and the casting's temperature. Solvent
paints go by the label's time, halved for every 10 C warmer.
"""

import math
from dataclasses import replace
from functools import lru_cache

from finishplan.basics.errors import InputError
from finishplan.drying.kinds import PaintKind, paint_kind
from finishplan.drying.model import DryTimes
from finishplan.drying.moist_air import (
    convection_kw_m2_k,
    heat_per_kpa,
    latent_kj_per_kg,
    radiation_kw_m2_k,
    saturation_kpa,
)
from finishplan.job.settings import OwnTiming, Room

PACKED = 0.64
"""Volume share of solids at which the particles touch and the constant rate ends: random close packing of spheres."""
TOUCH_WATER = 0.5
"""Share of the water between packed particles that may remain at touch dry (convention: the film no longer marks)."""
DIFFUSION_M2_S = 1e-11
"""Water in an acrylic film at 20 C; order of magnitude, from memory. Doubled for every 10 C of the room."""
CASTING_KJ_M2_K = 1100 * 1.5 * 0.0025
"""Heat a solid resin casting stores behind each m2 of surface: density x specific heat x volume over surface (2.5 mm,
a limb of 10 mm)."""
DRYER_RISE_C, DRYER_AIR_M_S = 35.0, 5.0
"""Hair dryer at a hand's length, moving: air this much warmer than the room, at this speed (common practice). The pool
formula is extrapolated to it."""
_SHARE_OF_SETTLING = 0.1
"""Step of the integration: exact to 1e-6 of the time."""
_SETTLED = 1e-10
"""Kelvin a second that no longer matter."""
COOLING_MIN = 1.0
"""Rest after the dryer before the next coat, so that it does not skin on a warm casting (common practice)."""


def dry_times(
    kind: str, dry_um: float | None, room: Room, dryer: bool | None = None, own: OwnTiming | None = None
) -> DryTimes:
    """Drying stages of one coat in the room, in minutes from laying it.

    kind: a key of kinds.toml. dry_um: dry film, None: the kind's thin coat. dryer: give the dryer's minutes
    (None: as the room says); never for solvent paints. own: rescales touch, recoat, handling and dryer.
    Raises InputError for an unknown kind, a film or room outside the model, or air saturated with water.
    """
    row = paint_kind(kind)
    dry_um = row.dry_um if dry_um is None else dry_um
    _check(dry_um, row.medium, room)
    times = _solvent(row, dry_um, room) if row.medium == "solvent" else _waterborne(row, dry_um, room)
    if room.dryer if dryer is None else dryer:
        times = _with_dryer(times, row, room)
    return times if own is None else _rescaled(times, own, row)


def touch_dry_min(row: PaintKind, dry_um: float, room: Room, air_c: float, air_m_s: float) -> float:
    """Touch dry of a waterborne coat, minutes: constant rate, falling rate and diffusion, one after the other."""
    landed_um = (row.wet_um(dry_um) - dry_um) * (1 - row.flight_loss)
    # The water that fits between packed spheres; what is above it evaporates at the constant rate.
    pores_um = dry_um * (1 - PACKED) / PACKED
    free_um = max(landed_um - pores_um, 0.0)
    # The rate falls with the water left, so the time goes with the logarithm of the share that may remain.
    falling_um = min(landed_um, pores_um) * math.log(1 / TOUCH_WATER)
    # 1 um of water is 1e-3 kg/m2.
    seconds = evaporation_s((free_um + falling_um) * 1e-3, room, air_c, air_m_s)
    # First term of the series for a plane sheet: 4 X^2 / (pi^2 D), doubled rate for every 10 C as for solvents.
    diffusion = _slower(room) * 4 * (dry_um * 1e-6) ** 2 / (math.pi**2 * DIFFUSION_M2_S)
    return (seconds + diffusion) / 60


def heat_kw_m2(film_c: float, room: Room, air_c: float, air_m_s: float) -> tuple[float, float]:
    """Heat that a film of that temperature is given by air and walls, and what evaporation takes, kW/m2; formulas and
    sources in moist_air.py."""
    given = convection_kw_m2_k(room.temperature_c, air_m_s) * (air_c - film_c)
    given += radiation_kw_m2_k(room.temperature_c) * (room.temperature_c - film_c)
    # A dryer warms the room's own air: the vapour in it stays what it was.
    vapour = room.humidity_pct / 100 * saturation_kpa(room.temperature_c)
    return given, heat_per_kpa(air_m_s) * (saturation_kpa(film_c) - vapour)


@lru_cache(maxsize=64)  # a plan asks for a handful, each many times
def evaporation_s(water_kg_m2: float, room: Room, air_c: float, air_m_s: float) -> float:
    """Seconds to lose that much water.

    Heat balance of film and casting, C dT/dt = h (T_air - T) + h_r (T_room - T) - E (p(T) - p_a), from T = T_room on,
    and loss of water dm/dt = E (p(T) - p_a) / Y: the classical Runge-Kutta method until the film has its temperature.
    """
    # At the room's temperature throughout: the film's few degrees change it by under a hundredth.
    latent = latent_kj_per_kg(room.temperature_c)

    def slopes(film_c: float) -> tuple[float, float]:
        warmed, taken = heat_kw_m2(film_c, room, air_c, air_m_s)
        return (warmed - taken) / CASTING_KJ_M2_K, taken / latent

    def step(film_c: float, s: float) -> tuple[float, float]:
        ks = [slopes(film_c)]
        for share in (0.5, 0.5, 1.0):
            ks.append(slopes(film_c + share * s * ks[-1][0]))
        kelvin, kg = (s / 6 * (k1 + 2 * k2 + 2 * k3 + k4) for k1, k2, k3, k4 in zip(*ks, strict=True))
        return film_c + kelvin, kg

    film_c, seconds, left, s = room.temperature_c, 0.0, water_kg_m2, _SHARE_OF_SETTLING * _settling_s(room, air_m_s)
    warmer, kg = step(film_c, s)
    while kg < left:
        # From here on the loss is linear in time, so the rest need not be stepped through.
        if abs(warmer - film_c) <= _SETTLED * s:
            return seconds + s * left / kg
        film_c, seconds, left = warmer, seconds + s, left - kg
        warmer, kg = step(film_c, s)
    # The last step is shortened until it loses just what was left; nearly linear, so a few rounds do.
    while abs(kg - left) > 1e-9 * left:
        s *= left / kg
        kg = step(film_c, s)[1]
    return seconds + s


def _settling_s(room: Room, air_m_s: float) -> float:
    """Seconds in which a film comes near its temperature (to 1/e), about."""
    # How much steeper vapour pressure makes the cooling: a slope over one degree is near enough for a step.
    steeper = saturation_kpa(room.temperature_c) - saturation_kpa(room.temperature_c - 1)
    given = convection_kw_m2_k(room.temperature_c, air_m_s) + radiation_kw_m2_k(room.temperature_c)
    return CASTING_KJ_M2_K / (given + heat_per_kpa(air_m_s) * steeper)


def room_warnings(room: Room) -> tuple[str, ...]:
    """What is wrong with the room for waterborne paint and for spraying, each with its cure. Common practice. Raises
    InputError for a room outside the model."""
    _check_room(room)
    warnings = []
    if room.temperature_c < 10:
        warnings.append(
            f"{room.temperature_c:g} °C: below 10 °C a waterborne acrylic may not form a film; warm the room, "
            "the castings and the paint to 18 °C or more; the times below are not to be relied on."
        )
    if room.temperature_c > 32:
        warnings.append(
            f"{room.temperature_c:g} °C: paint dries on the brush and in the air; work in a cooler hour, "
            "shade the bench, thin a little more."
        )
    if room.humidity_pct > 85:
        warnings.append(
            f"{room.humidity_pct:g} % humidity: above 85 % a waterborne acrylic may not form a film and sprays bloom; "
            "dry or warm the air below 70 %; the times below are not to be relied on."
        )
    elif room.humidity_pct > 70:
        warnings.append(
            f"{room.humidity_pct:g} % humidity: coats dry slowly and sprays may bloom; "
            "air the room or spray another day."
        )
    if room.humidity_pct < 25:
        warnings.append(
            f"{room.humidity_pct:g} % humidity: paint dries on the brush; keep the palette moist and cover the mixes."
        )
    return tuple(warnings)


def _waterborne(row: PaintKind, dry_um: float, room: Room) -> DryTimes:
    touch = touch_dry_min(row, dry_um, room, room.temperature_c, room.air_speed_m_s)
    return _stages(row, dry_um, room, touch, row.recoat * touch)


def _solvent(row: PaintKind, dry_um: float, room: Room) -> DryTimes:
    factor = _slower(room) * dry_um / row.dry_um
    return _stages(row, dry_um, room, factor * row.touch_min, factor * row.recoat_min)


def _stages(row: PaintKind, dry_um: float, room: Room, touch: float, recoat: float) -> DryTimes:
    # Nobody handles a casting before it may be painted on.
    handling = max(row.handling * touch, recoat)
    cured = max(row.cured_h * 60 * _slower(room), handling)
    over = row.over_min * _slower(room)
    return DryTimes(row.key, row.wet_um(dry_um), dry_um, touch, recoat, handling, cured, over_min=over)


def _slower(room: Room) -> float:
    """Times at this temperature over times at 20 C: halved for every 10 C warmer (common practice)."""
    return float(2 ** ((20 - room.temperature_c) / 10))


def _with_dryer(times: DryTimes, row: PaintKind, room: Room) -> DryTimes:
    """Hand minutes with the dryer, unless the coat is quicker left alone or its solvent must not meet a dryer."""
    if row.medium == "solvent":
        return times
    air_c = room.temperature_c + DRYER_RISE_C
    # In a windy room the dryer at least does no worse.
    hand = touch_dry_min(row, times.dry_um, room, air_c, max(DRYER_AIR_M_S, room.air_speed_m_s))
    # Where next to nothing must evaporate, warm air gains nothing.
    if hand >= times.touch_dry_min:
        return times
    return replace(times, dryer_hand_min=hand, dryer_rest_min=(row.recoat - 1) * hand + COOLING_MIN)


def _rescaled(times: DryTimes, own: OwnTiming, row: PaintKind) -> DryTimes:
    """Every stage but the cure, by what the maker saw over what the model gives for the maker's own day."""
    if not (math.isfinite(own.touch_min) and 0 < own.touch_min <= 10080):
        raise InputError(
            f"touch_min = {own.touch_min:g} is no drying time",
            key="paints.dry",
            cure="give the minutes a thin coat took to become touch dry",
        )
    # Not with a dryer, and in still air: that is how a maker times a test coat.
    then = Room(own.temperature_c, own.humidity_pct)
    factor = own.touch_min / dry_times(row.key, own.dry_um, then, dryer=False).touch_dry_min
    touch, recoat, handling = (factor * t for t in (times.touch_dry_min, times.recoat_min, times.handling_min))
    dryer = None if times.dryer_hand_min is None else factor * times.dryer_hand_min
    return replace(
        times,
        touch_dry_min=touch,
        recoat_min=recoat,
        handling_min=handling,
        # The cure is a label's figure: how soon a film feels dry says little of it.
        cured_min=max(times.cured_min, handling),
        dryer_hand_min=dryer,
        dryer_rest_min=0.0 if dryer is None else (row.recoat - 1) * dryer + COOLING_MIN,
    )


def _check(dry_um: float, medium: str, room: Room) -> None:
    if not 0.1 <= dry_um <= 2000:
        raise InputError(
            f"a coat of {dry_um:g} µm is outside 0.1-2000 µm", where="coat_um", cure="a thin coat is 10-30 µm dry"
        )
    _check_room(room)
    if medium == "water" and room.humidity_pct >= 99.5:
        raise InputError(
            f"in air of {room.humidity_pct:g} % humidity no waterborne coat dries",
            key="room.humidity_pct",
            cure="dry the air; below 70 % is good, above 85 % not to be relied on",
        )


def _check_room(room: Room) -> None:
    limits = (
        ("temperature_c", room.temperature_c, 0.0, 45.0),
        ("humidity_pct", room.humidity_pct, 1.0, 100.0),
        ("air_speed_m_s", room.air_speed_m_s, 0.0, 20.0),
    )
    for key, value, low, high in limits:
        if not low <= value <= high:
            raise InputError(
                f"{key} = {value:g} is outside {low:g} to {high:g}", key=f"room.{key}", cure="measure it at the bench"
            )
