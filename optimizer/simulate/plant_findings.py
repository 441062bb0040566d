"""What simulation says of the promises about pump, sump, energy and money."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from optimizer.physics.bed import SiphonBed
from optimizer.records.check import Finding
from optimizer.records.design import Design
from optimizer.simulate.bed_findings import LEVELS
from optimizer.simulate.findings import at_least, at_most, near, near_share
from optimizer.simulate.operating_point import OperatingPoint, pump_curve
from optimizer.simulate.tolerances import ENERGY_SHARE, SUMP_LEVEL_M, WATTS_SHARE

_HOURS_PER_KILO = 365.0 / 1000.0
"""Days of a year over watts of a kilowatt."""


def pump_watts(design: Design, flow_m3_s: float) -> float:
    """Return the watts of all pumps at a flow; off the curve, those at its nearer end."""
    curve = pump_curve(design.pump)
    return curve.watts_at(min(max(flow_m3_s, 0.0), curve.end_flow_m3_s))


def pump_findings(design: Design, points: Sequence[OperatingPoint]) -> Iterator[Finding]:
    """Yield the findings about the pump at the lowest, setting and highest level."""
    pump = design.pump
    end = pump_curve(pump).end_flow_m3_s
    for level, point in zip(LEVELS, points, strict=True):
        promise = f"duty inside its curve at the {level} level"
        yield at_most(pump.id, promise, end, point.pump_flow_m3_s, "m3/s")
    yield at_least(
        pump.id,
        "submerged at the lowest level",
        pump.submergence_m,
        design.sump.lowest_m,
        "m",
    )
    watts = pump_watts(design, points[1].pump_flow_m3_s)
    yield near_share(pump.id, "watts at the duty", pump.duty_watts, watts, "W", share=WATTS_SHARE)


def sump_findings(design: Design) -> Iterator[Finding]:
    """Yield the findings about the sump's levels, recomputed from the water in the system."""
    sump = design.sump
    area_m2, pipes_m3 = sump.area_m2 * sump.count, _pipes_m3(design)
    highest_m = (sump.fill_m3 - pipes_m3) / area_m2
    lowest_m = highest_m - (_held_m3(design) + sump.lost_m3) / area_m2
    power_cut_m = highest_m + design.promise.drain_back_share * pipes_m3 / area_m2
    dry_m = sump.depth_m - sump.freeboard_m
    name, shown = sump.id, SUMP_LEVEL_M
    yield near(name, "lowest level, all beds full", sump.lowest_m, lowest_m, "m", tolerance=shown)
    yield near(
        name, "highest level, all beds drained", sump.highest_m, highest_m, "m", tolerance=shown
    )
    yield near(name, "level after a power cut", sump.power_cut_m, power_cut_m, "m", tolerance=shown)
    yield at_most(name, "freeboard kept after a power cut", dry_m, power_cut_m, "m")
    yield at_most(name, "no overflow after a power cut", sump.depth_m, power_cut_m, "m")


def money_findings(design: Design, setting: OperatingPoint) -> Iterator[Finding]:
    """Yield the findings about a year's energy and the sum of the bill."""
    watts = pump_watts(design, setting.pump_flow_m3_s)
    hours = design.promise.pump_hours_per_day
    energy = watts * hours * _HOURS_PER_KILO
    stated = design.energy_kwh_per_year
    yield near_share(design.pump.id, "energy in a year", stated, energy, "kWh", share=ENERGY_SHARE)
    cents = sum(line.cents for line in design.costs)
    promised = design.record.cost_cents
    passed = cents == promised
    yield Finding("cost", "cost lines add up", float(promised), float(cents), "cents", 0.0, passed)


def _pipes_m3(design: Design) -> float:
    return sum(math.pi / 4.0 * s.bore_m**2 * s.length_m for s in design.stretches)


def _held_m3(design: Design) -> float:
    held = {kind.id: _flood_m3(kind.siphon) for kind in design.kinds}
    return sum(held[bed.kind] for bed in design.beds)


def _flood_m3(siphon: SiphonBed) -> float:
    """Return the water a full bed gives back: its store from prime level to drain level."""
    return siphon.store_m2 * (siphon.prime_level_m - siphon.drain_level_m)
