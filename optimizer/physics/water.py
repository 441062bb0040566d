"""Water: gravity, density and viscosity at one atmosphere."""

from __future__ import annotations

from functools import lru_cache

GRAVITY = 9.80665
"""Standard acceleration of gravity, m/s2 (3rd CGPM, 1901)."""

COLDEST_C = 0.0
HOTTEST_C = 100.0


def _check_liquid(temperature_c: float) -> None:
    if not COLDEST_C <= temperature_c <= HOTTEST_C:
        raise ValueError(
            f"water at {temperature_c} C: formulas hold from {COLDEST_C} to {HOTTEST_C} C"
        )


def density_kg_m3(temperature_c: float) -> float:
    """Return the density of air-free water at one atmosphere.

    Args:
        temperature_c: temperature in degrees Celsius, 0 to 100.

    Returns:
        Density in kg/m3, within 0.01 kg/m3.

    Raises:
        ValueError: outside 0 to 100 C.

    Source:
        G. S. Kell, Journal of Chemical and Engineering Data 20(1), 1975, p. 97 (coefficients
        recalled, checked against the maximum 999.975 at 4 C and 998.204 at 20 C).

    >>> round(density_kg_m3(20.0), 3)
    998.204
    """
    _check_liquid(temperature_c)
    t = temperature_c
    series = -46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)
    top = 999.83952 + t * (16.945176 + t * (-7.9870401e-3 + t * series))
    return top / (1.0 + 16.879850e-3 * t)


def dynamic_viscosity_pa_s(temperature_c: float) -> float:
    """Return the dynamic viscosity of water at 0.1 MPa.

    Args:
        temperature_c: temperature in degrees Celsius, 0 to 100.

    Returns:
        Viscosity in Pa s, within 1 %.

    Raises:
        ValueError: outside 0 to 100 C.

    Source:
        J. Patek, J. Hruby, J. Klomfar, M. Souckova, A. H. Harvey, Journal of Physical and Chemical
        Reference Data 38(1), 2009 (liquid water at 0.1 MPa; coefficients recalled, checked against
        1.0016 mPa s at 20 C).

    >>> round(1000 * dynamic_viscosity_pa_s(20.0), 4)
    1.0016
    """
    _check_liquid(temperature_c)
    t = (temperature_c + 273.15) / 300.0
    return float(
        1e-6 * (280.68 * t**-1.9 + 511.45 * t**-7.7 + 61.131 * t**-19.6 + 0.45903 * t**-40.0)
    )


@lru_cache(maxsize=256)
def kinematic_viscosity_m2_s(temperature_c: float) -> float:
    """Return the kinematic viscosity of water: dynamic viscosity over density.

    Args:
        temperature_c: temperature in degrees Celsius, 0 to 100.

    Returns:
        Viscosity in m2/s, within 1 %.

    Raises:
        ValueError: outside 0 to 100 C.

    >>> round(1e6 * kinematic_viscosity_m2_s(20.0), 4)
    1.0034
    """
    return dynamic_viscosity_pa_s(temperature_c) / density_kg_m3(temperature_c)
