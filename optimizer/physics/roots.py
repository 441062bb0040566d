"""Root finding to the last digits."""

from __future__ import annotations

from collections.abc import Callable

from scipy.optimize import brentq


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
