"""Hand theory: how seldom a bed can flood, and how much water a goal needs at least."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from optimizer import SiphonBed


def water_per_flood_m3(bed: SiphonBed) -> float:
    """Return the water between the slots and the crest: what a flood moves at least."""
    return bed.area_m2 * bed.porosity * (bed.crest_level_m - bed.drain_level_m)


def full_flow_m3_s(bed: SiphonBed) -> float:
    """Return the mean of the siphon's full flow at the crest and at the slots."""
    return 0.5 * (bed.discharge_m3_s(bed.crest_level_m) + bed.discharge_m3_s(bed.drain_level_m))


def expected(bed: SiphonBed) -> dict[str, Any]:
    """Return the figures of a bed that theory needs."""
    return {
        "water_per_flood_l": 1000.0 * water_per_flood_m3(bed),
        "bore_mm": 1000.0 * bed.bore_m,
        "start_l_min": 60_000.0 * bed.start_flow_m3_s,
        "full_l_min": 60_000.0 * full_flow_m3_s(bed),
    }


def hand_floods(step: Mapping[str, float]) -> float:
    """Return the floods an hour of a step by rule of three: V/q to fill, V/(Q - q) to drain.

    Q is the siphon's mean full flow. The rim and the falling discharge are left out, so that this
    is a check of size only.

    Args:
        step: a row of the table of steps.
    """
    volume, inflow = step["water_per_flood_l"], step["inflow_l_min"]
    return 60.0 / (volume / inflow + volume / (step["full_l_min"] - inflow))
