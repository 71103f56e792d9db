"""The standard atmosphere below 11 km: pressure ratio and density ratio."""

from diagnose.calc.units import finite

_LAPSE = 0.0065  # K per m
_SEA_LEVEL = 288.15  # K
_EXPONENT = 5.255876  # g / (R * lapse)


def pressure_ratio(metres: float) -> float:
    """Return the pressure at `metres` over sea-level pressure, International Standard Atmosphere."""
    finite(metres, "height", -1000, 11000, "m")
    return float((1 - _LAPSE * metres / _SEA_LEVEL) ** _EXPONENT)


def density_ratio(metres: float, celsius: float) -> float:
    """Return the density over the standard sea-level one, at standard pressure for the height and the given temperature."""
    return pressure_ratio(metres) * _SEA_LEVEL / (celsius + 273.15)
