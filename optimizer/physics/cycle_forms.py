"""Closed forms of the two hard parts of a flood cycle: time to prime and time to drain.

Each comes with its slope against the inflow, so that extremes and inverses of the cycle are found
by root finding on exact derivatives. No quadrature is used; tests hold both against scipy.
"""

from __future__ import annotations

import math

_SERIES_BELOW = 0.05
"""Below this the integral of s/(1-s^3) is taken from its series (three terms, error < 1e-14)."""

_ROOT3 = math.sqrt(3.0)


def weir_integral(flow_ratio: float) -> float:
    """Return the integral of s/(1 - s^3) ds from 0 to s1, where s1^3 = ``flow_ratio`` < 1.

    By partial fractions it is -ln(1-s)/3 + ln(1+s+s^2)/6 - atan((2s+1)/sqrt 3)/sqrt 3
    + pi/(6 sqrt 3). It holds the logarithm by which priming time grows as the inflow falls to the
    starting flow.

    Args:
        flow_ratio: flow over the rim at the end, over the inflow; 0 to below 1.

    Raises:
        ValueError: outside those limits.
    """
    if not 0.0 <= flow_ratio < 1.0:
        raise ValueError(f"the ratio must lie from 0 to below 1, not {flow_ratio}")
    s = float(flow_ratio ** (1.0 / 3.0))
    if s < _SERIES_BELOW:
        return s**2 / 2.0 + s**5 / 5.0 + s**8 / 8.0
    below_one = -math.expm1(math.log(flow_ratio) / 3.0)
    angle = math.atan((2.0 * s + 1.0) / _ROOT3) / _ROOT3 - math.pi / (6.0 * _ROOT3)
    return -math.log(below_one) / 3.0 + math.log1p(s + s * s) / 6.0 - angle


def weir_prime_s(inflow: float, end_flow: float, store_m2: float, scale: float) -> float:
    """Return the time for a bed to rise while q = C w^1.5 already runs over the rim.

    It is the integral of S dw / (q - C w^1.5), up to the head at which C w^1.5 = ``end_flow``:
    with w = (q/C)^(2/3) s^2, 2 S C^(-2/3) q^(-1/3) times :func:`weir_integral`.

    Args:
        inflow: q, above ``end_flow``.
        end_flow: flow over the rim at the end.
        store_m2: plan area times porosity S.
        scale: weir scale C.

    Raises:
        ValueError: if the inflow is not above the end flow.
    """
    lead = 2.0 * store_m2 * scale ** (-2.0 / 3.0)
    return float(lead * inflow ** (-1.0 / 3.0) * weir_integral(end_flow / inflow))


def weir_prime_slope(inflow: float, end_flow: float, store_m2: float, scale: float) -> float:
    """Return d(weir_prime_s)/d(inflow), in s per m3/s (negative)."""
    lead = 2.0 * store_m2 * scale ** (-2.0 / 3.0) * inflow ** (-4.0 / 3.0) / 3.0
    ratio = end_flow / inflow
    end_term = ratio ** (2.0 / 3.0) / (1.0 - ratio)
    return float(-lead * (weir_integral(ratio) + end_term))


def orifice_prime_s(
    inflow: float, start_flow: float, end_flow: float, store_m2: float, scale: float
) -> float:
    """Return the time for a bed to rise while q = D w^0.5 runs into a drowned rim.

    (2 S / D) [(q/D) ln((q - q0)/(q - q1)) - (q1 - q0)/D], from rim flow q0 to q1.

    Args:
        inflow: q, above ``end_flow``.
        start_flow: flow over the rim at the beginning q0.
        end_flow: flow over the rim at the end q1.
        store_m2: plan area times porosity S.
        scale: orifice scale D.
    """
    span = end_flow - start_flow
    return 2.0 * store_m2 / scale**2 * (inflow * math.log1p(span / (inflow - end_flow)) - span)


def orifice_prime_slope(
    inflow: float, start_flow: float, end_flow: float, store_m2: float, scale: float
) -> float:
    """Return d(orifice_prime_s)/d(inflow), in s per m3/s (negative)."""
    gap = inflow - end_flow
    span = end_flow - start_flow
    log = math.log1p(span / gap)
    return 2.0 * store_m2 / scale**2 * (log - inflow * span / (gap * (gap + span)))


def drain_time_s(inflow: float, high_flow: float, low_flow: float, scale: float) -> float:
    """Return the time for a primed siphon to lower a bed with the inflow still running.

    With Q = c u, u = sqrt(h - z), the time is the integral of S dh / (Q - q), which is
    (2 S / c^2) [(Q1 - Q0) + q ln((Q1 - q)/(Q0 - q))].

    Args:
        inflow: q, 0 or more and below ``low_flow``.
        high_flow: discharge Q1 at the beginning.
        low_flow: discharge Q0 at the end.
        scale: 2 S / c^2, in s2/m3.
    """
    span = high_flow - low_flow
    return scale * (span + inflow * math.log1p(span / (low_flow - inflow)))


def drain_slope(inflow: float, high_flow: float, low_flow: float, scale: float) -> float:
    """Return d(drain_time_s)/d(inflow), in s per m3/s (positive)."""
    span = high_flow - low_flow
    gap = low_flow - inflow
    return scale * (math.log1p(span / gap) + inflow * span / (gap * (gap + span)))
