"""A design one zone at a time: what each has in its turn, and all of it put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from optimizer.physics.bed import SiphonBed
from optimizer.physics.turn import floods_per_hour_surely
from optimizer.records.design import Design
from optimizer.simulate.operating_point import OperatingPoint, operating_point


def zone_designs(design: Design) -> tuple[Design, ...]:
    """Return a design in zones as it runs in the turn of each: its beds and the pipe to them."""
    assert design.zones is not None
    return tuple(with_rows(design, zone.rows) for zone in design.zones.zones)


def with_rows(design: Design, rows: Sequence[str]) -> Design:
    """Return the beds of some rows with the pipe that leads to them, and no zones any more."""
    beds = tuple(bed for bed in design.beds if bed.row in rows)
    into: dict[str, list[str]] = {}
    tails = {stretch.id: stretch.tail for stretch in design.stretches}
    for stretch in design.stretches:
        into.setdefault(stretch.head, []).append(stretch.id)
    reached: set[str] = set()
    waiting = [bed.drop for bed in beds]
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting += into.get(tails[name], [])
    stretches = tuple(stretch for stretch in design.stretches if stretch.id in reached)
    return replace(design, beds=beds, stretches=stretches, zones=None)


def point_in_turns(
    design: Design, valve_losses: Mapping[str, float], sump_level_m: float
) -> OperatingPoint:
    """Return the operating point; where zones turn, the greatest flow of each stretch in any turn.

    Pump flow and head are those of the turn in which it moves most; a drop has flow in one turn.

    Args:
        design: the design.
        valve_losses: bed id to the valve's K.
        sump_level_m: water level above the sump's floor.

    Raises:
        NotSolved: if none was found.
        BadInput: if some pipe is not joined to the pump.
    """
    if design.zones is None:
        return operating_point(design, valve_losses, sump_level_m)
    return greatest_of(
        [operating_point(each, valve_losses, sump_level_m) for each in zone_designs(design)]
    )


def greatest_of(points: Sequence[OperatingPoint]) -> OperatingPoint:
    """Return operating points of several turns as one: the greatest flow of each stretch."""
    flows: dict[str, float] = {}
    heads: dict[str, float] = {}
    for point in points:
        for name, flow in point.flows_m3_s.items():
            flows[name] = max(flow, flows.get(name, flow))
        heads |= point.heads_m
    most = max(points, key=lambda point: point.pump_flow_m3_s)
    return OperatingPoint(flows, heads, most.pump_flow_m3_s, most.pump_head_m)


def floods_per_hour(design: Design, siphon: SiphonBed, inflow_m3_s: float) -> float:
    """Return floods an hour of a bed at an inflow: whole floods in every turn where zones turn."""
    inflow = max(0.0, inflow_m3_s)
    if design.zones is None or inflow == 0.0:
        return siphon.floods_per_hour(inflow)
    return floods_per_hour_surely(siphon, inflow, design.zones.turn)
