"""How a system runs as it stands: every bed's inflow and margin, the sump's range."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.mend.as_built import losses_at
from optimizer.records.design import Bed, BedKind, Design
from optimizer.records.mending import BedState
from optimizer.simulate.operating_point import OperatingPoint, operating_point
from optimizer.simulate.tolerances import FLOODS_SHARE, INFLOW_SHARE, ROUNDING


@dataclass(frozen=True)
class Running:
    """A system with its valves at given openings: its operating points and its beds."""

    design: Design
    openings: Mapping[str, float]
    points: tuple[OperatingPoint, OperatingPoint, OperatingPoint]
    beds: tuple[BedState, ...]

    def bed(self, name: str) -> BedState:
        """Return how a bed runs."""
        return next(bed for bed in self.beds if bed.bed == name)


def running(
    design: Design, openings: Mapping[str, float], refused: Mapping[str, str] | None = None
) -> Running:
    """Return how a system runs with its valves at given openings.

    Args:
        design: the system; its own valve openings are not read.
        openings: bed to the share its valve is open.
        refused: beds whose siphon cannot work at all.

    Raises:
        NotSolved: if no operating point was found.
    """
    losses, sump = losses_at(design, openings), design.sump
    low, middle, high = (
        operating_point(design, losses, max(0.0, level))
        for level in (sump.lowest_m, sump.setting_m, sump.highest_m)
    )
    points = (low, middle, high)
    kinds = {kind.id: kind for kind in design.kinds}
    stuck = refused or {}
    beds = tuple(_bed_state(design, b, kinds[b.kind], points, b.id in stuck) for b in design.beds)
    return Running(design, dict(openings), points, beds)


def tank_runs_down(now: Running) -> float:
    """Return the share of what the beds take that the pump does not bring to a tank over them.

    The sump at its lowest, every valve set too wide; 0 where it brings enough, or feeds the beds.
    """
    if now.design.tank is None:
        return 0.0
    error = now.design.promise.valve_setting_error
    taken = sum(bed.inflow_m3_s[2] for bed in now.beds) * (1.0 + error)
    brought = max(0.0, now.points[0].pump_flow_m3_s)
    return max(0.0, (taken - brought) / taken) if taken > 0.0 else 0.0


def needs_m3_s(design: Design, kind: BedKind) -> tuple[float, float]:
    """Return the least and greatest true inflow at which a kind of bed works as asked."""
    window, target = kind.windows[design.promise.robustness], kind.target
    return max(window.low_m3_s, target.low_m3_s), min(window.high_m3_s, target.high_m3_s)


def _bed_state(
    design: Design,
    bed: Bed,
    kind: BedKind,
    points: tuple[OperatingPoint, ...],
    refused: bool,
) -> BedState:
    low, middle, high = (max(0.0, point.flows_m3_s[bed.drop]) for point in points)
    promise, floods_at = design.promise, kind.siphon.floods_per_hour
    error = promise.valve_setting_error
    least, most = low * (1.0 - error), high * (1.0 + error)
    window = kind.windows[promise.robustness]
    usable = window.low_m3_s < window.high_m3_s and not refused
    wanted = promise.floods_per_hour_least * (1.0 - FLOODS_SHARE)
    limit = promise.floods_per_hour_most
    often = usable and all(floods_at(q) >= wanted for q in (least, middle, most))
    seldom = limit is None or all(
        floods_at(q) <= limit * (1.0 + FLOODS_SHARE) for q in (least, middle, most)
    )
    needs = needs_m3_s(design, kind)
    if kind.target.low_m3_s >= kind.target.high_m3_s or refused:
        needs = (math.inf, 0.0)
    return BedState(
        bed=bed.id,
        inflow_m3_s=(low, middle, high),
        needs_m3_s=needs,
        floods_per_hour=0.0 if refused else floods_at(middle),
        # as near its limit as the check of a design allows
        starts=usable and least >= window.low_m3_s * (1.0 - INFLOW_SHARE) - ROUNDING,
        stops=usable and most <= window.high_m3_s * (1.0 + INFLOW_SHARE),
        floods=often and seldom,
        margin=_margin(least, most, needs),
    )


def _margin(least: float, most: float, needs: tuple[float, float]) -> float:
    """Return the share by which an inflow clears the nearer of its limits."""
    low, high = needs
    if not 0.0 < low < high:
        return -1.0
    over = (high - most) / most if most > 0.0 else math.inf
    return min((least - low) / low, over)
