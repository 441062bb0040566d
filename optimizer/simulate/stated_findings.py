"""Figures that a design states for its builder, against those that its own parts give."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.physics.loads import load_per_support_n
from optimizer.physics.water import density_kg_m3
from optimizer.records.check import Finding
from optimizer.records.design import BUCKET_M3, Bed, BedKind, BuiltPump, Design
from optimizer.simulate.findings import at_least, near, near_share
from optimizer.simulate.in_turn import floods_per_hour
from optimizer.simulate.operating_point import OperatingPoint
from optimizer.simulate.tolerances import OPENING, STATED_SHARE
from optimizer.simulate.valves import ValveSetting


def kind_statements(design: Design, kind: BedKind) -> Iterator[Finding]:
    """Yield the findings about what a kind of bed holds, weighs and does."""
    siphon, load_n = kind.siphon, load_per_support_n(kind.wet_mass_kg, kind.supports)
    floods = floods_per_hour(design, siphon, kind.inflow_m3_s)
    yield _stated(kind.id, "growing area", kind.area_m2, siphon.area_m2, "m2")
    yield _stated(kind.id, "water of one flood", kind.held_m3, siphon.held_m3, "m3")
    yield _stated(kind.id, "floods an hour at its inflow", kind.floods_per_hour, floods, "1/h")
    yield _stated(kind.id, "load on a support", kind.load_per_support_n, load_n, "N")
    water_kg = density_kg_m3(design.promise.water_temperature_c) * siphon.held_m3
    promise = "wet bed weighs at least its water"
    yield at_least(kind.id, promise, water_kg, kind.wet_mass_kg, "kg")


def bed_statements(bed: Bed, kind: BedKind, setting: ValveSetting) -> Iterator[Finding]:
    """Yield the findings about how one bed's valve is said to be set."""
    bucket_s = BUCKET_M3 / kind.inflow_m3_s
    yield _stated(bed.id, "seconds to fill a 10 L bucket", bed.bucket_s, bucket_s, "s")
    yield _stated(bed.id, "head that its valve takes", bed.valve_head_m, setting.head_m, "m")
    promise, opening = "valve open as far as gives its inflow", setting.opening
    yield near(bed.id, promise, bed.valve_opening, opening, "share", tolerance=OPENING)


def pump_statements(pump: BuiltPump, point: OperatingPoint) -> Iterator[Finding]:
    """Yield the findings about the pump's stated duty, at the setting level."""
    yield _stated(pump.id, "flow at the duty", pump.duty_flow_m3_s, point.pump_flow_m3_s, "m3/s")
    yield _stated(pump.id, "head at the duty", pump.duty_head_m, point.pump_head_m, "m")


def _stated(subject: str, what: str, stated: float, true: float, unit: str) -> Finding:
    return near_share(subject, what, stated, true, unit, share=STATED_SHARE)
