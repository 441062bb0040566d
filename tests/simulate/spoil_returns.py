"""Ways to spoil what the example design promises of its return pipe and siphon outlets.

Its header carries all four bursts: twice 0.704 L/s of the broad beds, twice 0.433 L/s of the slim.
"""

from __future__ import annotations

import dataclasses

from optimizer.physics.part_full import capacity_m3_s
from optimizer.records.design import DRAIN_END, BuiltDrain, Design
from optimizer.simulate.sump_levels import highest_water_m
from tests.builders.make_design import make_design
from tests.simulate.spoil_tools import (
    Spoiled,
    changed,
    drain_of,
    drains_lifted,
    with_bed,
    with_drain,
)

HEADER, FAR = "return header_1", "return lateral_2_2"
CARRIES = "carries its bursts within its fill limit"
COUNTED = "bursts as counted"
STEEP = "falls as steeply as the code asks"


def carried_m3_s(drain: BuiltDrain) -> float:
    return float(capacity_m3_s(drain.bore_m, drain.slope, drain.manning_n, drain.fill_limit))


def drain_too_small() -> Spoiled:
    # Two broad bursts, 1.41 L/s; 0.0409 m at 1 in 48 carries 0.74 L/s.
    name = "return lateral_1_1"
    narrow = dataclasses.replace(drain_of(name), bore_m=0.0409)
    spoiled = with_drain(name, bore_m=0.0409, capacity_m3_s=carried_m3_s(narrow))
    return spoiled, {(name, CARRIES)}


def drain_that_narrows() -> Spoiled:
    # The last stretch of row 2 made a tenth wider than the one it runs into.
    wide_m = 1.1 * drain_of("return lateral_2_1").bore_m
    return with_drain(FAR, bore_m=wide_m), {(FAR, "no wider than the stretch it runs into")}


def one_burst_forgotten() -> Spoiled:
    stated = drain_of(HEADER).bursts_m3_s - drain_of(FAR).bursts_m3_s
    return with_drain(HEADER, bursts_m3_s=stated), {(HEADER, COUNTED)}


def all_bursts_counted_where_some_are_promised() -> Spoiled:
    # A broad bed drains 0.342 of its time. Of four, all drain at once with chance 0.342^4 = 0.0137,
    # within 2 %: three count. Of two, both drain with chance 0.117: two count.
    spoiled = changed("promise", bursts="binomial", confidence=0.98)
    return spoiled, {(HEADER, COUNTED)}


def capacity_overstated() -> Spoiled:
    stated = drain_of(HEADER).capacity_m3_s * 1.02
    promise = "capacity no more than Manning gives it"
    return with_drain(HEADER, capacity_m3_s=stated), {(HEADER, promise)}


def drain_too_flat() -> Spoiled:
    # At 0.8 of 1 in 48 it carries sqrt(0.8) of 0.493 L/s, still more than its one burst.
    flat = _with_slope(drain_of(FAR), 0.8 / 48.0)
    return _with(flat), {(FAR, STEEP)}


def drain_uphill() -> Spoiled:
    # Its far end lies 16 mm lower than its near end; slope and capacity say so.
    drain = drain_of(FAR)
    uphill = dataclasses.replace(
        drain, slope=-0.01, upper_invert_m=drain.lower_invert_m - 0.016, capacity_m3_s=0.0
    )
    return _with(uphill), {(FAR, STEEP), (FAR, CARRIES)}


def slope_misstated() -> Spoiled:
    # 0.005 more over 1.6 m is 8 mm.
    spoiled = with_drain(FAR, slope=drain_of(FAR).slope + 0.005)
    return spoiled, {(FAR, "fall between its inverts as its slope and length give it")}


def drain_length_misstated() -> Spoiled:
    # 5 % shorter at the same inverts: it only seems steeper.
    drain = drain_of(FAR)
    length_m = 0.95 * drain.length_m
    spoiled = with_drain(FAR, length_m=length_m, slope=drain.slope / 0.95)
    return spoiled, {(FAR, "length as its route runs")}


