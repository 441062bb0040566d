"""How far inflows drift when the sump's level moves away from where the valves were set.

Set all valves with the sump at one level, then let it rise by ``s``. The pump lifts less, so every
flow grows. Write ``H`` for the pump's head at the set total flow, ``Z`` for the lowest outlet and
``R = H - Z``, and let all losses grow with flow to the power n.

1. If every outlet lay at ``Z`` and its valve took up the difference, all flows would grow by one
   factor ``X`` with ``R (X^n - 1) + H(F) - H(X F) = s``.
2. In truth an outlet lies ``D`` higher and its valve takes ``D`` less. Its resistance grows less,
   it draws more, and so no junction's head rises by more than in case 1 (raising one outlet's flow
   lowers every head in a tree). The head at the take-off of that bed, above its outlet, is ``V``;
   it grows by at most ``(V + D)(X^n - 1)``, so the bed's own factor ``x`` keeps
   ``V (x^n - 1) <= (V + D)(X^n - 1)``.
3. Asking ``x <= 1 + g`` therefore asks ``V >= D t / (u - t)`` with ``t = X^n - 1`` and
   ``u = (1 + g)^n - 1``. The factor before ``D`` is the *authority* the valve needs.

A falling level is the same with signs turned. The argument is exact where all losses share one n;
n = 1.75 (smooth turbulent pipe) bounds it for rough pipe, fittings and valves (n up to 2).
"""

from __future__ import annotations

import numpy as np
from scipy.optimize.elementwise import find_root

from optimizer.physics.arrays import Array
from optimizer.physics.pump import PumpCurve

LEAST_EXPONENT = 1.75
"""Growth of loss with flow in smooth turbulent pipe: Blasius's friction factor f ~ Re^-0.25."""


def valve_authority(
    pump: PumpCurve, flow_m3_s: Array, residual_m: Array, swing_m: float, allowed: float
) -> Array:
    """Return the least head at a take-off per metre its outlet lies above the lowest outlet.

    Args:
        pump: the curve, pumps in parallel included.
        flow_m3_s: total flows as set, shape (n,), within the curve.
        residual_m: pump head less the lift to the lowest outlet, sump at the setting level, (n,).
        swing_m: greatest rise or fall of the sump from the setting level, 0 or more.
        allowed: allowed relative drift of any inflow, between 0 and 1, for example 0.08.

    Returns:
        The authority (0 or more), shape (n,); NaN where even level outlets would drift too far, no
        head is left over the lift, or the grown flow would leave the pump's curve.

    Raises:
        ValueError: for an allowance outside 0 to 1 or a negative swing.
    """
    if not 0.0 < allowed < 1.0 or swing_m < 0.0:
        raise ValueError("the allowed drift lies between 0 and 1, the swing is 0 or more")
    authority = np.full(flow_m3_s.shape, np.nan)
    possible = (residual_m > 0.0) & (flow_m3_s * (1.0 + allowed) <= pump.end_flow_m3_s)
    if possible.any():
        flows, residuals = flow_m3_s[possible], residual_m[possible]
        rising = _needed(pump, flows, residuals, swing_m, 1.0 + allowed)
        falling = _needed(pump, flows, residuals, -swing_m, 1.0 - allowed)
        authority[possible] = np.maximum(rising, falling)
    return authority


def uniform_growth(
    pump: PumpCurve, flow_m3_s: Array, residual_m: Array, rise_m: float, limit: float
) -> Array:
    """Return the common factor X between 1 and ``limit`` by which flows change; NaN beyond it.

    Solves ``R (X^n - 1) + H(F) - H(X F) = rise`` (see the module's text), element by element.

    Args:
        pump: the curve.
        flow_m3_s: total flows F as set, shape (n,); F times ``limit`` within the curve.
        residual_m: R, above 0, shape (n,).
        rise_m: rise of the sump, negative for a fall.
        limit: greatest factor looked for (above 1 for a rise, below 1 for a fall).
    """
    if rise_m == 0.0:
        return np.ones_like(flow_m3_s)
    head = pump.head_m(flow_m3_s)

    def excess(factor: Array, flow: Array, residual: Array, head: Array) -> Array:
        lost = residual * (factor**LEAST_EXPONENT - 1.0)
        return np.asarray(lost + head - pump.head_m(flow * factor) - rise_m)

    within = excess(np.full_like(head, limit), flow_m3_s, residual_m, head) * rise_m > 0.0
    factors = np.full(head.shape, np.nan)
    if within.any():
        args = (flow_m3_s[within], residual_m[within], head[within])
        bracket = (min(1.0, limit), max(1.0, limit))
        factors[within] = find_root(excess, bracket, args=args).x
    return factors


def _needed(
    pump: PumpCurve, flow_m3_s: Array, residual_m: Array, rise_m: float, limit: float
) -> Array:
    factor = uniform_growth(pump, flow_m3_s, residual_m, rise_m, limit)
    seen = np.abs(factor**LEAST_EXPONENT - 1.0)
    allowed = abs(limit**LEAST_EXPONENT - 1.0)
    return np.asarray(seen / (allowed - seen))
