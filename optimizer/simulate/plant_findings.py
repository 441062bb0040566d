"""What simulation says of the promises about pump, sump, energy and money."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.records.check import Finding
from optimizer.records.design import Design
from optimizer.simulate.bed_findings import LEVELS
from optimizer.simulate.findings import at_least, at_most, near, near_share
from optimizer.simulate.operating_point import OperatingPoint, pump_curve
from optimizer.simulate.stated_findings import pump_statements
from optimizer.simulate.sump_levels import sump_levels
from optimizer.simulate.tolerances import ENERGY_SHARE, SUMP_LEVEL_M, WATTS_SHARE

DAYS_PER_YEAR = 365.0


def pump_watts(design: Design, flow_m3_s: float) -> float:
    """Return the watts of all pumps at a flow; off the curve, those at its nearer end."""
    curve = pump_curve(design.pump)
    return curve.watts_at(min(max(flow_m3_s, 0.0), curve.end_flow_m3_s))


def kwh_per_year(design: Design, watts: float) -> float:
    """Return the energy of a year that something draws while the pump runs, as long as promised."""
    return watts / 1000.0 * design.promise.pump_hours_per_day * DAYS_PER_YEAR


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
    yield from pump_statements(pump, points[1])
    watts = pump_watts(design, points[1].pump_flow_m3_s)
    yield near_share(pump.id, "watts at the duty", pump.duty_watts, watts, "W", share=WATTS_SHARE)


def sump_findings(design: Design) -> Iterator[Finding]:
    """Yield the findings about the sump's levels, recomputed from the water in the system."""
    sump, true = design.sump, sump_levels(design)
    dry_m = sump.depth_m - sump.freeboard_m
    name, shown = sump.id, SUMP_LEVEL_M
    full = "all beds full" if design.promise.held == "worst" else "beds as full as promised"
    yield near(name, f"lowest level, {full}", sump.lowest_m, true.lowest_m, "m", tolerance=shown)
    yield near(
        name,
        "highest level, all beds drained",
        sump.highest_m,
        true.highest_m,
        "m",
        tolerance=shown,
    )
    yield near(
        name, "level after a power cut", sump.power_cut_m, true.power_cut_m, "m", tolerance=shown
    )
    yield at_most(name, "freeboard kept after a power cut", dry_m, true.power_cut_m, "m")
    yield at_most(name, "no overflow after a power cut", sump.depth_m, true.power_cut_m, "m")


def money_findings(design: Design, setting: OperatingPoint) -> Iterator[Finding]:
    """Yield the findings about a year's energy and the sum of the bill."""
    energy = kwh_per_year(design, pump_watts(design, setting.pump_flow_m3_s))
    stated = design.energy_kwh_per_year
    yield near_share(design.pump.id, "energy in a year", stated, energy, "kWh", share=ENERGY_SHARE)
    cents = sum(line.cents for line in design.costs)
    promised = design.record.cost_cents
    passed = cents == promised
    yield Finding("cost", "cost lines add up", float(promised), float(cents), "cents", 0.0, passed)
