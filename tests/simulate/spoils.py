"""Ways to spoil the example design, one promise at a time, and what must then be found.

Each spoil returns a design and the findings that must fail: all of them and no others.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

from optimizer.physics.pump import PumpCurve
from optimizer.records.design import BedKind, Design, Window
from optimizer.simulate.operating_point import operating_point
from optimizer.simulate.valves import set_valves
from tests.builders.make_design import make_design

Spoiled = tuple[Design, set[tuple[str, str]]]
BROAD_BEDS = ("bed_1_1", "bed_1_2")
SLIM_BEDS = ("bed_2_1", "bed_2_2")
ALL_BEDS = BROAD_BEDS + SLIM_BEDS
KINDS = ("broad", "slim")
LEVELS = ("lowest", "setting", "highest")
LOSS = "head loss as counted"
SUMP, PUMP = "sump_example", "pump_example"


def changed(what: str, **fields: object) -> Design:
    """The example design with fields of its promise, pump or sump replaced."""
    design = make_design()
    return dataclasses.replace(
        design, **{what: dataclasses.replace(getattr(design, what), **fields)}
    )


def with_broad(**fields: object) -> Design:
    """The example design with fields of its kind "broad" replaced."""
    design = make_design()
    return with_kind(design, dataclasses.replace(design.kinds[0], **fields))


def with_kind(design: Design, kind: BedKind) -> Design:
    return dataclasses.replace(design, kinds=(kind, *design.kinds[1:]))


def with_stretch(name: str, **fields: object) -> Design:
    design = make_design()
    stretches = tuple(
        dataclasses.replace(s, **fields) if s.id == name else s for s in design.stretches
    )
    return dataclasses.replace(design, stretches=stretches)


def crest_over_the_rim() -> Spoiled:
    # Crest 0.25 m, rim at 0.24 m: the water primes above the rim too.
    promises = {"standpipe crest below the rim", "water at priming below the rim"}
    return with_broad(depth_m=0.24), {("broad", each) for each in promises}


def water_over_the_rim() -> Spoiled:
    # Crest 0.25 m, rim at 0.252 m: priming needs about 7 mm over the crest.
    return with_broad(depth_m=0.252), {("broad", "water at priming below the rim")}


def stand_too_weak() -> Spoiled:
    kind = make_design().kinds[0]
    spoiled = with_broad(stand_capacity_kg=kind.wet_mass_kg * 0.999)
    return spoiled, {("broad", "stand bears the wet bed")}


def window_stated_too_low() -> Spoiled:
    window = make_design().kinds[0].windows["most"]
    windows = {"most": Window(window.low_m3_s * 0.98, window.high_m3_s)}
    spoiled = with_broad(windows=windows)
    return spoiled, {("broad", "most window start as the physics gives it")}


def window_stated_too_high() -> Spoiled:
    window = make_design().kinds[0].windows["most"]
    windows = {"most": Window(window.low_m3_s, window.high_m3_s * 1.02)}
    spoiled = with_broad(windows=windows)
    return spoiled, {("broad", "most window stop as the physics gives it")}


def target_stated_too_wide() -> Spoiled:
    # Below the start flow a bed never floods; above the stop flow it never breaks.
    target = Window(0.5 * make_design().kinds[0].siphon.start_flow_m3_s, 1e-3)
    ends = (f"floods an hour at the target's {end} end" for end in ("low", "high"))
    return with_broad(target=target), {("broad", each) for each in ends}


def inflow_below_the_window() -> Spoiled:
    # The window begins at the promised inflow: lowest level and setting error fall below it.
    design, kind = make_design(), make_design().kinds[0]
    windows = {"most": Window(kind.inflow_m3_s, kind.windows["most"].high_m3_s)}
    spoiled = with_kind(design, dataclasses.replace(kind, windows=windows))
    promise = "least inflow with setting error starts the siphon"
    return spoiled, {(bed, promise) for bed in BROAD_BEDS}


def inflow_above_the_window() -> Spoiled:
    design, kind = make_design(), make_design().kinds[0]
    windows = {"most": Window(kind.windows["most"].low_m3_s, kind.inflow_m3_s)}
    spoiled = with_kind(design, dataclasses.replace(kind, windows=windows))
    promise = "greatest inflow with setting error lets the siphon stop"
    return spoiled, {(bed, promise) for bed in BROAD_BEDS}


def inflow_below_the_target() -> Spoiled:
    kind = make_design().kinds[0]
    spoiled = with_broad(target=Window(kind.inflow_m3_s, kind.target.high_m3_s))
    promise = "least inflow with setting error meets the flood goal"
    return spoiled, {(bed, promise) for bed in BROAD_BEDS}


def inflow_above_the_target() -> Spoiled:
    kind = make_design().kinds[0]
    spoiled = with_broad(target=Window(kind.target.low_m3_s, kind.inflow_m3_s))
    promise = "greatest inflow with setting error meets the flood goal"
    return spoiled, {(bed, promise) for bed in BROAD_BEDS}


def floods_too_seldom() -> Spoiled:
    # Filling alone takes a broad bed 548 s at its inflow, so 10 floods an hour are out of reach
    # of the beds, and of both ends of the stated targets.
    design = changed("promise", floods_per_hour_least=10.0)
    failed = {(bed, f"floods an hour at the {level} level") for bed in ALL_BEDS for level in LEVELS}
    ends = {(k, f"floods an hour at the target's {e} end") for k in KINDS for e in ("low", "high")}
    return design, failed | ends


def floods_too_often() -> Spoiled:
    # 2 floods an hour are the least and the most. The low end of each target was found as the
    # inflow of exactly 2; every bed, and the high end, floods over 3 times.
    design = changed("promise", floods_per_hour_most=2.0)
    beds = {(b, f"floods an hour not above at the {e} level") for b in ALL_BEDS for e in LEVELS}
    return design, beds | {(k, "floods an hour not above at the target's high end") for k in KINDS}


def drifts_too_far() -> Spoiled:
    # A rise of 0.1 m over a valve head near 2 m moves the inflow by over 1 %.
    design = changed("promise", level_drift=0.01)
    return design, {(bed, "inflow's drift with the sump level") for bed in ALL_BEDS}


def valve_a_little_too_small() -> Spoiled:
    # Fully open it takes 0.5 % more K than there is head for: the inflow falls by a quarter
    # per cent, inside its tolerance, but the setting cannot be reached. The drop's counted loss
    # is that of the old valve, and so is wrong.
    design = make_design()
    setting = set_valves(design).settings["bed_1_2"]
    bed = design.beds[1]
    losses = tuple(setting.wanted_loss * s for s in (8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.005))
    beds = (design.beds[0], dataclasses.replace(bed, valve_losses=losses), *design.beds[2:])
    failed = {("bed_1_2", "head left for the fully open valve"), ("drop_1_2", LOSS)}
    return dataclasses.replace(design, beds=beds), failed


def valve_too_large_to_throttle() -> Spoiled:
    # The table's first opening takes less K than there is head to kill.
    design = make_design()
    wanted = set_valves(design).settings["bed_1_2"].wanted_loss
    bed = design.beds[1]
    losses = (*(wanted * s for s in (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)), bed.valve_losses[-1])
    beds = (design.beds[0], dataclasses.replace(bed, valve_losses=losses), *design.beds[2:])
    return dataclasses.replace(design, beds=beds), {("bed_1_2", "valve throttles within its table")}


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
        *(f"floods an hour at the {level} level" for level in LEVELS),
    )
    failed = {(bed, promise) for bed in ALL_BEDS for promise in promises}
    return design, failed | {(PUMP, "watts at the duty"), (PUMP, "energy in a year")}


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


SPOILS: tuple[Callable[[], Spoiled], ...] = (
    crest_over_the_rim,
    water_over_the_rim,
    stand_too_weak,
    window_stated_too_low,
    window_stated_too_high,
    target_stated_too_wide,
    inflow_below_the_window,
    inflow_above_the_window,
    inflow_below_the_target,
    inflow_above_the_target,
    floods_too_seldom,
    floods_too_often,
    drifts_too_far,
    valve_a_little_too_small,
    valve_too_large_to_throttle,
    pump_too_weak,
    pump_curve_ends_too_soon,
    pump_sucks_air,
    watts_off,
    energy_off,
    sump_too_shallow,
    sump_overflows,
    sump_too_small,
    water_loss_left_out,
    sump_filled_too_high,
    pipe_too_small_for_its_velocity,
    pipe_too_thin,
    loss_miscounted,
    cost_line_off_by_a_cent,
)
