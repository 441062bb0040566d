"""Zones that flood in turn: the check follows them, and catches each spoiled promise of them."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from optimizer.day_gather import gather_day
from optimizer.errors import BadInput
from optimizer.records.design import Design
from optimizer.records.design_io import design_from_dict, design_to_dict
from optimizer.report.day_doings import Doings
from optimizer.simulate.check import check_design
from optimizer.simulate.day.day_findings import day_findings
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.run import simulate_day
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.segment import Event
from optimizer.simulate.day.turns import beds_without_water
from optimizer.simulate.in_turn import zone_designs
from optimizer.simulate.operating_point import operating_point
from optimizer.simulate.valves import set_valves
from optimizer.simulate.whole_check import check_whole
from optimizer.simulate.zone_findings import zone_findings
from tests.builders.zoned_design import zoned_design
from tests.physics.stepped_bed import SteppedBed
from tests.tolerances import FORMULA

EVENT_S = 1.0
"""Times of events against steps of 0.05 s through a day of floods of half an hour and more."""


def with_zones(**fields) -> Design:
    design = zoned_design()
    return dataclasses.replace(design, zones=dataclasses.replace(design.zones, **fields))


def with_zone(number: int, **fields) -> Design:
    zones = list(zoned_design().zones.zones)
    zones[number] = dataclasses.replace(zones[number], **fields)
    return with_zones(zones=tuple(zones))


def failed(design: Design) -> set[tuple[str, str]]:
    return {(f.subject, f.promise) for f in check_design(design).failures}


def test_a_design_in_zones_keeps_every_promise_a_day_and_a_power_cut_included():
    report = check_whole(zoned_design())
    assert report.failures == ()
    assert report.reliability.floods == 1.0


def test_in_every_turn_the_pump_serves_one_zone_and_stays_on_its_curve():
    # Zone 1 has two beds, zone 2 three: with one kind of bed their flows are as 2 to 3.
    first, second = zoned_design().zones.zones
    assert first.flow_m3_s / second.flow_m3_s == pytest.approx(2.0 / 3.0, rel=FORMULA)
    assert second.flow_m3_s == pytest.approx(zoned_design().pump.duty_flow_m3_s, rel=FORMULA)
    assert first.head_m > second.head_m


def test_a_design_in_zones_comes_back_from_its_file():
    assert design_from_dict(design_to_dict(zoned_design())).zones == zoned_design().zones


# spoiled designs


def turn_too_short() -> tuple[Design, set[str]]:
    return with_zones(turn_s=0.8 * zoned_design().zones.turn_s), {
        "floods of a turn from empty at its least inflow",
        "floods an hour at the target's low end",
    }


def turn_too_long() -> tuple[Design, set[str]]:
    long = with_zones(turn_s=1.2 * zoned_design().zones.turn_s)
    return long, {"floods an hour over a whole rotation"}


def valve_of_the_wrong_zone() -> tuple[Design, set[str]]:
    valves = list(zoned_design().zones.valves)
    other = {"zone 1": "zone 2", "zone 2": "zone 1"}
    valves[0] = dataclasses.replace(valves[0], zone=other[valves[0].zone])
    return with_zones(valves=tuple(valves)), {
        "timed valves of its zone on its way",
        "timed valves of other zones on its way",
    }


def valve_left_out() -> tuple[Design, set[str]]:
    design = with_zones(valves=zoned_design().zones.valves[1:])
    return design, {"timed valves of its zone on its way", "energy of timed valves in a year"}


def zones_uneven_beyond_the_pump() -> tuple[Design, set[str]]:
    # Row C moves to the first zone without the pump being chosen for four beds at once.
    zones = list(zoned_design().zones.zones)
    zones[0] = dataclasses.replace(zones[0], rows=("A", "C"))
    zones[1] = dataclasses.replace(zones[1], rows=("B",))
    return with_zones(zones=tuple(zones)), {
        "pump's flow in its turn",
        "flow in its turn no more than the pump was chosen for",
    }


def no_overlap() -> tuple[Design, set[str]]:
    return with_zones(change_s=0.0), {"time for which two zones are open while valves move"}


def timer_too_small() -> tuple[Design, set[str]]:
    return with_zones(stations=1), {"stations of the timer"}


def flow_misstated() -> tuple[Design, set[str]]:
    flow = 0.9 * zoned_design().zones.zones[0].flow_m3_s
    return with_zone(0, flow_m3_s=flow), {"pump's flow in its turn"}


def head_misstated() -> tuple[Design, set[str]]:
    head = 0.9 * zoned_design().zones.zones[0].head_m
    return with_zone(0, head_m=head), {"pump's head in its turn"}


def watts_misstated() -> tuple[Design, set[str]]:
    watts = 0.9 * zoned_design().zones.zones[0].watts
    return with_zone(0, watts=watts), {"pump's watts in its turn"}


def curve_ends_in_the_greatest_turn() -> tuple[Design, set[str]]:
    design, most = zoned_design(), zoned_design().pump.duty_flow_m3_s
    pump = design.pump
    kept = [n for n, flow in enumerate(pump.flows_m3_s) if flow < 0.9 * most]
    flows = (*(pump.flows_m3_s[n] for n in kept), 0.99 * most)
    end = [float(np.interp(flows[-1], pump.flows_m3_s, c)) for c in (pump.heads_m, pump.watts)]
    heads = (*(pump.heads_m[n] for n in kept), end[0])
    watts = (*(pump.watts[n] for n in kept), end[1])
    cut = dataclasses.replace(pump, flows_m3_s=flows, heads_m=heads, watts=watts)
    short = dataclasses.replace(design, pump=cut)
    return short, {"pump inside its curve in its turn"}


def loss_of_a_valve_left_out() -> tuple[Design, set[str]]:
    design = zoned_design()
    name = design.zones.valves[0].stretch
    stretches = tuple(
        dataclasses.replace(s, fittings=tuple(f for f in s.fittings if f.name != "timed_valve"))
        if s.id == name
        else s
        for s in design.stretches
    )
    bare = dataclasses.replace(design, stretches=stretches)
    return bare, {"loss of its timed valve counted"}


def power_misstated() -> tuple[Design, set[str]]:
    return with_zones(valves_kwh_per_year=0.0), {"energy of timed valves in a year"}


SPOILS = (
    turn_too_short,
    turn_too_long,
    valve_of_the_wrong_zone,
    valve_left_out,
    zones_uneven_beyond_the_pump,
    no_overlap,
    timer_too_small,
    flow_misstated,
    head_misstated,
    watts_misstated,
    curve_ends_in_the_greatest_turn,
    loss_of_a_valve_left_out,
    power_misstated,
)


@pytest.mark.parametrize("spoil", SPOILS, ids=lambda spoil: spoil.__name__)
def test_a_spoiled_zone_is_caught(spoil):
    design, expected = spoil()
    assert expected <= {promise for _, promise in failed(design)}


def test_every_promise_about_zones_has_a_spoil_that_breaks_it():
    design = zoned_design()
    report = check_design(design)
    made = {f.promise for f in zone_findings(design, set_valves(design), report.beds)}
    broken = {promise for spoil in SPOILS for promise in spoil()[1]}
    same_rule = {"floods of a turn from empty at its greatest inflow"}
    assert made - broken <= same_rule


def test_a_row_in_no_zone_or_in_two_and_a_valve_nowhere_are_refused():
    zones = zoned_design().zones.zones
    twice = with_zone(0, rows=("A", "B"))
    none = with_zones(zones=(zones[0], dataclasses.replace(zones[1], rows=("C",))))
    valve = dataclasses.replace(zoned_design().zones.valves[0], stretch="nowhere")
    lost = with_zones(valves=(valve,))
    for design in (twice, none, lost):
        with pytest.raises(BadInput):
            check_design(design)


# the simulated day


def test_two_zones_are_open_while_valves_move_and_one_after():
    design = zoned_design()
    turn, change = design.zones.turn_s, design.zones.change_s
    assert beds_without_water(design, turn) == set()
    assert beds_without_water(design, turn + change) == {"A1", "A2"}
    assert beds_without_water(design, 2 * turn + change) == {"B1", "C1", "C2"}
    assert beds_without_water(design, turn - 1.0) == {"B1", "C1", "C2"}


def test_a_day_in_turns_has_its_events_where_a_bed_stepped_through_time_has_them():
    # Inflows are held at the setting level, so each bed sees its own in its turn, a smaller one
    # while two zones are open, and none else.
    design = zoned_design()
    plant, setting = plant_of(design), design.sump.setting_m
    zones, hours = design.zones, 3.0 * design.zones.rotation_s / 3600.0
    run = simulate_day(design, Scenario(hours=hours, start="dry"), feedback=False)
    times, which = run.times_of(Event.PRIMES)
    ended, whose = run.times_of(Event.BREAKS)
    for i in (0, 4):
        stepped = SteppedBed(plant.siphons[i], 0.0)
        for turn in range(3 * len(zones.zones)):
            for late, length in ((0.0, zones.change_s), (zones.change_s, zones.turn_s)):
                shut = frozenset(beds_without_water(design, turn * zones.turn_s + late))
                inflow = plant.table(shut).inflows_m3_s(setting)[i]
                stepped.run(float(inflow), length - late)
        assert times[which == i] == pytest.approx(stepped.primes_s, abs=EVENT_S)
        assert ended[whose == i] == pytest.approx(stepped.breaks_s, abs=EVENT_S)


def test_inflows_in_a_turn_are_those_of_the_zone_alone():
    design = zoned_design()
    plant, low = plant_of(design), design.sump.lowest_m
    for number, part in enumerate(zone_designs(design)):
        time = number * design.zones.turn_s + design.zones.change_s
        flows = plant.table(frozenset(beds_without_water(design, time))).inflows_m3_s(low)
        point = operating_point(part, plant.valve_losses, low)
        for bed, flow in zip(design.beds, flows, strict=True):
            alone = point.flows_m3_s.get(bed.drop, 0.0)
            assert flow == pytest.approx(alone, rel=1e-5, abs=1e-12)


def test_a_turn_too_short_shows_in_a_simulated_day():
    short = with_zones(turn_s=0.55 * zoned_design().zones.turn_s)
    words = "fewest floods begun in a turn of a simulated day"
    failures = [f for f in day_findings(short) if not f.passed]
    assert any(f.promise == words for f in failures)


def test_the_sump_keeps_its_water_through_a_day_in_turns():
    run = simulate_day(zoned_design(), Scenario(hours=8.0))
    held = run.held_m3() + run.sump_m * run.plant.area_m2
    assert np.ptp(held) <= 1e-9 + run.water_error_m3


def limited(most: float) -> Design:
    promise = dataclasses.replace(zoned_design().promise, floods_per_hour_most=most)
    return dataclasses.replace(zoned_design(), promise=promise)


def test_more_floods_an_hour_than_allowed_are_found_in_the_check_and_in_a_day():
    # One flood a turn is one a rotation, 3600 s over its length; half of that is too few to allow.
    zones = zoned_design().zones
    rate = zones.floods * 3600.0 / zones.rotation_s
    run, words = Scenario(hours=8.0), "floods an hour over a simulated day, not above"
    found = {f.promise for f in check_design(limited(0.5 * rate)).failures}
    assert any(promise.startswith("floods an hour not above") for promise in found)
    tight = [f for f in day_findings(limited(0.5 * rate), run) if f.promise == words]
    loose = [f for f in day_findings(limited(2.0 * rate), run) if f.promise == words]
    assert len(tight) == len(loose) == len(zoned_design().beds)
    assert not any(f.passed for f in tight) and all(f.passed for f in loose)


def test_a_run_that_ends_before_a_turn_does_promises_nothing_of_turns():
    short = Scenario(hours=0.5 * zoned_design().zones.turn_s / 3600.0)
    assert not any("turn" in f.promise for f in day_findings(zoned_design(), short))


def test_a_day_in_turns_has_no_first_start_to_tell_of():
    # The timer opens the zones by turns, so there is nothing to stagger.
    doings = Doings(hours=1.0, start="random", seed=1)
    facts = gather_day(zoned_design(), doings, 0, 1, lambda _: None)
    assert facts.starts.openings == ()
    assert facts.starts.hours_in_step is None
