"""What simulation says of the promises about each pipe."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.physics.pipe import velocity_m_s
from optimizer.physics.pressure import pressure_pa, rating_at_temperature
from optimizer.records.check import Finding
from optimizer.records.design import BuiltStretch, Design
from optimizer.records.header_tank import TANK
from optimizer.simulate.edge_losses import pipes_of
from optimizer.simulate.findings import at_least, at_most, near
from optimizer.simulate.operating_point import OperatingPoint, valve_resistance_s2_m5
from optimizer.simulate.tolerances import LOSS_LEAST_M, LOSS_SHARE
from optimizer.simulate.valves import SetValves


def stretch_findings(
    design: Design, valves: SetValves, highest: OperatingPoint
) -> Iterator[Finding]:
    """Yield the findings about every stretch.

    Args:
        design: the design.
        valves: valves as set, with the flows they were set for.
        highest: the operating point at the highest sump level, where flows are greatest.
    """
    losses = _losses_as_counted(design, valves)
    for stretch, loss_m in zip(design.stretches, losses, strict=True):
        yield _velocity(design, stretch, highest.flows_m3_s[stretch.id])
        yield _rating(design, stretch)
        yield _loss(stretch, float(loss_m))


def _loss(stretch: BuiltStretch, loss_m: float) -> Finding:
    """Where both sides of a ring meet water may stand still, and a share of no loss is nothing."""
    tolerance = max(LOSS_SHARE * loss_m, LOSS_LEAST_M)
    promise = "head loss as counted"
    return near(stretch.id, promise, stretch.loss_m, loss_m, "m", tolerance=tolerance)


def _losses_as_counted(design: Design, valves: SetValves) -> Array:
    """Return true losses at the promised inflows, the open valve with its drop."""
    flows = np.array([valves.flows_m3_s[stretch.id] for stretch in design.stretches])
    pipes = pipes_of(design.stretches, design.promise.water_temperature_c)
    opens = {
        bed.drop: valve_resistance_s2_m5(bed.valve_losses[-1], bed.valve_bore_m)
        for bed in design.beds
    }
    resistances = np.array([opens.get(stretch.id, 0.0) for stretch in design.stretches])
    return np.asarray(np.abs(pipes.head_loss_m(flows) + resistances * flows * np.abs(flows)))


def _velocity(design: Design, stretch: BuiltStretch, flow_m3_s: float) -> Finding:
    speed = velocity_m_s(abs(flow_m3_s), stretch.bore_m)
    limit = design.promise.velocity_limit_m_s
    return at_most(stretch.id, "velocity within its limit", limit, speed, "m/s")


def _rating(design: Design, stretch: BuiltStretch) -> Finding:
    """Pressure with no flow: of the pump, the sump full; below a tank, of the tank's water."""
    warmth, tank = design.promise.water_temperature_c, design.tank
    lowest_m = min(level for *_, level in stretch.points)
    if tank is None or stretch.head == TANK:
        below_m = max(0.0, design.sump.floor_level_m - lowest_m)
        head_m = design.pump.heads_m[0] + design.sump.depth_m + below_m
        promise = "pipe's rating bears the pump at no flow"
    else:
        head_m = max(0.0, tank.water_level_m - lowest_m)
        promise = "pipe's rating bears the tank's water at no flow"
    return at_least(
        stretch.id, promise, pressure_pa(head_m, warmth), _rating_pa(stretch, warmth), "Pa"
    )


def _rating_pa(stretch: BuiltStretch, warmth_c: float) -> float:
    """Return the rating at a temperature; 0 where the material has none there."""
    try:
        return rating_at_temperature(stretch.rating_pa, stretch.material, warmth_c)
    except ValueError:
        return 0.0
