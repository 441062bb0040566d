"""Inflows come in whole steps, and only those that keep every margin are listed for a bed."""

from __future__ import annotations

import math

from optimizer.formulate.bed_kind import FittedBed, inflow_margins
from optimizer.records.design import Window
from optimizer.records.site import Goals

FLOW_STEP_M3_S = 0.1 / 60_000.0
"""Inflows are whole steps of 0.1 L/min, finer than a bucket and a watch can set."""

GRID_INFLOWS = 5
"""Inflows listed, from least to greatest, where more flow may draw less power."""

ANY_INFLOW = Window(0.0, math.inf)


def inflow_steps(fitted: FittedBed, goals: Goals, *, least_is_best: bool) -> list[int]:
    """Return the inflows to list for a fitted bed, in whole steps; none where none is allowed."""
    allowed = allowed_steps(fitted.settings, fitted.target, goals)
    if allowed is None:
        return []
    least, most = allowed
    if least_is_best:
        return [least]
    shares = (i / (GRID_INFLOWS - 1) for i in range(GRID_INFLOWS))
    return sorted({least + round(share * (most - least)) for share in shares})


def allowed_steps(settings: Window, target: Window, goals: Goals) -> tuple[int, int] | None:
    """Return the least and greatest inflow, in whole steps, that keep every margin, or None.

    The set inflow must be one that surely works, margins counted, and, drifted with the sump's
    level and off by the valve-setting error either way, stay in the interval that meets the flood
    goal.
    """
    down, up = inflow_margins(goals)
    low = max(settings.low_m3_s, target.low_m3_s / down)
    high = min(settings.high_m3_s, target.high_m3_s / up)
    if not low < high:
        return None
    least = math.ceil(low / FLOW_STEP_M3_S)
    most = math.floor(high / FLOW_STEP_M3_S)
    return (least, most) if least <= most else None
