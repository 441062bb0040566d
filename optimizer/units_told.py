"""Limits told to a grower: in the units of the site, rounded to the side that suffices.

One unit for each dimension and system, always with the same number of decimals, so that two figures
of one sentence compare.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from optimizer.units_format import UNITS, Unit

HAIR = 1e-8
"""Of a last digit: what lies this near to a round figure is that figure."""

_TOLD: Mapping[str, Mapping[str, tuple[str, int]]] = {
    "metric": {"length": ("m", 2), "area": ("m2", 2), "volume": ("L", 0), "flow": ("L/min", 1)},
    "us": {
        "length": ("in", 1),
        "area": ("sq ft", 1),
        "volume": ("US gal", 1),
        "flow": ("US gpm", 2),
    },
}
"""Unit, by its name in :mod:`optimizer.units_format`, and decimals."""


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
    unit, decimals = _unit(dimension, units)
    return f"{value_si / unit.size:.{decimals}f} {unit.name}"


def at_least(value_si: float, dimension: str, units: str) -> str:
    """Return a value rounded up, as for :func:`told`: what is told is no less than the value.

    >>> at_least(0.101, "length", "us")
    '4.0 in'
    """
    unit, decimals = _unit(dimension, units)
    last = unit.size / 10.0**decimals
    return told(math.ceil(value_si / last - HAIR) * last, dimension, units)


def at_most(value_si: float, dimension: str, units: str) -> str:
    """Return a value rounded down, as for :func:`told`: what is told is no more than the value.

    >>> at_most(0.101, "length", "us")
    '3.9 in'
    """
    unit, decimals = _unit(dimension, units)
    last = unit.size / 10.0**decimals
    return told(math.floor(value_si / last + HAIR) * last, dimension, units)


def _unit(dimension: str, units: str) -> tuple[Unit, int]:
    name, decimals = _TOLD[units][dimension]
    return next(unit for unit in UNITS[units][dimension] if unit.name == name), decimals
