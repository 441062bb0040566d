"""Ways to spoil what the example design promises of pump, sump, supply pipe and money."""

from __future__ import annotations

import dataclasses
import math

from optimizer.physics.pump import PumpCurve
from optimizer.simulate.operating_point import operating_point
from optimizer.simulate.valves import set_valves
from tests.builders.make_design import make_design
from tests.simulate.spoil_tools import (
    ALL_BEDS,
    LEVELS,
    LOSS,
    OPENING,
    PUMP,
    SUMP,
    Spoiled,
    changed,
    with_stretch,
)


def pump_too_weak() -> Spoiled:
    # Its shut-off head is 1.3 x 2.88 m; a tenth of that cannot lift water from even the highest
    # level, 0.5 m, to the outlets at 1.0 m: no bed gets any.
    pump = make_design().pump
    design = changed("pump", heads_m=tuple(h * 0.1 for h in pump.heads_m))
    promises = (
        "head left for the fully open valve",
        "inflow at the setting level",
        "least inflow with setting error starts the siphon",
        "least inflow with setting error meets the flood goal",
        "inflow's drift with the sump level",
        "head that its valve takes",
        OPENING,
        *(f"floods an hour at the {level} level" for level in LEVELS),
    )
    failed = {(bed, promise) for bed in ALL_BEDS for promise in promises}
    duty = ("flow at the duty", "head at the duty", "watts at the duty", "energy in a year")
    return design, failed | {(PUMP, promise) for promise in duty}


def pump_curve_ends_too_soon() -> Spoiled:
    # The curve is cut between the flow at the setting level and that at the highest level.
    design = make_design()
    pump, losses = design.pump, set_valves(design).losses
    top = operating_point(design, losses, design.sump.highest_m).pump_flow_m3_s
    curve = PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts)
    end = (pump.duty_flow_m3_s + top) / 2.0
    flows = (0.0, *(end * s / 20.0 for s in range(10, 21)))
    spoiled = changed(
        "pump",
        flows_m3_s=flows,
        heads_m=tuple(curve.head_m(q) for q in flows),
        watts=tuple(curve.watts_at(q) for q in flows),
    )
    return spoiled, {(PUMP, "duty inside its curve at the highest level")}


def pump_sucks_air() -> Spoiled:
    lowest_m = make_design().sump.lowest_m
    design = changed("pump", submergence_m=lowest_m + 0.001)
    return design, {(PUMP, "submerged at the lowest level")}


def watts_off() -> Spoiled:
    design = changed("pump", duty_watts=make_design().pump.duty_watts * 0.985)
    return design, {(PUMP, "watts at the duty")}


def energy_off() -> Spoiled:
    design = make_design()
    energy = design.energy_kwh_per_year * 1.02
    spoiled = dataclasses.replace(design, energy_kwh_per_year=energy)
    return spoiled, {(PUMP, "energy in a year")}


def sump_too_shallow() -> Spoiled:
    cut_m = make_design().sump.power_cut_m
    design = changed("sump", depth_m=cut_m + 0.049)
    return design, {(SUMP, "freeboard kept after a power cut")}


def sump_overflows() -> Spoiled:
    cut_m = make_design().sump.power_cut_m
    promises = ("freeboard kept after a power cut", "no overflow after a power cut")
    design = changed("sump", depth_m=cut_m - 0.001, freeboard_m=0.0)
    return design, {(SUMP, promise) for promise in promises}


def sump_too_small() -> Spoiled:
    # Half the area with the water filled to the same highest level: the beds take twice the depth.
    design = make_design()
    sump = design.sump
    pipes_m3 = sum(s.volume_m3 for s in design.stretches)
    area_m2 = sump.area_m2 / 2.0
    spoiled = changed("sump", area_m2=area_m2, fill_m3=sump.highest_m * area_m2 + pipes_m3)
    promises = ("lowest level, all beds full", "level after a power cut")
    return spoiled, {(SUMP, promise) for promise in promises}


def water_loss_left_out() -> Spoiled:
    # 3 mm of water evaporate before the next topping up, and the lowest level forgets it.
    spoiled = changed("sump", lost_m3=0.003 * make_design().sump.area_m2)
    return spoiled, {(SUMP, "lowest level, all beds full")}


def sump_filled_too_high() -> Spoiled:
    # 3 mm of water more than the levels say.
    sump = make_design().sump
    spoiled = changed("sump", fill_m3=sump.fill_m3 + 0.003 * sump.area_m2)
    levels = (
        "lowest level, all beds full",
        "highest level, all beds drained",
        "level after a power cut",
    )
    return spoiled, {(SUMP, promise) for promise in levels}


def pipe_too_small_for_its_velocity() -> Spoiled:
    # At the highest level the first row's first lateral carries about 4.07e-4 m3/s; the limit is
    # set just below its speed and above every other pipe's.
    design = make_design()
    point = operating_point(design, set_valves(design).losses, design.sump.highest_m)
    speeds = {
        s.id: point.flows_m3_s[s.id] / (math.pi / 4.0 * s.bore_m**2) for s in design.stretches
    }
    *_, second, first = sorted(set(speeds.values()))
    limit = (first + second) / 2.0
    failed = {(name, "velocity within its limit") for name, v in speeds.items() if v > limit}
    return changed("promise", velocity_limit_m_s=limit), failed


def pipe_too_thin() -> Spoiled:
    # Pump at no flow plus a full sump stand a few metres high: about 5e4 Pa.
    spoiled = with_stretch("header_1", rating_pa=2.0e4)
    return spoiled, {("header_1", "pipe's rating bears the pump at no flow")}


def loss_miscounted() -> Spoiled:
    loss_m = next(s.loss_m for s in make_design().stretches if s.id == "lateral_2_1")
    return with_stretch("lateral_2_1", loss_m=loss_m * 0.98), {("lateral_2_1", LOSS)}


def cost_line_off_by_a_cent() -> Spoiled:
    design = make_design()
    line = dataclasses.replace(design.costs[0], cents=design.costs[0].cents + 1)
    spoiled = dataclasses.replace(design, costs=(line, *design.costs[1:]))
    return spoiled, {("cost", "cost lines add up")}


def duty_flow_misstated() -> Spoiled:
    flow = make_design().pump.duty_flow_m3_s
    return changed("pump", duty_flow_m3_s=flow * 1.02), {(PUMP, "flow at the duty")}


def duty_head_misstated() -> Spoiled:
    head_m = make_design().pump.duty_head_m
    return changed("pump", duty_head_m=head_m * 0.98), {(PUMP, "head at the duty")}


def sump_sized_for_other_beds_than_promised() -> Spoiled:
    # All four beds full hold 0.362 m3, and the sump was sized for that; at 99 % of random moments
    # they hold under 0.30 m3, so the water stands some 36 mm higher than the lowest level stated.
    design = changed("promise", held="quantile")
    return design, {(SUMP, "lowest level, beds as full as promised")}
