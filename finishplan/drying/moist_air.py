"""Water vapour: saturation pressure, latent heat, and what leaves a wet surface."""

import math

PRESSURE_KPA = 101.325
AIR_KJ_PER_KG_K = 1.006
VAPOUR_TO_AIR = 0.621945
EMISSIVITY = 0.9
STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m2 K4), CODATA 2018."""


def saturation_kpa(temperature_c: float) -> float:
    """Saturation pressure over liquid water, kPa, for -20 to 200 C.

    Hyland and Wexler (1983), as ASHRAE Handbook Fundamentals, 'Psychrometrics', prints it.
    """
    kelvin = temperature_c + 273.15
    return 1e-3 * math.exp(
        -5.8002206e3 / kelvin
        + 1.3914993
        - 4.8640239e-2 * kelvin
        + 4.1764768e-5 * kelvin**2
        - 1.4452093e-8 * kelvin**3
        + 6.5459673 * math.log(kelvin)
    )


def latent_kj_per_kg(temperature_c: float) -> float:
    """Latent heat of evaporation, kJ/kg: 2454 at 20 C (the linear form of ASHRAE's wet bulb equation)."""
    return 2501.0 - 2.326 * temperature_c


def heat_per_kpa(air_m_s: float) -> float:
    """kW/m2 that evaporation takes for each kPa between surface and air.

    ASHRAE Handbook HVAC Applications, natatoriums: w Y = (p_w - p_a)(0.089 + 0.0782 V); from memory.
    """
    return 0.089 + 0.0782 * air_m_s


def convection_kw_m2_k(temperature_c: float, air_m_s: float) -> float:
    """kW/(m2 K) that air gives a wet surface, from the same formula by Lewis's relation, so that a surface that
    only air warms settles at the wet bulb: h = E c_p P / (0.622 Y)."""
    # Lewis: heat and vapour cross the same layer of air, so one coefficient follows from the other.
    psychrometric = AIR_KJ_PER_KG_K * PRESSURE_KPA / (VAPOUR_TO_AIR * latent_kj_per_kg(temperature_c))
    return psychrometric * heat_per_kpa(air_m_s)


def radiation_kw_m2_k(temperature_c: float) -> float:
    """kW/(m2 K) that walls at room temperature radiate, Stefan-Boltzmann linearised: 4 e sigma T^3."""
    # 4e-3: the 4 of the derivative, and W made kW.
    return 4e-3 * EMISSIVITY * STEFAN_BOLTZMANN * (temperature_c + 273.15) ** 3
