"""Valve openings from what was read: openings, measured inflows, or both compared."""

from __future__ import annotations

import numpy as np

from optimizer.mend.as_built import AsBuilt, losses_at
from optimizer.physics.valve import opening_for_loss
from optimizer.records.design import Bed
from optimizer.simulate.edge_losses import pipes_of
from optimizer.simulate.operating_point import (
    operating_point,
    point_of_draws,
    valve_resistance_s2_m5,
)

AGREE_SHARE = 0.15
"""Measured and computed inflows that differ by no more agree: twice the error of a bucket and a
watch (assumption)."""


def openings_of(built: AsBuilt) -> tuple[dict[str, float], tuple[str, ...]]:
    """Return every valve's opening, and readings that contradict each other.

    Where only inflows were measured, each valve is as open as gives its bed that inflow with the
    sump at the middle of its range.

    Args:
        built: the system.
    """
    stands = {each.bed: each for each in built.stands.beds}
    measured = {n: b.inflow_m3_s for n, b in stands.items() if b.inflow_m3_s is not None}
    given = {n: b.opening for n, b in stands.items() if b.opening is not None}
    doubts: list[str] = []
    openings = dict(given)
    unknown = [bed for bed in built.design.beds if bed.id not in given]
    if unknown:
        found, doubts = _from_inflows(built, unknown, measured)
        openings |= found
    flows = operating_point(
        built.design, losses_at(built.design, openings), max(0.0, built.design.sump.setting_m)
    ).flows_m3_s
    for bed in built.design.beds:
        read = measured.get(bed.id)
        if read is not None and bed.id in given:
            computed = max(0.0, flows[bed.drop])
            if abs(computed - read) > AGREE_SHARE * max(read, computed):
                doubts.append(
                    f"Bed {bed.id}: {read * 60_000.0:.1f} L/min was measured, but its valve at "
                    f"{given[bed.id]:.0%} open would let {computed * 60_000.0:.1f} L/min through. "
                    "Measure both again; until then the opening is believed."
                )
    return openings, tuple(doubts)


def _from_inflows(
    built: AsBuilt, unknown: list[Bed], measured: dict[str, float]
) -> tuple[dict[str, float], list[str]]:
    """Return openings at which every bed gets what was measured."""
    design = built.design
    drops = {stretch.id: stretch for stretch in design.stretches}
    draws: dict[str, float] = {}
    for bed in design.beds:
        tail = drops[bed.drop].tail
        draws[tail] = draws.get(tail, 0.0) + measured.get(bed.id, 0.0)
    heads = point_of_draws(design, draws, max(0.0, design.sump.setting_m)).heads_m
    openings: dict[str, float] = {}
    doubts: list[str] = []
    for bed in unknown:
        drop, flow = drops[bed.drop], measured[bed.id]
        pipe = pipes_of([drop], design.promise.water_temperature_c)
        lost = float(pipe.head_loss_m(np.array([flow]))[0])
        left = heads[drop.tail] - bed.outlet_level_m - lost
        loss = left / (valve_resistance_s2_m5(1.0, bed.valve_bore_m) * flow**2)
        if loss < bed.valve_losses[-1]:
            doubts.append(
                f"Bed {bed.id}: {flow * 60_000.0:.1f} L/min was measured, more than the pump and "
                "pipes described give it with its valve wide open. Check this bucket reading, the "
                "pump and the pipe sizes; it is taken as wide open."
            )
        held = min(max(loss, bed.valve_losses[-1]), bed.valve_losses[0])
        openings[bed.id] = opening_for_loss(held, bed.valve_openings, bed.valve_losses)
    return openings, doubts