def drain_ends_below_the_next() -> Spoiled:
    drain = drain_of(FAR)
    low = dataclasses.replace(
        drain,
        upper_invert_m=drain.upper_invert_m - 0.003,
        lower_invert_m=drain.lower_invert_m - 0.003,
    )
    return _with(low), {(FAR, "ends no lower than the next stretch begins")}


def drain_drowned() -> Spoiled:
    # It ends 0.05 m above the water after a power cut; all of it is laid 0.06 m lower.
    return drains_lifted(-0.06), {(HEADER, "ends above the sump's highest water")}


def siphon_unvented() -> Spoiled:
    # Under bed_2_2 the gap is 0.05 m, under all others over 0.06 m; 0.047 m of it are taken.
    promise = "siphon ends clear above the crown of its return pipe"
    return drains_lifted(0.047), {("bed_2_2", promise)}


def siphon_drowned() -> Spoiled:
    # Without return pipe, one bed stands so low that its siphon ends 1 cm under the sump's water.
    design = make_design()
    for bed in design.beds:
        design = with_bed(design, bed.id, drain="")
    design = dataclasses.replace(design, drains=())
    floor_m = highest_water_m(design) - design.kinds[0].siphon.outlet_level_m - 0.01
    spoiled = with_bed(design, "bed_1_1", floor_level_m=floor_m)
    return spoiled, {("bed_1_1", "siphon ends above the sump's highest water")}


def siphon_outlet_misstated() -> Spoiled:
    spoiled = with_bed(make_design(), "bed_1_1", siphon_outlet_level_m=0.48)
    return spoiled, {("bed_1_1", "siphon's outlet as its bed stands")}


def bed_without_return_pipe() -> Spoiled:
    # Its burst is then also missing from every stretch that was sized for it.
    spoiled = with_bed(make_design(), "bed_2_2", drain="")
    below = (FAR, "return lateral_2_1", "return header_2", HEADER)
    failed = {(name, COUNTED) for name in below}
    return spoiled, failed | {("bed_2_2", "siphon has a return pipe under it")}


def return_pipe_beside_its_bed() -> Spoiled:
    # Half the diagonal of a slim bed, 1.0 m by 0.8 m, is 0.64 m; the pipe begins 0.7 m short of
    # the bed's middle, and its other end is as far from where it should be.
    drain = drain_of(FAR)
    moved = tuple((x, y - 0.7, level) for x, y, level in drain.points)
    return with_drain(FAR, points=moved), {("bed_2_2", "its return pipe begins under it")}


def straight_drop_uphill() -> Spoiled:
    spoiled = dropping_straight_into_the_sump(fall_m=-0.01)
    return spoiled, {("return riser", "falls from its upper to its lower end")}


def dropping_straight_into_the_sump(fall_m: float) -> Design:
    """The example design with its header's return ending over a stretch of no length in plan."""
    design = make_design()
    header, *others = design.drains
    level_m, tail = header.lower_invert_m, "node_0"
    ((x, y, _), *_) = reversed(header.points)
    drop = dataclasses.replace(
        header,
        id="return riser",
        tail=tail,
        head=DRAIN_END,
        points=((x, y, level_m), (x, y, level_m - fall_m)),
        length_m=0.0,
        upper_invert_m=level_m,
        lower_invert_m=level_m - fall_m,
    )
    drains = (drop, dataclasses.replace(header, head=tail), *others)
    return dataclasses.replace(design, drains=drains)


def _with_slope(drain: BuiltDrain, slope: float) -> BuiltDrain:
    upper_m = drain.lower_invert_m + slope * drain.length_m
    sloped = dataclasses.replace(drain, slope=slope, upper_invert_m=upper_m)
    return dataclasses.replace(sloped, capacity_m3_s=carried_m3_s(sloped))


def _with(drain: BuiltDrain) -> Design:
    design = make_design()
    drains = tuple(drain if d.id == drain.id else d for d in design.drains)
    return dataclasses.replace(design, drains=drains)
