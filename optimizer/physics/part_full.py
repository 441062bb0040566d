"""Round pipe running part full under its own slope: Manning's formula.

All shares of a section follow from the angle t that the water's surface spans at the pipe's centre,
with y/D = sin^2(t/4): area D^2 (t - sin t)/8, wetted perimeter D t/2, surface width D sin(t/2).
"""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize.elementwise import find_root

from optimizer.physics.arrays import Array, FloatOrArray, like
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.roots import root_between

_SERIES_BELOW = 0.1
"""Below this t - sin t is taken from its series (four terms, relative error < 1e-15)."""

_ROUNDING = 1e-12
"""Relative excess over the greatest flow that is taken for rounding."""


def _angle(depth_ratio: Array) -> Array:
    """Return t, after checking that the depth lies inside the pipe."""
    if not np.all((depth_ratio >= 0.0) & (depth_ratio <= 1.0)):
        raise ValueError("a depth ratio must lie from 0 (dry) to 1 (full)")
    return np.asarray(4.0 * np.arcsin(np.sqrt(depth_ratio)))


def _segment(angle: Array) -> Array:
    """Return t - sin t without cancellation near 0."""
    square = angle * angle
    tail = 1.0 - square / 20.0 * (1.0 - square / 42.0 * (1.0 - square / 72.0))
    series = angle * square / 6.0 * tail
    return np.where(angle < _SERIES_BELOW, series, angle - np.sin(angle))


def _check_pipe(bore_m: Array, slope: float, manning_n: float) -> None:
    if not (np.all(bore_m > 0.0) and manning_n > 0.0 and slope >= 0.0):
        raise ValueError("a drain needs a bore and a Manning n above 0 and a slope of 0 or more")


def wet_area_m2(depth_ratio: FloatOrArray, bore_m: float) -> FloatOrArray:
    """Return the area of the water's section, in m2.

    Args:
        depth_ratio: depth over bore y/D, 0 to 1; a number or an array.
        bore_m: inside diameter D, above 0.

    Raises:
        ValueError: for an argument outside its limits.

    Source:
        geometry; equal to V. T. Chow, Open-Channel Hydraulics, 1959, table 2-2.

    >>> round(wet_area_m2(0.6, 1.0), 4)
    0.492
    """
    angle = _angle(np.asarray(depth_ratio, dtype=np.float64))
    return like(depth_ratio, bore_area_m2(bore_m) * _segment(angle) / (2.0 * math.pi))


def wetted_perimeter_m(depth_ratio: FloatOrArray, bore_m: float) -> FloatOrArray:
    """Return the length of wall that the water touches across the pipe, D t/2.

    Args:
        depth_ratio: depth over bore y/D, 0 to 1; a number or an array.
        bore_m: inside diameter D.

    Raises:
        ValueError: for a depth ratio outside its limits.
    """
    angle = _angle(np.asarray(depth_ratio, dtype=np.float64))
    return like(depth_ratio, bore_m * angle / 2.0)


def top_width_m(depth_ratio: FloatOrArray, bore_m: float) -> FloatOrArray:
    """Return the width of the water's surface, 2 D sqrt(r (1 - r)) with r = y/D.

    Args:
        depth_ratio: depth over bore y/D, 0 to 1; a number or an array.
        bore_m: inside diameter D.

    Raises:
        ValueError: for a depth ratio outside its limits.
    """
    ratio = np.asarray(depth_ratio, dtype=np.float64)
    _angle(ratio)
    return like(depth_ratio, 2.0 * bore_m * np.sqrt(ratio * (1.0 - ratio)))


def hydraulic_radius_m(depth_ratio: FloatOrArray, bore_m: float) -> FloatOrArray:
    """Return area over wetted perimeter, D (1 - sin(t)/t)/4: 0 when dry, D/4 when half or all full.

    Args:
        depth_ratio: depth over bore y/D, 0 to 1; a number or an array.
        bore_m: inside diameter D.

    Raises:
        ValueError: for a depth ratio outside its limits.

    >>> round(hydraulic_radius_m(0.6, 1.0), 4)
    0.2776
    """
    angle = _angle(np.asarray(depth_ratio, dtype=np.float64))
    share = _segment(angle) / np.where(angle > 0.0, angle, 1.0)
    return like(depth_ratio, bore_m / 4.0 * share)


def velocity_m_s(
    depth_ratio: FloatOrArray, bore_m: float, slope: float, manning_n: float
) -> FloatOrArray:
    """Return the mean velocity of uniform flow: V = R^(2/3) S^(1/2) / n (Manning, SI).

    Greatest, 1.140 times that of the full pipe, at y/D 0.813.

    Args:
        depth_ratio: depth over bore y/D, 0 to 1; a number or an array.
        bore_m: inside diameter D, above 0.
        slope: fall over length, 0 or more.
        manning_n: Manning's n in s/m^(1/3), above 0; taken as the same at every depth.

    Raises:
        ValueError: for an argument outside its limits.
    """
    _check_pipe(np.asarray(bore_m), slope, manning_n)
    radius = np.asarray(hydraulic_radius_m(depth_ratio, bore_m))
    return like(depth_ratio, radius ** (2.0 / 3.0) * math.sqrt(slope) / manning_n)


