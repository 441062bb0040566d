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

from scipy.optimize import brentq

from optimizer.physics.pump import PumpCurve

LEAST_EXPONENT = 1.75
"""Growth of loss with flow in smooth turbulent pipe: Blasius's friction factor f ~ Re^-0.25."""


def valve_authority(
    pump: PumpCurve, flow_m3_s: float, residual_m: float, swing_m: float, allowed: float
) -> float | None:
    """Return the least head at a take-off per metre its outlet lies above the lowest outlet.

    Args:
        pump: the curve, pumps in parallel included.
        flow_m3_s: total flow as set.
        residual_m: pump head less the lift to the lowest outlet, sump at the setting level.
        swing_m: greatest rise or fall of the sump from the setting level.
        allowed: allowed relative drift of any inflow, for example 0.08.

    Returns:
        The authority (0 or more), or None where even level outlets would drift too far, or the
        grown flow would leave the pump's curve.
    """
    if residual_m <= 0.0 or not 0.0 < allowed < 1.0:
        return None
    if flow_m3_s * (1.0 + allowed) > pump.end_flow_m3_s:
        return None
    rise = _needed(pump, flow_m3_s, residual_m, swing_m, 1.0 + allowed)
    fall = _needed(pump, flow_m3_s, residual_m, -swing_m, 1.0 - allowed)
    return None if rise is None or fall is None else max(rise, fall)


def uniform_growth(
    pump: PumpCurve, flow_m3_s: float, residual_m: float, rise_m: float, limit: float
) -> float | None:
    """Return the common factor X by which flows change between 1 and ``limit``, or None beyond it.

    Solves ``R (X^n - 1) + H(F) - H(X F) = rise`` (see the module's text).
    """
    head = float(pump.head_m(flow_m3_s))

    def excess(factor: float) -> float:
        lost = residual_m * (factor**LEAST_EXPONENT - 1.0)
        return lost + head - float(pump.head_m(flow_m3_s * factor)) - rise_m

    if rise_m == 0.0:
        return 1.0
    if excess(limit) * excess(1.0) >= 0.0:
        return None
    return float(brentq(excess, min(1.0, limit), max(1.0, limit), xtol=1e-12))


def _needed(
    pump: PumpCurve, flow_m3_s: float, residual_m: float, rise_m: float, limit: float
) -> float | None:
    factor = uniform_growth(pump, flow_m3_s, residual_m, rise_m, limit)
    if factor is None:
        return None
    seen = abs(factor**LEAST_EXPONENT - 1.0)
    allowed = abs(limit**LEAST_EXPONENT - 1.0)
    return seen / (allowed - seen)
