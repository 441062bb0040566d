"""What simulation says of the promises about a tank that feeds the beds by gravity."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from optimizer.physics.overflow import overflow_capacity_m3_s
from optimizer.records.check import Finding
from optimizer.records.design import Design
from optimizer.records.header_tank import TANK, BuiltTank
from optimizer.simulate.bed_findings import LEVELS
from optimizer.simulate.findings import at_least, at_most, near_share
from optimizer.simulate.operating_point import OperatingPoint, operating_point, with_heads_at
from optimizer.simulate.sump_levels import highest_water_m
from optimizer.simulate.tolerances import STATED_SHARE

SUBJECT = "tank over the beds"


def tank_findings(
    design: Design, valve_losses: Mapping[str, float], points: Sequence[OperatingPoint]
) -> Iterator[Finding]:
    """Yield the findings about the tank; none where the pump feeds the beds directly.

    Args:
        design: the design.
        valve_losses: bed id to K of its valve as set.
        points: operating points at the lowest, setting and highest sump level.
    """
    if design.tank is not None:
        yield from _flow_findings(design, design.tank, points)
        weak = _off_its_curve(design, valve_losses, -_margin(design))
        yield from _taken_findings(design, weak)
        yield from _level_findings(design, design.tank)
        strong = _off_its_curve(design, valve_losses, _margin(design))
        most = strong[2].pump_flow_m3_s
        yield from _overflow_findings(design, design.tank, most)


def _margin(design: Design) -> float:
    """Return how far the pump's heads may lie off its curve under the promise."""
    promise = design.promise
    return 0.0 if promise.robustness == "nominal" else promise.pump_tolerance


def _off_its_curve(
    design: Design, valve_losses: Mapping[str, float], share: float
) -> list[OperatingPoint]:
    """Return the operating points at the three levels, the pump's heads off by a share."""
    bought = replace(design, pump=with_heads_at(design.pump, 1.0 + share))
    sump = design.sump
    levels = (sump.lowest_m, sump.setting_m, sump.highest_m)
    return [operating_point(bought, valve_losses, level) for level in levels]


def _flow_findings(
    design: Design, tank: BuiltTank, points: Sequence[OperatingPoint]
) -> Iterator[Finding]:
    for level, stated, point in zip(LEVELS, tank.pump_flow_m3_s, points, strict=True):
        brought = point.pump_flow_m3_s
        promise = f"pump's flow at the {level} level, as stated"
        yield near_share(SUBJECT, promise, stated, brought, "m3/s", share=STATED_SHARE)


def _taken_findings(design: Design, weak: Sequence[OperatingPoint]) -> Iterator[Finding]:
    """A weak pump brings more than the beds take with every valve set too wide: it overflows.

    So the level stands, and inflows depend on nothing below the tank.
    """
    for level, point in zip(LEVELS, weak, strict=True):
        taken = sum(point.flows_m3_s[bed.drop] for bed in design.beds)
        most = taken * (1.0 + design.promise.valve_setting_error)
        promise = f"overflows at the {level} level, pump weak and valves set too wide"
        yield at_least(SUBJECT, promise, most, point.pump_flow_m3_s, "m3/s")


def _level_findings(design: Design, tank: BuiltTank) -> Iterator[Finding]:
    promise = "riser ends over its water"
    yield at_least(SUBJECT, promise, tank.water_level_m, tank.inlet_level_m, "m")
    water_m = highest_water_m(design)
    yield at_least(
        SUBJECT, "outlet above the sump's highest water", water_m, tank.outlet_level_m, "m"
    )
    if design.fish is not None and design.fish.feeds_beds:
        gap_m = abs(design.fish.water_level_m - tank.water_level_m)
        yield at_most(SUBJECT, "its water is the fish tank's", 0.0, gap_m, "m")


def _overflow_findings(design: Design, tank: BuiltTank, most_m3_s: float) -> Iterator[Finding]:
    """The overflow takes all that a strong pump brings, as when every valve is shut."""
    riser = next(s for s in design.stretches if s.head == TANK)
    fall_m = tank.water_level_m - riser.points[1][2]
    slope = max(0.0, fall_m / tank.overflow_length_m)
    capacity = overflow_capacity_m3_s(tank.overflow_bore_m, slope, tank.overflow_manning_n)
    promise = "overflow pipe takes all that the pump brings"
    yield at_least(SUBJECT, promise, most_m3_s, capacity, "m3/s")
    promise = "overflow it is sized for"
    yield at_least(SUBJECT, promise, most_m3_s, tank.overflow_m3_s, "m3/s")
