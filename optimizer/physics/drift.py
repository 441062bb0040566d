"""How far inflows drift when the sump's level moves away from where the valves were set.

Set all valves with the sump at one level, then let it rise by ``s``. The pump lifts less, so every
flow grows. Write ``H`` for the pump's head at the set total flow ``F``, ``Z`` for the lowest
outlet, ``R = H - Z``, heads as heights over ``Z``. Every loss grows with flow by a local power
between a = 1.70 (smooth turbulent pipe) and b = 2 (fittings, valves, rough pipe).

1. Pipes in series or side by side have together a local power between a and b again (series: the
   mean weighted by loss; side by side: the harmonic mean weighted by flow). So with level outlets
   the total flow grows at least by the factor ``Y`` of ``R (Y^b - 1) + H(F) - H(Y F) = s``, and the
   head at the pump, over ``Z``, at most by the ratio ``Y^b``.
2. An outlet ``D`` above ``Z`` has a valve that takes ``D`` less. Its branch draws more for each
   share of head, so the total flow grows by more, and the head at the pump by no more.
3. The head at a take-off, ``V`` over its outlet, grows by the ratio ``Y^b`` at most where pipe
   upstream and downstream of every junction share one power. So the bed's factor ``x`` keeps
   ``V (x^a - 1) <= (V + D) (Y^b - 1)``.
4. Asking ``x <= 1 + g`` therefore asks ``V >= D t / (u - t)`` with ``t = Y^b - 1`` and
   ``u = (1 + g)^a - 1``. The factor before ``D`` is the *authority* the valve needs.

A falling level is the same with signs turned. Step 3 is the one that is not proven for mixed
powers: where header friction (power a) takes all but a share ``(V + D) / R`` of the head and the
beds are valves (power b), a take-off's head may grow by ``Y^b`` to the power ``((V + D) / R)^-c``,
c = 1 - a/b. A bed whose own loss grows with the square has x^2, not x^a, in step 3, which covers
this down to a share of a third. The check of a design holds every bed's true drift against g.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.physics.pump import PumpCurve
from optimizer.physics.roots import rising_roots

LEAST_EXPONENT = 1.70
"""Least power of loss with flow in turbulent pipe (a).

Smooth pipe at Re 4000 by the Prandtl-Karman limit of Colebrook's formula: differentiating
1/sqrt(f) = 2 log10(Re sqrt(f)) - 0.8 gives d ln f / d ln Re = -0.296 there (our arithmetic).
"""

GREATEST_EXPONENT = 2.0
"""Greatest power of loss with flow (b): fittings, valves and rough pipe."""


def valve_authority(
    pump: PumpCurve, flow_m3_s: Array, residual_m: Array, swing_m: float | Array, allowed: float
) -> Array:
    """Return the least head at a take-off per metre its outlet lies above the lowest outlet.

    Args:
        pump: the curve, pumps in parallel included.
        flow_m3_s: total flows as set, shape (n,), within the curve.
        residual_m: pump head less the lift to the lowest outlet, sump at the setting level, (n,).
        swing_m: greatest rise or fall of the sump from the setting level, 0 or more; one for all
            or shape (n,).
        allowed: allowed relative drift of any inflow, between 0 and 1, for example 0.08.

    Returns:
        The authority (0 or more), shape (n,); NaN where even level outlets would drift too far, no
        head is left over the lift, or the grown flow would leave the pump's curve.

    Raises:
        ValueError: for an allowance outside 0 to 1 or a negative swing.
    """
    swings = np.broadcast_to(np.asarray(swing_m, dtype=np.float64), flow_m3_s.shape)
    if not 0.0 < allowed < 1.0 or np.any(swings < 0.0):
        raise ValueError("the allowed drift lies between 0 and 1, the swing is 0 or more")
    authority = np.full(flow_m3_s.shape, np.nan)
    possible = (residual_m > 0.0) & (flow_m3_s * (1.0 + allowed) <= pump.end_flow_m3_s)
    if possible.any():
        flows, residuals, swings = flow_m3_s[possible], residual_m[possible], swings[possible]
        rising = _needed(pump, flows, residuals, swings, 1.0 + allowed)
        falling = _needed(pump, flows, residuals, -swings, 1.0 - allowed)
        authority[possible] = np.maximum(rising, falling)
    return authority


def uniform_growth(
    pump: PumpCurve, flow_m3_s: Array, residual_m: Array, rise_m: float | Array, limit: float
) -> Array:
    """Return the factor Y between 1 and ``limit`` by which flows change where losses are square.

    Solves ``R (Y^b - 1) + H(F) - H(Y F) = rise`` (see the module's text), element by element; NaN
    where Y would lie beyond the limit.

    Args:
        pump: the curve.
        flow_m3_s: total flows F as set, shape (n,); F times ``limit`` within the curve.
        residual_m: R, above 0, shape (n,).
        rise_m: rise of the sump, negative for a fall; one for all or shape (n,), of one sign.
        limit: greatest factor looked for (above 1 for a rise, below 1 for a fall).
    """
    rises = np.broadcast_to(np.asarray(rise_m, dtype=np.float64), flow_m3_s.shape)
    head = pump.head_m(flow_m3_s)
    most = residual_m * (limit**GREATEST_EXPONENT - 1.0) + head - pump.head_m(flow_m3_s * limit)
    within = np.flatnonzero((most - rises) * np.sign(limit - 1.0) > 0.0)
    factors = np.full(head.shape, np.nan)
    flow, residual, head, rise = (v[within] for v in (flow_m3_s, residual_m, head, rises))

    def excess(factor: Array) -> tuple[Array, Array]:
        lost = residual * (factor**GREATEST_EXPONENT - 1.0)
        steeper = GREATEST_EXPONENT * residual * factor ** (GREATEST_EXPONENT - 1.0)
        grown = flow * factor
        return lost + head - pump.head_m(grown) - rise, steeper - flow * pump.head_slope(grown)

    if len(within):
        low, high = np.full(flow.shape, min(1.0, limit)), np.full(flow.shape, max(1.0, limit))
        factors[within] = rising_roots(excess, low, high)
    return factors


def _needed(
    pump: PumpCurve, flow_m3_s: Array, residual_m: Array, rise_m: Array, limit: float
) -> Array:
    """Return t / (u - t); NaN where t is not below u."""
    factor = uniform_growth(pump, flow_m3_s, residual_m, rise_m, limit)
    seen = np.abs(factor**GREATEST_EXPONENT - 1.0)
    allowed = abs(limit**LEAST_EXPONENT - 1.0)
    needed = np.full(factor.shape, np.nan)
    enough = seen < allowed
    needed[enough] = seen[enough] / (allowed - seen[enough])
    return needed
