"""What recomputation says of the promises about the return pipes and the siphons above them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from optimizer.physics.slopes import least_slope
from optimizer.records.check import Finding
from optimizer.records.design import DRAIN_END, Bed, BedKind, BuiltDrain, Design
from optimizer.simulate.findings import at_least, at_most, near, near_share
from optimizer.simulate.returns import (
    Burst,
    beds_above,
    burst_of,
    bursts_m3_s,
    fall_m,
    route_m,
    slope_of,
    true_capacity_m3_s,
)
from optimizer.simulate.sump_levels import highest_water_m
from optimizer.simulate.tolerances import (
    BUILT_LEVEL_M,
    DRAIN_STEP_M,
    STATED_SHARE,
    VENT_GAP_LEAST_M,
)

_FLOW, _LENGTH = "m3/s", "m"


def return_findings(design: Design) -> Iterator[Finding]:
    """Yield the findings about every siphon's outlet and every stretch of return pipe.

    Args:
        design: the design; where it has no return pipe only the outlets' levels are looked at.
    """
    water_m = highest_water_m(design)
    yield from _outlet_findings(design, water_m)
    if design.drains:
        yield from _vent_findings(design)
    kinds = {kind.id: burst_of(kind) for kind in design.kinds}
    leaving = {drain.tail: drain for drain in design.drains}
    above = beds_above(design)
    for drain in design.drains:
        bursts = [kinds[bed.kind] for bed in above[drain.id]]
        yield from _flow_findings(design, drain, bursts)
        yield from _fall_findings(drain)
        yield _end_finding(drain, leaving.get(drain.head), water_m)
        if drain.head in leaving:
            promise, wide = "no wider than the stretch it runs into", drain.bore_m
            yield at_most(drain.id, promise, leaving[drain.head].bore_m, wide, _LENGTH)


def _outlet_findings(design: Design, water_m: float) -> Iterator[Finding]:
    """A drowned outlet would slow the siphon and hold its bed half full."""
    kinds = {kind.id: kind for kind in design.kinds}
    for bed in design.beds:
        outlet_m = _outlet_m(bed, kinds[bed.kind])
        promise = "siphon ends above the sump's highest water"
        yield _above(bed.id, promise, water_m, outlet_m)


def _vent_findings(design: Design) -> Iterator[Finding]:
    """Every siphon ends freely over a return pipe of its own stretch."""
    drains = {drain.id: drain for drain in design.drains}
    kinds = {kind.id: kind for kind in design.kinds}
    for bed in design.beds:
        drain, outlet_m = drains.get(bed.drain), _outlet_m(bed, kinds[bed.kind])
        pipes = 0.0 if drain is None else 1.0
        yield at_least(bed.id, "siphon has a return pipe under it", 1.0, pipes, "pipes")
        yield near(
            bed.id,
            "siphon's outlet as its bed stands",
            bed.siphon_outlet_level_m,
            outlet_m,
            _LENGTH,
            tolerance=BUILT_LEVEL_M,
        )
        if drain is not None:
            yield from _under_findings(bed, kinds[bed.kind], drain, outlet_m)


def _under_findings(
    bed: Bed, kind: BedKind, drain: BuiltDrain, outlet_m: float
) -> Iterator[Finding]:
    """The pipe begins somewhere under the bed, and its crown leaves air under the outlet."""
    reach_m = math.hypot(kind.length_m, kind.width_m) / 2.0
    away_m = math.dist(drain.points[0][:2], (bed.x_m, bed.y_m))
    yield at_most(bed.id, "its return pipe begins under it", reach_m, away_m, _LENGTH)
    vented_m = drain.upper_invert_m + drain.bore_m + VENT_GAP_LEAST_M
    promise = "siphon ends clear above the crown of its return pipe"
    yield at_least(bed.id, promise, vented_m, outlet_m, _LENGTH)


def _flow_findings(design: Design, drain: BuiltDrain, bursts: Sequence[Burst]) -> Iterator[Finding]:
    flow, capacity = bursts_m3_s(bursts, design.promise), true_capacity_m3_s(drain)
    name, share = drain.id, STATED_SHARE
    yield near_share(name, "bursts as counted", drain.bursts_m3_s, flow, _FLOW, share=share)
    yield at_most(name, "carries its bursts within its fill limit", capacity, flow, _FLOW)
    promise = "capacity no more than Manning gives it"
    yield at_most(name, promise, capacity, drain.capacity_m3_s, _FLOW, share=share)


def _fall_findings(drain: BuiltDrain) -> Iterator[Finding]:
    name, least, slope = drain.id, least_slope(drain.bore_m), slope_of(drain)
    yield at_least(name, "falls as steeply as the code asks", least, slope, "m/m")
    if drain.length_m > 0.0:
        yield near(
            name,
            "fall between its inverts as its slope and length give it",
            drain.slope * drain.length_m,
            fall_m(drain),
            _LENGTH,
            tolerance=BUILT_LEVEL_M,
        )
    else:
        yield at_least(name, "falls from its upper to its lower end", 0.0, fall_m(drain), _LENGTH)
    length_m, route = drain.length_m, route_m(drain)
    yield near_share(name, "length as its route runs", length_m, route, _LENGTH, share=STATED_SHARE)


def _end_finding(drain: BuiltDrain, below: BuiltDrain | None, water_m: float) -> Finding:
    """Water runs down from each stretch into the next, and out above the sump's water."""
    if drain.head == DRAIN_END or below is None:
        promise = "ends above the sump's highest water"
        return _above(drain.id, promise, water_m, drain.lower_invert_m)
    promise = "ends no lower than the next stretch begins"
    return _above(drain.id, promise, below.upper_invert_m, drain.lower_invert_m)


def _above(subject: str, promise: str, limit_m: float, level_m: float) -> Finding:
    passed = level_m >= limit_m - DRAIN_STEP_M
    return Finding(subject, promise, limit_m, level_m, _LENGTH, DRAIN_STEP_M, passed)


def _outlet_m(bed: Bed, kind: BedKind) -> float:
    """Return the level of a siphon's outlet on the site's datum, from its bed and kit."""
    return bed.floor_level_m + kind.siphon.outlet_level_m
