"""The example design, its beds fed from a tank instead of by the pump; all figures invented."""

from __future__ import annotations

import dataclasses
import math

from optimizer.physics.pipe import head_loss_m
from optimizer.physics.pump import PumpCurve
from optimizer.records.design import BuiltStretch, Design
from optimizer.records.header_tank import TANK, BuiltTank
from tests.builders.make_design import make_design

LIFTED_SHARE = 1.25
"""What the pump brings at the setting level, over what the beds take."""
GAP_M = 0.05
WATER_M3 = 0.15
OVERFLOW_BORE_M = 0.1


def with_tank(gap_m: float = GAP_M, **fields: object) -> Design:
    """The example fed from a tank at the head that its pump had, but for the tank's fields given.

    The riser ends ``gap_m`` over the tank's water. As much water stands over the outlet as the old
    riser held, so the sump's levels stay.
    """
    design = make_design()
    old = next(s for s in design.stretches if s.tail == "pump")
    setting_m = design.sump.floor_level_m + design.sump.setting_m
    water_m = setting_m + design.pump.duty_head_m - old.loss_m
    riser = _riser(old, water_m + gap_m, LIFTED_SHARE * old.flow_m3_s)
    head_m = water_m + gap_m - setting_m + riser.loss_m
    pump = _pump(design, riser.flow_m3_s, head_m)
    tank = BuiltTank(
        part="tank_example",
        label="example tank",
        x_m=0.0,
        y_m=0.0,
        water_level_m=water_m,
        inlet_level_m=water_m + gap_m,
        outlet_level_m=water_m - 0.2,
        water_m3=WATER_M3,
        above_outlet_m3=old.volume_m3,
        pump_flow_m3_s=tuple(
            _flow(pump, head_m, riser, level_m - design.sump.setting_m)
            for level_m in (design.sump.lowest_m, design.sump.setting_m, design.sump.highest_m)
        ),
        overflow_m3_s=2.0 * riser.flow_m3_s,
        overflow_pipe="pipe_100",
        overflow_nominal="100 mm",
        overflow_bore_m=OVERFLOW_BORE_M,
        overflow_length_m=riser.length_m,
        overflow_manning_n=0.011,
    )
    others = tuple(
        dataclasses.replace(s, tail=TANK) if s.tail == old.head else s
        for s in design.stretches
        if s is not old
    )
    fill = design.sump.fill_m3 - old.volume_m3 + riser.volume_m3 + WATER_M3
    return dataclasses.replace(
        design,
        stretches=(riser, *others),
        pump=pump,
        sump=dataclasses.replace(design.sump, fill_m3=fill),
        energy_kwh_per_year=pump.duty_watts * 24.0 * 365.0 / 1000.0,
        tank=dataclasses.replace(tank, **fields),
    )


def _riser(old: BuiltStretch, top_m: float, flow_m3_s: float) -> BuiltStretch:
    (x, y, low), second = old.points[0], old.points[1]
    length_m = top_m - low
    loss = head_loss_m(flow_m3_s, length_m, old.bore_m, old.roughness_m, 20.0, old.loss_coefficient)
    return dataclasses.replace(
        old,
        id="riser to tank",
        head=TANK,
        points=((x, y, low), second, (x, y, top_m)),
        length_m=length_m,
        flow_m3_s=flow_m3_s,
        loss_m=float(loss),
        volume_m3=math.pi / 4.0 * old.bore_m**2 * length_m,
    )


def _pump(design: Design, flow_m3_s: float, head_m: float):
    """A pump whose curve goes through the duty."""
    return dataclasses.replace(
        design.pump,
        flows_m3_s=(0.0, flow_m3_s, 2.0 * flow_m3_s),
        heads_m=(3.0 * head_m, head_m, 0.1 * head_m),
        watts=(90.0, 100.0, 110.0),
        duty_flow_m3_s=flow_m3_s,
        duty_head_m=head_m,
        duty_watts=100.0,
    )


def _flow(pump, head_m: float, riser: BuiltStretch, rise_m: float) -> float:
    """What the pump brings with the sump so much higher, by bisection."""
    curve = PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts)
    low, high = 0.0, pump.flows_m3_s[-1]
    for _ in range(200):
        middle = (low + high) / 2.0
        lost = head_loss_m(
            middle, riser.length_m, riser.bore_m, riser.roughness_m, 20.0, riser.loss_coefficient
        )
        spare = float(curve.head_m(middle)) + rise_m - (head_m - riser.loss_m) - float(lost)
        low, high = (middle, high) if spare > 0.0 else (low, middle)
    return low
