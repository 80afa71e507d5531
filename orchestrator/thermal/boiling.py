"""Where water boils, by altitude: what a pan on this kitchen's hob cannot exceed while water remains."""

import math
from typing import Final

_SEA_LEVEL_PA: Final = 101_325.0
_EARTH_RADIUS_M: Final = 6_356_766.0

# Coefficients of the saturation line, IAPWS-IF97 region 4.
_N: Final = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


def pressure_pa(altitude_m: float) -> float:
    """Air pressure at an altitude from −500 to 11 000 m.

    Source: US Standard Atmosphere 1976, lowest layer: 288.15 K, −6.5 K a kilometre of geopotential height.
    """
    height_m = _EARTH_RADIUS_M * altitude_m / (_EARTH_RADIUS_M + altitude_m)
    return float(_SEA_LEVEL_PA * (1.0 - 2.25577e-5 * height_m) ** 5.25588)


def boiling_point_c(altitude_m: float) -> float:
    """Boiling point of pure water at an altitude, °C.

    Source: IAPWS-IF97, saturation temperature (equation 31), at the pressure of `pressure_pa`.
    """
    beta = (pressure_pa(altitude_m) / 1e6) ** 0.25
    e = beta**2 + _N[2] * beta + _N[5]
    f = _N[0] * beta**2 + _N[3] * beta + _N[6]
    g = _N[1] * beta**2 + _N[4] * beta + _N[7]
    d = 2.0 * g / (-f - math.sqrt(f**2 - 4.0 * e * g))
    kelvin = (_N[9] + d - math.sqrt((_N[9] + d) ** 2 - 4.0 * (_N[8] + _N[9] * d))) / 2.0
    return float(kelvin - 273.15)
