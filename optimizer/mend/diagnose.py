"""What of a system works and what does not: bed, cause and margin, in the grower's words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from optimizer.mend.as_built import AsBuilt, kind_names
from optimizer.mend.built_tank import TANK_WORDS, overflow_room_m3_s
from optimizer.mend.fault_words import fault_words
from optimizer.mend.siphon_causes import siphon_cause
from optimizer.mend.state import Running, needs_m3_s, running, tank_runs_down
from optimizer.mend.supply_causes import supply_blame
from optimizer.mend.turns import refilled
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.slopes import least_slope
from optimizer.records.design import DRAIN_END, Design
from optimizer.records.mending import BedState, Fault, SystemState
from optimizer.simulate.returns import (
    beds_above,
    burst_of,
    bursts_m3_s,
    slope_of,
    true_capacity_m3_s,
)
from optimizer.simulate.sump_levels import highest_water_m, sump_levels
from optimizer.simulate.tolerances import DRAIN_STEP_M, ROUNDING, STATED_SHARE


def state_of(
    built: AsBuilt, openings: Mapping[str, float], now: Running | None = None
) -> SystemState:
    """Return how a system runs, every bed's margin, and every fault with its cause.

    Args:
        built: the system.
        openings: bed to the share its valve is open.
        now: the system as it runs at these openings, where that is known already.

    Raises:
        NotSolved: if no operating point was found.
    """
    found = now or running(built.design, openings, built.refused)
    levels = sump_levels(built.design)
    return SystemState(
        beds=found.beds,
        faults=(
            *(_bed_fault(built, found, bed) for bed in found.beds if not bed.works),
            *_sump_faults(built.design),
            *_return_faults(built.design),
            *_pipe_faults(built.design, found),
            *_tank_faults(built.design, found),
        ),
        levels_m=(
            levels.lowest_m,
            (levels.lowest_m + levels.highest_m) / 2.0,
            levels.highest_m,
            levels.power_cut_m,
        ),
        pump_flow_m3_s=found.points[1].pump_flow_m3_s,
        weakest=min(found.beds, key=lambda bed: (bed.margin, bed.bed)).bed,
    )


def things_that_fail(
    design: Design, openings: Mapping[str, float], refused: Mapping[str, str]
) -> tuple[str, ...]:
    """Return what of a system does not work, beds first; causes are not looked for.

    Args:
        design: the system.
        openings: bed to the share its valve is open.
        refused: beds whose siphon cannot work at all.

    Raises:
        NotSolved: if no operating point was found.
    """
    now = running(design, openings, refused)
    beds = [bed.bed for bed in now.beds if not bed.works]
    others = (
        *_sump_faults(design),
        *_return_faults(design),
        *_pipe_faults(design, now),
        *_tank_faults(design, now),
    )
    return tuple(dict.fromkeys([*beds, *(fault.subject for fault in others)]))


def _fault(subject: str, cause: str, blamed: str, margin: float, detail: str = "") -> Fault:
    return Fault(
        subject, cause, blamed, margin, fault_words(subject, cause, blamed, margin, detail)
    )


def _bed_fault(built: AsBuilt, now: Running, bed: BedState) -> Fault:
    name, (low, high) = bed.bed, bed.needs_m3_s
    if name in built.refused:
        return _fault(name, siphon_cause(built, name), name, math.nan)
    error = built.design.promise.valve_setting_error
    suits = low / (1.0 - error) < high / (1.0 + error)
    if not suits or _common_one_would_do(built, bed):
        return _fault(name, siphon_cause(built, name), name, bed.margin)
    if bed.inflow_m3_s[0] * (1.0 - error) >= low:
        return _fault(name, "valve too open", name, bed.margin)
    blame = supply_blame(built, now, name)
    return _fault(name, blame.cause, blame.blamed, bed.margin)


def _common_one_would_do(built: AsBuilt, bed: BedState) -> bool:
    """Return whether a bed with a siphon of its own would work as it is fed with its type's own."""
    name = kind_names(built.stands)[bed.bed]
    bed_type = next(b.bed_type for b in built.stands.beds if b.bed == bed.bed)
    common = next((k for k in built.design.kinds if k.id == bed_type), None)
    if common is None or name == bed_type:
        return False
    low, high = needs_m3_s(built.design, common)
    error = built.design.promise.valve_setting_error
    least, _, most = bed.inflow_m3_s
    return least * (1.0 - error) >= low and most * (1.0 + error) <= high


def _sump_faults(design: Design) -> Iterator[Fault]:
    levels, pump, sump = sump_levels(design), design.pump, design.sump
    mendable = refilled(design) is not None
    most = sump.depth_m - sump.freeboard_m
    if levels.lowest_m < pump.submergence_m - ROUNDING:
        cause = "too little water" if mendable else "sump too small"
        margin = (levels.lowest_m - pump.submergence_m) / sump.depth_m
        yield _fault("pump", cause, "sump", margin, "it draws air with every bed full")
    if levels.power_cut_m > most + ROUNDING:
        cause = "too much water" if mendable else "sump too small"
        margin = (most - levels.power_cut_m) / sump.depth_m
        yield _fault("sump", cause, "sump", margin, "it overflows in a power cut")


def _return_faults(design: Design) -> Iterator[Fault]:
    kinds = {kind.id: burst_of(kind) for kind in design.kinds}
    above = beds_above(design)
    for drain in design.drains:
        flow = bursts_m3_s([kinds[bed.kind] for bed in above[drain.id]], design.promise)
        capacity = true_capacity_m3_s(drain)
        least = least_slope(drain.bore_m)
        if slope_of(drain) < least * (1.0 - ROUNDING):
            margin = (slope_of(drain) - least) / least
            yield _fault(drain.id, "return pipe too flat", drain.id, margin)
        if flow > capacity * (1.0 + STATED_SHARE):
            margin = (capacity - flow) / flow
            yield _fault(drain.id, "return pipe too small", drain.id, margin)
    water = highest_water_m(design)
    for drain in design.drains:
        if drain.head == DRAIN_END and drain.lower_invert_m < water - DRAIN_STEP_M:
            margin = (drain.lower_invert_m - water) / design.sump.depth_m
            yield _fault(drain.id, "return pipe falls too far", drain.id, margin)
    for bed in design.beds:
        if bed.siphon_outlet_level_m < water:
            yield _fault(bed.id, "too much water", "sump", math.nan, "its siphon ends under water")


def _pipe_faults(design: Design, now: Running) -> Iterator[Fault]:
    limit = design.promise.velocity_limit_m_s
    for stretch in design.stretches:
        flow = now.points[2].flows_m3_s[stretch.id]
        speed = abs(flow) / float(bore_area_m2(stretch.bore_m))
        if speed > limit * (1.0 + STATED_SHARE):
            margin = (limit - speed) / speed
            yield _fault(stretch.id, "water too fast", stretch.id, margin)


def _tank_faults(design: Design, now: Running) -> Iterator[Fault]:
    short = tank_runs_down(now)
    if short:
        yield _fault(TANK_WORDS, "tank runs down", "pump", -short)
    most = now.points[2].pump_flow_m3_s
    room = overflow_room_m3_s(design)
    if room < most:
        yield _fault(TANK_WORDS, "overflow too small", "overflow", (room - most) / most)
