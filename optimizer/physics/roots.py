"""Root finding to the last digits."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.optimize import brentq

from optimizer.physics.arrays import Array

_STEPS_MOST = 100
_LAST_DIGITS = 4.0 * np.finfo(np.float64).eps


def root_between(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return where a continuous function changes sign, to about 1e-15 of the answer.

    Flows are small numbers, so the absolute tolerance is set out of the way (1e-25).

    Args:
        excess: the function.
        low: one end of the bracket.
        high: the other end; the function must not have the same sign at both.

    Raises:
        ValueError: if both ends have the same sign.
    """
    return float(brentq(excess, low, high, xtol=1e-25, rtol=1e-15))


def least_between(slope: Callable[[float], float], low: float, high: float) -> float:
    """Return where in an interval a function is least whose slope rises.

    Args:
        slope: the slope.
        low: lower end of the interval.
        high: upper end.
    """
    if slope(high) <= 0.0:
        return high
    return low if slope(low) >= 0.0 else root_between(slope, low, high)


def rising_roots(excess: Callable[[Array], tuple[Array, Array]], low: Array, high: Array) -> Array:
    """Return where rising functions pass 0, one for each element, to the last digits.

    Newton's step from the latest point, or halving where that leaves the bracket.

    Args:
        excess: the values at some points, and the slopes there, above 0.
        low: points where the functions are 0 or below, shape (n,).
        high: points where they are 0 or above, shape (n,).
    """
    low, high = low.copy(), high.copy()
    at = (low + high) / 2.0
    for _ in range(_STEPS_MOST):
        value, slope = excess(at)
        below = value <= 0.0
        low, high = np.where(below, at, low), np.where(below, high, at)
        step = at - value / slope
        inside = (low <= step) & (step <= high)
        after = np.where(inside, step, (low + high) / 2.0)
        done = np.abs(after - at) <= _LAST_DIGITS * np.abs(at)
        at = after
        if done.all():
            break
    return at
