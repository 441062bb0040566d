"""How wide the pipe must be that brings a tank's overflow back down."""

from __future__ import annotations

from optimizer.physics.part_full import full_flow_m3_s
from optimizer.physics.siphon import SELF_VENTING_FROUDE, froude_flow


def overflow_capacity_m3_s(bore_m: float, slope: float, manning_n: float) -> float:
    """Return the flow that an overflow pipe takes quietly, air and water side by side.

    The lesser of two: what its upright part takes while it still vents itself (bore Froude number
    0.30; P. D. Hills, Designing piping for gravity flow, Chemical Engineering, 5 September 1983),
    and what it carries just full at its mean slope (Manning). A pipe within both neither gulps nor
    lets the tank's level rise more than the weir at its mouth asks.

    Args:
        bore_m: inside diameter, above 0.
        slope: mean fall over length, 0 or more; above 1 counts as 1 (an upright pipe).
        manning_n: Manning's n.

    Raises:
        ValueError: for an argument outside its limits.
    """
    upright = froude_flow(SELF_VENTING_FROUDE, bore_m)
    return min(upright, float(full_flow_m3_s(bore_m, min(slope, 1.0), manning_n)))
