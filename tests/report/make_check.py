"""Build a small CheckReport for a hand-built design: invented findings, true runs."""

from __future__ import annotations

from optimizer.physics.pump import PumpCurve
from optimizer.records.check import BedRun, CheckReport, Finding
from optimizer.records.design import Bed, Design

SHARES = (0.96, 1.0, 1.05)


def make_check(design: Design, failing: str | None = None) -> CheckReport:
    """Two findings a bed, one for the sump and one for the pump; one bed may be made to fail."""
    runs = tuple(_run(design, bed) for bed in design.beds)
    findings = [each for run in runs for each in _of_bed(design, run, run.bed != failing)]
    sump, pump = design.sump, design.pump
    dry = "nothing overflows after a power cut"
    findings.append(Finding("sump", dry, sump.depth_m, sump.power_cut_m, "m", 0.0, True))
    end = pump.flows_m3_s[-1]
    inside = "runs inside its curve"
    findings.append(Finding("pump", inside, end, pump.duty_flow_m3_s, "m3/s", 0.0, True))
    curve = PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts, pump.count)
    flows = tuple(pump.duty_flow_m3_s * share for share in SHARES)
    heads = tuple(float(curve.head_m(q)) for q in flows)
    watts = tuple(float(curve.watts_at(q)) for q in flows)
    return CheckReport(tuple(findings), runs, flows, heads, watts)


def _run(design: Design, bed: Bed) -> BedRun:
    kind = next(kind for kind in design.kinds if kind.id == bed.kind)
    q, siphon = kind.inflow_m3_s, kind.siphon
    flows = tuple(q * share for share in SHARES)
    floods = tuple(siphon.floods_per_hour(flow) for flow in flows)
    return BedRun(bed.id, flows, floods, siphon.fill_s(q), siphon.drain_s(q), bed.valve_opening)


def _of_bed(design: Design, run: BedRun, holds: bool) -> list[Finding]:
    kind = next(k for b in design.beds if b.id == run.bed for k in design.kinds if k.id == b.kind)
    least, high = design.promise.floods_per_hour_least, kind.windows["nominal"].high_m3_s
    often, stays = "floods often enough", "inflow stays below the stop flow"
    floods, flow = min(run.floods_per_hour), max(run.inflow_m3_s)
    return [
        Finding(run.bed, often, least, floods, "1/h", 0.0, True),
        Finding(run.bed, stays, high, flow if holds else 2.0 * high, "m3/s", 0.0, holds),
    ]
