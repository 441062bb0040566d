"""Closed forms of priming and draining at a steady inflow, over arrays.

They are the formulas of :mod:`optimizer.physics.cycle_forms`, taken to any point on the way: time
over the rim up to a head, time of draining down to a level. Tests hold both against each other.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import BedArrays

_ROOT3 = np.sqrt(3.0)
_SERIES_BELOW = 0.05


def weir_integral(root: Array, below_one: Array) -> Array:
    """Return the integral of s/(1 - s^3) from 0 to ``root``; ``below_one`` is 1 - root."""
    s = root
    angle = np.arctan(s * _ROOT3 / (s + 2.0)) / _ROOT3
    closed = -np.log(below_one) / 3.0 + np.log1p(s + s * s) / 6.0 - angle
    series = s**2 / 2.0 + s**5 / 5.0 + s**8 / 8.0
    return np.where(s < _SERIES_BELOW, series, closed)


def rim_time_s(inflow: Array, head_m: Array, beds: BedArrays) -> Array:
    """Return the time over a weir rim, from no head to a head that the inflow can reach."""
    scale = beds.weir_scale
    greatest = (inflow / scale) ** (1.0 / 3.0)
    root = np.sqrt(head_m)
    lead = 2.0 * beds.store_m2 / (scale * greatest)
    return np.asarray(lead * weir_integral(root / greatest, (greatest - root) / greatest))


def drain_time_s(inflow: Array, high_m3_s: Array, low_m3_s: Array, beds: BedArrays) -> Array:
    """Return the time in which the siphons' discharge falls from one value to another."""
    span = high_m3_s - low_m3_s
    scale = 2.0 * beds.store_m2 / beds.siphon_scale**2
    return np.asarray(scale * (span + inflow * np.log1p(span / (low_m3_s - inflow))))
