"""Check a design: set its valves, run it at three sump levels, hold every promise against that.

The check shares with the program only the formulas of ``optimizer.physics``. It finds flows and
heads for itself, from pipes, pump curve and valves as built.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.check import BedRun, CheckReport, Finding
from optimizer.records.design import Design
from optimizer.records.design_limits import require_design
from optimizer.simulate.bed_findings import bed_findings, kind_findings
from optimizer.simulate.beds import bed_runs
from optimizer.simulate.fish_findings import fish_findings
from optimizer.simulate.in_turn import point_in_turns
from optimizer.simulate.limit_findings import limit_findings
from optimizer.simulate.operating_point import OperatingPoint
from optimizer.simulate.plant_findings import (
    money_findings,
    pump_findings,
    pump_watts,
    sump_findings,
)
from optimizer.simulate.return_findings import return_findings
from optimizer.simulate.stated_findings import bed_statements, kind_statements
from optimizer.simulate.stretch_findings import stretch_findings
from optimizer.simulate.tank_findings import tank_findings
from optimizer.simulate.valves import SetValves, set_valves
from optimizer.simulate.zone_findings import zone_findings

Points = tuple[OperatingPoint, OperatingPoint, OperatingPoint]


def check_design(design: Design) -> CheckReport:
    """Return every promise of a design held against simulation.

    Valves are set with the sump at its setting level; with those settings the operating point is
    found at the lowest, setting and highest running level.

    Args:
        design: the design to check, from the program or by hand.

    Returns:
        The report; ``passed`` says whether every promise holds.

    Raises:
        BadInput: if parts of the design refer to parts that are not there, or a figure cannot be.
        NotSolved: if no operating point was found.
    """
    require_design(design)
    valves = set_valves(design)
    points = _points(design, valves)
    runs = bed_runs(design, valves, points)
    low, middle, high = points
    return CheckReport(
        findings=tuple(_findings(design, valves, points, runs)),
        beds=runs,
        pump_flow_m3_s=(low.pump_flow_m3_s, middle.pump_flow_m3_s, high.pump_flow_m3_s),
        pump_head_m=(low.pump_head_m, middle.pump_head_m, high.pump_head_m),
        pump_watts=(_watts(design, low), _watts(design, middle), _watts(design, high)),
    )


def _points(design: Design, valves: SetValves) -> Points:
    sump, losses = design.sump, valves.losses
    return (
        point_in_turns(design, losses, sump.lowest_m),
        point_in_turns(design, losses, sump.setting_m),
        point_in_turns(design, losses, sump.highest_m),
    )


def _findings(
    design: Design, valves: SetValves, points: Points, runs: tuple[BedRun, ...]
) -> Iterator[Finding]:
    kinds = {kind.id: kind for kind in design.kinds}
    for kind in design.kinds:
        yield from kind_findings(design, kind)
        yield from kind_statements(design, kind)
    for bed, run in zip(design.beds, runs, strict=True):
        kind, setting = kinds[bed.kind], valves.settings[bed.id]
        yield from bed_findings(design, bed, kind, setting, run)
        yield from bed_statements(bed, kind, setting)
    yield from stretch_findings(design, valves, points[2])
    yield from pump_findings(design, points)
    yield from sump_findings(design)
    yield from return_findings(design)
    yield from tank_findings(design, valves.losses, points)
    yield from fish_findings(design, points[1].pump_flow_m3_s)
    yield from money_findings(design, points[1])
    yield from limit_findings(design)
    yield from zone_findings(design, valves, runs)


def _watts(design: Design, point: OperatingPoint) -> float:
    return pump_watts(design, point.pump_flow_m3_s)
