"""Limits told to a grower: in the units of the site, rounded to the side that suffices.

One unit for each dimension and system, always with the same number of decimals, so that two figures
of one sentence compare.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

HAIR = 1e-8
"""Of a last digit: what lies this near to a round figure is that figure."""

_INCH = 0.0254
_US_GALLON = 231 * _INCH**3


@dataclass(frozen=True)
class _Unit:
    name: str
    size: float
    decimals: int


_TOLD: Mapping[str, Mapping[str, _Unit]] = {
    "metric": {
        "length": _Unit("m", 1.0, 2),
        "area": _Unit("m2", 1.0, 2),
        "volume": _Unit("L", 1e-3, 0),
        "flow": _Unit("L/min", 1e-3 / 60, 1),
    },
    "us": {
        "length": _Unit("in", _INCH, 1),
        "area": _Unit("sq ft", (12 * _INCH) ** 2, 1),
        "volume": _Unit("US gal", _US_GALLON, 1),
        "flow": _Unit("US gpm", _US_GALLON / 60, 2),
    },
}


def told(value_si: float, dimension: str, units: str) -> str:
    """Return a value rounded to the nearest last digit, with its unit.

    Args:
        value_si: the value in m, m2, m3 or m3/s.
        dimension: length, area, volume or flow.
        units: ``metric`` or ``us``.

    Raises:
        KeyError: if the dimension or system of units is not known.

    >>> told(0.0001, "flow", "metric")
    '6.0 L/min'
    """
    unit = _TOLD[units][dimension]
    return _written(value_si / unit.size, unit)


def at_least(value_si: float, dimension: str, units: str) -> str:
    """Return a value rounded up, as for :func:`told`: what is told is no less than the value.

    >>> at_least(0.101, "length", "us")
    '4.0 in'
    """
    unit = _TOLD[units][dimension]
    tens = 10.0**unit.decimals
    return _written(math.ceil(value_si / unit.size * tens - HAIR) / tens, unit)


def at_most(value_si: float, dimension: str, units: str) -> str:
    """Return a value rounded down, as for :func:`told`: what is told is no more than the value.

    >>> at_most(0.101, "length", "us")
    '3.9 in'
    """
    unit = _TOLD[units][dimension]
    tens = 10.0**unit.decimals
    return _written(math.floor(value_si / unit.size * tens + HAIR) / tens, unit)


def _written(value: float, unit: _Unit) -> str:
    return f"{value:.{unit.decimals}f} {unit.name}"