def full_flow_m3_s(bore_m: FloatOrArray, slope: float, manning_n: float) -> FloatOrArray:
    """Return what a pipe carries when it is just full, without pressure.

    Manning's formula at y/D = 1: (pi D^2/4) (D/4)^(2/3) S^(1/2) / n.

    Args:
        bore_m: inside diameter D, above 0; a number or an array.
        slope: fall over length, 0 or more.
        manning_n: Manning's n in s/m^(1/3), above 0.

    Raises:
        ValueError: for an argument outside its limits.
    """
    bore = np.asarray(bore_m, dtype=np.float64)
    _check_pipe(bore, slope, manning_n)
    area = math.pi * bore**2 / 4.0
    return like(bore_m, area * (bore / 4.0) ** (2.0 / 3.0) * math.sqrt(slope) / manning_n)


def _flow_share(angle: Array) -> Array:
    """Return Q/Qfull: (t - sin t)^(5/3) t^(-2/3) / (2 pi)."""
    wide = np.where(angle > 0.0, angle, 1.0)
    return np.asarray(_segment(angle) * (_segment(angle) / wide) ** (2.0 / 3.0) / (2.0 * math.pi))


def _excess_share(angle: Array, wanted: Array) -> Array:
    return np.asarray(_flow_share(angle) - wanted)


_PEAK_ANGLE = root_between(lambda t: 3.0 * t - 5.0 * t * math.cos(t) + 2.0 * math.sin(t), 4.5, 6.0)
"""Where dQ/dt = 0, that is 5 t (1 - cos t) = 2 (t - sin t)."""

PEAK_DEPTH_RATIO = math.sin(_PEAK_ANGLE / 4.0) ** 2
"""Depth over bore at which a pipe carries most: 0.938."""

PEAK_FLOW_RATIO = float(_flow_share(np.asarray(_PEAK_ANGLE)))
"""What it carries there over what it carries just full: 1.0757."""


def flow_m3_s(
    depth_ratio: FloatOrArray, bore_m: float, slope: float, manning_n: float
) -> FloatOrArray:
    """Return the uniform flow at a depth, area times :func:`velocity_m_s`.

    It rises up to y/D 0.938 (:data:`PEAK_DEPTH_RATIO`) and falls from there to the full pipe's.

    Args:
        depth_ratio: depth over bore y/D, 0 to 1; a number or an array.
        bore_m: inside diameter D, above 0.
        slope: fall over length, 0 or more.
        manning_n: Manning's n in s/m^(1/3), above 0.

    Raises:
        ValueError: for an argument outside its limits.
    """
    share = _flow_share(_angle(np.asarray(depth_ratio, dtype=np.float64)))
    return like(depth_ratio, share * full_flow_m3_s(bore_m, slope, manning_n))


def depth_ratio(
    flow_m3_s: FloatOrArray, bore_m: float, slope: float, manning_n: float
) -> FloatOrArray:
    """Return the depth over bore of a uniform flow: the inverse of :func:`flow_m3_s`.

    Of two depths with the same flow it is the lower, on the rising branch.

    Args:
        flow_m3_s: flow, 0 or more; a number or an array.
        bore_m: inside diameter D, above 0.
        slope: fall over length, above 0.
        manning_n: Manning's n in s/m^(1/3), above 0.

    Returns:
        y/D from 0 to :data:`PEAK_DEPTH_RATIO`.

    Raises:
        ValueError: for an argument outside its limits, or more flow than the pipe can carry.

    >>> round(depth_ratio(0.5 * full_flow_m3_s(0.1, 0.01, 0.011), 0.1, 0.01, 0.011), 9)
    0.5
    """
    full = full_flow_m3_s(bore_m, slope, manning_n)
    if not full > 0.0:
        raise ValueError("a drain without slope carries no uniform flow")
    share = np.asarray(flow_m3_s, dtype=np.float64) / full
    if not np.all((share >= 0.0) & (share <= PEAK_FLOW_RATIO * (1.0 + _ROUNDING))):
        most = PEAK_FLOW_RATIO * full
        raise ValueError(f"a flow must lie from 0 to what the drain can carry, {most:.4g} m3/s")
    share = np.minimum(share, PEAK_FLOW_RATIO)
    ends = np.zeros_like(share), np.full_like(share, _PEAK_ANGLE)
    found = find_root(_excess_share, ends, args=(share,))
    return like(flow_m3_s, np.sin(found.x / 4.0) ** 2)


def capacity_m3_s(
    bore_m: FloatOrArray, slope: float, manning_n: float, fill_limit: float
) -> FloatOrArray:
    """Return the most a gravity drain is asked to carry: the flow at a fill limit.

    From y/D 0.82 on a part-full pipe carries more than a full one, but a wave or a want of air can
    fill it, so no more than :func:`full_flow_m3_s` is ever counted on.

    Args:
        bore_m: inside diameter D, above 0; a number or an array.
        slope: fall over length, 0 or more.
        manning_n: Manning's n in s/m^(1/3), above 0.
        fill_limit: greatest depth over bore, above 0 and up to 1.

    Returns:
        Capacity in m3/s, rising with the fill limit.

    Raises:
        ValueError: for an argument outside its limits.
    """
    if not 0.0 < fill_limit <= 1.0:
        raise ValueError(f"a fill limit must lie above 0 and up to 1, not {fill_limit}")
    share = min(1.0, float(_flow_share(_angle(np.asarray(fill_limit)))))
    return like(bore_m, share * np.asarray(full_flow_m3_s(bore_m, slope, manning_n)))
