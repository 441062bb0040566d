"""SI values written for a reader, in metric or US customary units.

The largest unit of the chosen system that leaves at least one whole unit is used, so that a bore
reads in millimetres and a row in metres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

_INCH = 0.0254
_FOOT = 12 * _INCH
_POUND = 0.45359237
_US_GALLON = 231 * _INCH**3
_PSI = _POUND * 9.80665 / _INCH**2
_POWER_MOST = 7  # more whole digits than this are written with an exponent


@dataclass(frozen=True)
class Unit:
    """A unit to write in: ``name`` after the number, ``size`` of one in SI, value at ``zero``.

    ``least`` is the smallest number, in this unit, for which it is preferred to a smaller unit.
    """

    name: str
    size: float
    zero: float = 0.0
    least: float = 1.0


def _units(*units: tuple[str, float] | tuple[str, float, float, float]) -> tuple[Unit, ...]:
    return tuple(Unit(*unit) for unit in units)


_SAME_EVERYWHERE: dict[str, tuple[Unit, ...]] = {
    "power": _units(("kW", 1e3), ("W", 1.0)),
    "share": _units(("%", 0.01)),
    "rate_per_hour": _units(("per hour", 1.0)),
    "sound_level_db": _units(("dB", 1.0)),
    "energy_price": _units(("per kWh", 1.0)),
    "energy": _units(("MWh", 3.6e9), ("kWh", 3.6e6)),
    "time": _units(("days", 86400.0, 0.0, 2.0), ("h", 3600.0), ("min", 60.0), ("s", 1.0)),
}

#: Units of each system by dimension, the largest first.
UNITS: Mapping[str, Mapping[str, tuple[Unit, ...]]] = {
    "metric": _SAME_EVERYWHERE
    | {
        "length": _units(("km", 1e3, 0.0, 10.0), ("m", 1.0), ("mm", 1e-3)),
        "area": _units(("ha", 1e4, 0.0, 10.0), ("m2", 1.0, 0.0, 0.1), ("cm2", 1e-4)),
        "volume": _units(("m3", 1.0, 0.0, 10.0), ("L", 1e-3), ("mL", 1e-6)),
        "flow": _units(("m3/h", 1 / 3.6e3, 0.0, 100.0), ("L/min", 1e-3 / 60)),
        "mass": _units(("t", 1e3, 0.0, 10.0), ("kg", 1.0), ("g", 1e-3)),
        "pressure": _units(("kPa", 1e3)),
        "velocity": _units(("m/s", 1.0)),
        "temperature_c": _units(("C", 1.0)),
        "density": _units(("kg/m3", 1.0)),
    },
    "us": _SAME_EVERYWHERE
    | {
        "length": _units(("ft", _FOOT), ("in", _INCH)),
        "area": _units(
            ("acres", 43560 * _FOOT**2, 0.0, 10.0), ("sq ft", _FOOT**2), ("sq in", _INCH**2)
        ),
        "volume": _units(("US gal", _US_GALLON, 0.0, 0.1), ("cu in", _INCH**3)),
        "flow": _units(("US gpm", _US_GALLON / 60)),
        "mass": _units(("lb", _POUND), ("oz", _POUND / 16)),
        "pressure": _units(("psi", _PSI)),
        "velocity": _units(("ft/s", _FOOT)),
        "temperature_c": _units(("F", 5 / 9, -160 / 9, 1.0)),
        "density": _units(("lb/cu ft", _POUND / _FOOT**3)),
    },
}


def unit_for(value_si: float, dimension: str, units: str) -> Unit:
    """Return the unit that ``value_si`` is best written in.

    Args:
        value_si: SI value (degrees Celsius, fraction, joule, money per kWh, events per hour).
        dimension: length, area, volume, flow, time, mass, pressure, velocity, power, energy,
            density, temperature_c, share, energy_price, sound_level_db or rate_per_hour.
        units: ``metric`` or ``us``.

    Raises:
        KeyError: if the dimension or system of units is not known.
    """
    choice = UNITS[units][dimension]
    if value_si == 0.0:
        return next(unit for unit in choice if unit.least <= 1.0)
    fits = (unit for unit in choice if abs(value_si) >= unit.least * unit.size * (1 - 1e-12))
    return next(fits, choice[-1])


def format_quantity(value_si: float, dimension: str, units: str, digits: int = 3) -> str:
    """Return ``value_si`` as text with its unit.

    Args:
        value_si: SI value, as in :func:`unit_for`.
        dimension: as in :func:`unit_for`.
        units: ``metric`` or ``us``.
        digits: significant digits, at least 1; whole digits are never dropped.

    Raises:
        ValueError: if the value is not finite or ``digits`` is below 1.
        KeyError: if the dimension or system of units is not known.

    Example:
        >>> format_quantity(0.0266, "length", "metric")
        '26.6 mm'
        >>> format_quantity(0.001, "flow", "us")
        '15.9 US gpm'
    """
    unit = unit_for(value_si, dimension, units)
    return f"{format_number((value_si - unit.zero) / unit.size, digits)} {unit.name}"


def format_number(value: float, digits: int = 3) -> str:
    """Return ``value`` to so many significant digits, no trailing zeros after the point.

    Raises:
        ValueError: if the value is not finite or ``digits`` is below 1.
    """
    if not math.isfinite(value) or digits < 1:
        raise ValueError(f"cannot write {value} to {digits} digits")
    whole_digits = len(str(int(abs(value))))
    if whole_digits > _POWER_MOST:
        return f"{value:.{digits - 1}e}"
    rounded = float(f"{value:.{max(digits, whole_digits) - 1}e}")
    text = f"{rounded:.{_places(rounded, digits)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _places(value: float, digits: int) -> int:
    """Return how many places after the point show ``digits`` significant digits of ``value``."""
    if value == 0.0:
        return 0
    return max(0, digits - 1 - math.floor(math.log10(abs(value))))
