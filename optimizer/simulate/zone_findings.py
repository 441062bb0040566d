"""What simulation says of the promises about zones that flood in turn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimizer.physics.turn import floods_time_s, slowest_bed
from optimizer.records.check import BedRun, Finding
from optimizer.records.design import Bed, BedKind, Design
from optimizer.records.zones import BuiltZone, BuiltZones
from optimizer.simulate.findings import at_least, at_most, near_share
from optimizer.simulate.in_turn import with_rows
from optimizer.simulate.operating_point import operating_point, pump_curve
from optimizer.simulate.plant_findings import kwh_per_year, pump_watts
from optimizer.simulate.tolerances import STATED_SHARE, WATTS_SHARE
from optimizer.simulate.valves import SetValves

TIMED_VALVE = "timed_valve"
"""Name of the loss of a timed valve among the fittings of a stretch."""

OVERLAP_LEAST_S = 1.0
"""Two zones are open together at least this long, so that the pump never works against all shut."""

SUBJECT = "zones"


def zone_findings(design: Design, valves: SetValves, runs: tuple[BedRun, ...]) -> Iterator[Finding]:
    """Yield the findings about turns, timed valves and the pump in every turn; none without zones.

    Args:
        design: the design.
        valves: the beds' valves as set.
        runs: the beds as they run.
    """
    zones = design.zones
    if zones is None:
        return
    yield from _turn_findings(design, zones)
    kinds = {kind.id: kind for kind in design.kinds}
    for bed, run in zip(design.beds, runs, strict=True):
        yield from _bed_findings(design, zones, bed, kinds[bed.kind], run)
    for zone in zones.zones:
        yield from _pump_findings(design, zone, valves)
    yield from _valve_findings(design, zones)


def _turn_findings(design: Design, zones: BuiltZones) -> Iterator[Finding]:
    floods, least = 3600.0 * zones.floods / zones.rotation_s, design.promise.floods_per_hour_least
    yield at_least(SUBJECT, "floods an hour over a whole rotation", least, floods, "1/h")
    overlap = "time for which two zones are open while valves move"
    yield at_least(SUBJECT, overlap, OVERLAP_LEAST_S, zones.change_s, "s")
    number = float(len(zones.zones))
    yield at_least(zones.timer, "stations of the timer", number, float(zones.stations), "stations")


def _bed_findings(
    design: Design, zones: BuiltZones, bed: Bed, kind: BedKind, run: BedRun
) -> Iterator[Finding]:
    """Empty to its floor and as slow as its bands may make it, a bed is done in its turn."""
    name, error = design.promise.robustness, design.promise.valve_setting_error
    slow = slowest_bed(kind.siphon, kind.start_froude, kind.loss_coefficient, kind.porosity, name)
    ends = (run.inflow_m3_s[0] * (1.0 - error), run.inflow_m3_s[2] * (1.0 + error))
    for end, inflow in zip(("least", "greatest"), ends, strict=True):
        needed = floods_time_s(slow, inflow, zones.floods) if inflow > 0.0 else float("inf")
        promise = f"floods of a turn from empty at its {end} inflow"
        yield at_most(bed.id, promise, zones.turn.open_s, needed, "s")
    yield from _way_findings(design, zones, bed)


def _way_findings(design: Design, zones: BuiltZones, bed: Bed) -> Iterator[Finding]:
    """Its water passes a timed valve of its own zone, and none that is shut in its turn."""
    way = {stretch.id for stretch in with_rows(replace(design, beds=(bed,)), (bed.row,)).stretches}
    passed = [valve.zone for valve in zones.valves if valve.stretch in way]
    mine = zones.zone_of(bed.row).id
    own = float(sum(zone == mine for zone in passed))
    yield at_least(bed.id, "timed valves of its zone on its way", 1.0, own, "valves")
    others = float(len(passed)) - own
    yield at_most(bed.id, "timed valves of other zones on its way", 0.0, others, "valves")


def _pump_findings(design: Design, zone: BuiltZone, valves: SetValves) -> Iterator[Finding]:
    """The pump in a zone's turn does as stated, and stays on its curve with the sump full."""
    part, sump = with_rows(design, zone.rows), design.sump
    setting = operating_point(part, valves.losses, sump.setting_m)
    highest = operating_point(part, valves.losses, sump.highest_m)
    flow, share = setting.pump_flow_m3_s, STATED_SHARE
    yield near_share(zone.id, "pump's flow in its turn", zone.flow_m3_s, flow, "m3/s", share=share)
    head = setting.pump_head_m
    yield near_share(zone.id, "pump's head in its turn", zone.head_m, head, "m", share=share)
    watts = pump_watts(design, flow)
    promise = "pump's watts in its turn"
    yield near_share(zone.id, promise, zone.watts, watts, "W", share=WATTS_SHARE)
    end, promise = pump_curve(design.pump).end_flow_m3_s, "pump inside its curve in its turn"
    yield at_most(zone.id, promise, end, highest.pump_flow_m3_s, "m3/s")
    promise = "flow in its turn no more than the pump was chosen for"
    most = design.pump.duty_flow_m3_s
    yield at_most(zone.id, promise, most, flow, "m3/s", share=share)


def _valve_findings(design: Design, zones: BuiltZones) -> Iterator[Finding]:
    """Each timed valve's loss is counted where it stands, and its power as it is open."""
    stretches = {stretch.id: stretch for stretch in design.stretches}
    for valve in zones.valves:
        fittings = stretches[valve.stretch].fittings
        counted = float(sum(each.count for each in fittings if each.name == TIMED_VALVE))
        yield at_least(valve.stretch, "loss of its timed valve counted", 1.0, counted, "valves")
    energy = kwh_per_year(design, zones.valve_watts * len(zones.valves) / len(zones.zones))
    promise, stated = "energy of timed valves in a year", zones.valves_kwh_per_year
    yield near_share(SUBJECT, promise, stated, energy, "kWh", share=STATED_SHARE)
