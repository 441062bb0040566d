"""Ways to spoil what the example design promises of its beds and valves."""

from __future__ import annotations

import dataclasses

from optimizer.records.design import Window
from optimizer.simulate.valves import set_valves
from tests.builders.make_design import make_design
from tests.simulate.spoil_tools import (
    ALL_BEDS,
    BROAD_BEDS,
    KINDS,
    LEVELS,
    LOSS,
    OPENING,
    Spoiled,
    changed,
    with_bed,
    with_broad,
    with_kind,
)


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
    losses = tuple(setting.wanted_loss * s for s in (8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.005))
    spoiled = with_bed(design, "bed_1_2", valve_losses=losses, valve_opening=1.0)
    return spoiled, {("bed_1_2", "head left for the fully open valve"), ("drop_1_2", LOSS)}


def valve_too_large_to_throttle() -> Spoiled:
    # The table's first opening takes less K than there is head to kill.
    design = make_design()
    wanted = set_valves(design).settings["bed_1_2"].wanted_loss
    bed = design.beds[1]
    losses = (*(wanted * s for s in (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)), bed.valve_losses[-1])
    least = bed.valve_openings[0]
    spoiled = with_bed(design, "bed_1_2", valve_losses=losses, valve_opening=least)
    return spoiled, {("bed_1_2", "valve throttles within its table")}


def inlet_under_water() -> Spoiled:
    # The water primes 0.2553 m above a slim bed's floor; the inlet ends 5 mm below that. Its valve
    # is set anew for the head that gains.
    design = make_design()
    bed, prime_m = design.beds[3], design.kinds[1].siphon.prime_level_m
    low = with_bed(design, bed.id, outlet_level_m=bed.floor_level_m + prime_m - 0.005)
    setting = set_valves(low).settings[bed.id]
    spoiled = with_bed(
        low, bed.id, valve_head_m=setting.head_m, valve_opening=float(setting.opening)
    )
    return spoiled, {(bed.id, "inlet above the bed's highest water")}


def valve_stated_too_open() -> Spoiled:
    design = make_design()
    opening = design.beds[2].valve_opening + 0.02
    spoiled = with_bed(design, "bed_2_1", valve_opening=opening)
    return spoiled, {("bed_2_1", OPENING)}


def valve_head_misstated() -> Spoiled:
    design = make_design()
    spoiled = with_bed(design, "bed_2_1", valve_head_m=design.beds[2].valve_head_m * 1.02)
    return spoiled, {("bed_2_1", "head that its valve takes")}


def bucket_misstated() -> Spoiled:
    # 10 L at 2.0e-4 m3/s take 50 s.
    spoiled = with_bed(make_design(), "bed_1_1", bucket_s=49.0)
    return spoiled, {("bed_1_1", "seconds to fill a 10 L bucket")}


def area_misstated() -> Spoiled:
    # The broad bed is 1.2 m2.
    return with_broad(area_m2=1.25), {("broad", "growing area")}


def flood_misstated() -> Spoiled:
    held_m3 = make_design().kinds[0].held_m3
    return with_broad(held_m3=held_m3 * 1.02), {("broad", "water of one flood")}


def floods_misstated() -> Spoiled:
    floods = make_design().kinds[0].floods_per_hour
    return with_broad(floods_per_hour=floods * 1.02), {("broad", "floods an hour at its inflow")}


def load_misstated() -> Spoiled:
    load_n = make_design().kinds[0].load_per_support_n
    return with_broad(load_per_support_n=load_n * 0.98), {("broad", "load on a support")}


def wet_bed_lighter_than_its_water() -> Spoiled:
    # 1.2 m2 of porosity 0.40 hold 0.1089 m3 between drain level and prime level: 108.7 kg.
    kind = make_design().kinds[0]
    load_n = 100.0 * 9.80665 / kind.supports
    spoiled = with_broad(wet_mass_kg=100.0, load_per_support_n=load_n)
    return spoiled, {("broad", "wet bed weighs at least its water")}
