"""A design that stands, met by another physics or another goal: which promises it then breaks.

The parts stay as they were built and the water as it was filled; every valve is set again, by
bucket and watch, to the inflow it had. What a design only states (windows, losses, levels) is
stated anew from the changed physics, so that a failed finding is a promise broken and not an old
figure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from optimizer.explore.point import growing_area_m2
from optimizer.formulate.assemble import promise_of
from optimizer.formulate.bed_kind import bed_kind, fit_bed
from optimizer.job import Job
from optimizer.records.check import Finding
from optimizer.records.design import BedKind, BuiltStretch, Design
from optimizer.simulate.check import check_design
from optimizer.simulate.edge_losses import pipes_of
from optimizer.simulate.operating_point import valve_resistance_s2_m5
from optimizer.simulate.returns import beds_above, burst_of, bursts_m3_s
from optimizer.simulate.sump_levels import sump_levels
from optimizer.simulate.valves import set_valves

AREA_ROUNDING_M2 = 1e-6


def standing_under(design: Design, job: Job) -> Design:
    """Return a design as it would be described if built where a changed job is the truth.

    Args:
        design: the design, made for the job before the change.
        job: the changed job; it knows every part of the design.
    """
    promise = promise_of(job.site)
    kinds = tuple(_kind(kind, job) for kind in design.kinds)
    stretches = tuple(_rough(stretch, job) for stretch in design.stretches)
    made = replace(design, promise=promise, kinds=kinds, stretches=stretches)
    return _with_drains(_with_valves(_with_losses(_with_levels(made))))


def broken_promises(design: Design, job: Job) -> tuple[Finding, ...]:
    """Return the findings that fail for a design standing under a changed job.

    The check is the steady one (three sump levels); a day is not simulated.
    """
    check = check_design(standing_under(design, job))
    return (*check.failures, *_goals_missed(design, job))


def _goals_missed(design: Design, job: Job) -> Iterator[Finding]:
    """Yield the goals of the whole site that the design does not reach; a check knows no goals."""
    goals = job.site.goals
    area, beds = growing_area_m2(design), float(len(design.beds))
    for promise, wanted, there, unit in (
        ("growing area as asked for", goals.growing_area_least_m2, area, "m2"),
        ("beds as asked for", float(goals.beds_least), beds, ""),
    ):
        if there < wanted - AREA_ROUNDING_M2:
            yield Finding("site", promise, wanted, there, unit, 0.0, passed=False)


def broken_words(findings: tuple[Finding, ...]) -> str:
    """Return broken promises in one line, each once with the number of places it is broken at."""
    counts: dict[str, int] = {}
    for finding in findings:
        counts[finding.promise] = counts.get(finding.promise, 0) + 1
    return "; ".join(f"{promise} ({n} x)" if n > 1 else promise for promise, n in counts.items())


def _kind(kind: BedKind, job: Job) -> BedKind:
    bed_type = next(each for each in job.site.bed_types if each.id == kind.id)
    fitted = fit_bed(job.site, bed_type, job.catalog.kits[kind.kit], job.catalog)
    return bed_kind(fitted, kind.inflow_m3_s, job.catalog)


def _rough(stretch: BuiltStretch, job: Job) -> BuiltStretch:
    return replace(stretch, roughness_m=job.catalog.pipes[stretch.pipe].roughness_m)


def _with_levels(design: Design) -> Design:
    """The water is as filled; a bed that holds more or less moves the sump's lowest level."""
    true = sump_levels(design)
    sump = replace(
        design.sump,
        lowest_m=true.lowest_m,
        highest_m=true.highest_m,
        power_cut_m=true.power_cut_m,
    )
    return replace(design, sump=sump)


def _with_losses(design: Design) -> Design:
    pipes = pipes_of(design.stretches, design.promise.water_temperature_c)
    open_valves = {
        bed.drop: valve_resistance_s2_m5(bed.valve_losses[-1], bed.valve_bore_m)
        for bed in design.beds
    }
    losses = pipes.head_loss_m(np.array([s.flow_m3_s for s in design.stretches]))
    stretches = tuple(
        replace(s, loss_m=float(loss) + open_valves.get(s.id, 0.0) * s.flow_m3_s**2)
        for s, loss in zip(design.stretches, losses, strict=True)
    )
    return replace(design, stretches=stretches)


def _with_valves(design: Design) -> Design:
    settings = set_valves(design).settings
    beds = tuple(
        replace(
            bed,
            valve_head_m=settings[bed.id].head_m,
            valve_opening=settings[bed.id].opening,
        )
        for bed in design.beds
    )
    return replace(design, beds=beds)


def _with_drains(design: Design) -> Design:
    bursts = {kind.id: burst_of(kind) for kind in design.kinds}
    above = beds_above(design)
    drains = tuple(
        replace(
            drain,
            bursts_m3_s=bursts_m3_s([bursts[bed.kind] for bed in above[drain.id]], design.promise),
        )
        for drain in design.drains
    )
    return replace(design, drains=drains)
