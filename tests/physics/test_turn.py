"""Floods in turns against a bed stepped through time, and against their own inverse."""

import dataclasses
import math

import pytest

from optimizer.physics.band import Band
from optimizer.physics.turn import (
    Turn,
    floods_in_a_turn,
    floods_per_hour_at_most,
    floods_per_hour_surely,
    floods_time_s,
    greatest_floods_in_turns,
    inflows_of_a_turn,
    slowest_bed,
    turn_of,
)
from tests.physics.make_bed import WORKED, WORKED_WITHOUT_RIM, inside
from tests.physics.stepped_bed import SteppedBed
from tests.tolerances import EXACT, FORMULA

STEPPED = 2e-3
"""Relative: explicit steps of 0.05 s over a flood of half an hour or more."""


def time_of_breaks(bed, inflow, count):
    stepped, time = SteppedBed(bed, 0.0), 0.0
    while stepped.breaks < count:
        stepped.run(inflow, 1.0)
        time += 1.0
    return time


@pytest.mark.parametrize("floods", [1, 2])
def test_floods_from_empty_take_what_a_stepped_bed_takes(floods):
    inflow = inside(WORKED, 0.5)
    time = floods_time_s(WORKED, inflow, floods)
    assert time == pytest.approx(time_of_breaks(WORKED, inflow, floods), rel=STEPPED, abs=1.0)


def test_without_a_rim_the_first_flood_is_all_water_up_to_the_crest_and_a_draining():
    # S hs / q to fill from the floor; the drain is the closed form the bed is tested for.
    bed, inflow = WORKED_WITHOUT_RIM, inside(WORKED_WITHOUT_RIM, 0.5)
    fill = bed.area_m2 * bed.porosity * bed.crest_level_m / inflow
    expected = fill + bed.drain_s(inflow)
    assert floods_time_s(bed, inflow, 1) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.95])
@pytest.mark.parametrize("level_m", [0.0, 0.02, 0.12, 0.24, 0.252])
def test_from_whatever_was_left_in_it_a_bed_has_its_floods_in_every_turn(share, level_m):
    # The turn is just long enough from empty; then follow four turns with pauses without water.
    inflow = inside(WORKED, share)
    open_s = floods_time_s(WORKED, inflow, 1) * (1.0 + STEPPED)
    stepped = SteppedBed(WORKED, level_m)
    for _ in range(4):
        before = stepped.starts
        stepped.run(inflow, open_s)
        assert stepped.starts >= before + 1
        stepped.run(0.0, open_s)
        assert not stepped.primed


def test_a_turn_a_tenth_too_short_leaves_an_empty_bed_without_its_flood():
    inflow = inside(WORKED, 0.5)
    stepped = SteppedBed(WORKED, 0.0)
    stepped.run(inflow, 0.9 * floods_time_s(WORKED, inflow, 1))
    assert stepped.breaks == 0


def test_no_more_floods_fall_to_many_turns_than_the_bound_says():
    inflow = inside(WORKED, 0.6)
    turn = Turn(1.3 * WORKED.cycle_s(inflow), 4.0 * WORKED.cycle_s(inflow))
    stepped = SteppedBed(WORKED, 0.0)
    for _ in range(12):
        stepped.run(inflow, turn.open_s)
        stepped.run(0.0, turn.rotation_s - turn.open_s)
    hours = 12 * turn.rotation_s / 3600.0
    most = floods_per_hour_at_most(WORKED, inflow, turn)
    assert floods_per_hour_surely(WORKED, inflow, turn) <= stepped.breaks / hours <= most


@pytest.mark.parametrize("zones", [2, 3])
def test_at_the_ends_of_the_interval_the_floods_just_fit_and_outside_they_do_not(zones):
    _, most = greatest_floods_in_turns(WORKED, 2, zones, 20.0)
    turn = turn_of(0.98 * most, 2, zones, 20.0)
    low, high = inflows_of_a_turn(WORKED, turn)
    for end in (low, high):
        assert floods_time_s(WORKED, end, 2) == pytest.approx(turn.open_s, rel=FORMULA)
    assert floods_in_a_turn(WORKED, (low + high) / 2.0, turn) >= 2
    assert floods_in_a_turn(WORKED, 0.99 * low, turn) < 2
    assert floods_in_a_turn(WORKED, 1.01 * high, turn) < 2


def test_more_floods_than_the_greatest_have_no_inflow():
    inflow, most = greatest_floods_in_turns(WORKED, 1, 3, 30.0)
    kept = inflows_of_a_turn(WORKED, turn_of(most * (1.0 - FORMULA), 1, 3, 30.0))
    assert kept is not None
    assert kept[0] <= inflow * (1.0 + FORMULA)
    assert inflows_of_a_turn(WORKED, turn_of(1.001 * most, 1, 3, 30.0)) is None


def test_a_limit_on_floods_takes_the_upper_inflows_away_and_too_low_a_limit_all():
    turn = turn_of(0.4, 1, 2, 20.0)
    free, held = inflows_of_a_turn(WORKED, turn), inflows_of_a_turn(WORKED, turn, 0.9)
    assert held[0] == free[0]
    assert held[1] < free[1]
    assert floods_per_hour_at_most(WORKED, held[1], turn) == pytest.approx(0.9, rel=FORMULA)
    assert inflows_of_a_turn(WORKED, turn, 0.4) is None


def test_where_a_siphon_does_not_start_or_break_no_flood_falls_to_any_turn():
    # At the start flow priming takes for ever; above the stop flow the siphon never breaks.
    turn = turn_of(0.4, 1, 2, 20.0)
    for inflow in (WORKED.start_flow_m3_s, 1.01 * WORKED.stop_flow_m3_s):
        assert math.isinf(floods_time_s(WORKED, inflow, 1))
        assert floods_in_a_turn(WORKED, inflow, turn) == 0
        assert floods_per_hour_at_most(WORKED, inflow, turn) == EXACT


def test_a_bed_that_no_inflow_works_has_no_floods_in_turns():
    # Started at a Froude number of 3 the siphon passes more than its discharge at the drain level.
    stuck = dataclasses.replace(WORKED, start_froude=3.0)
    assert stuck.start_flow_m3_s > stuck.stop_flow_m3_s
    assert greatest_floods_in_turns(stuck, 1, 2, 20.0) == (stuck.start_flow_m3_s, 0.0)
    assert inflows_of_a_turn(stuck, turn_of(0.01, 1, 2, 20.0)) is None


def test_zones_share_the_rotation_and_lose_the_time_that_valves_take():
    # Half a flood an hour, one a turn: 7200 s for all; three zones have 2400 s each, 30 s lost.
    assert turn_of(0.5, 1, 3, 30.0) == Turn(2370.0, 7200.0, 1)
    assert turn_of(60.0, 1, 3, 30.0) is None


def test_a_bed_is_slowed_to_the_top_of_its_bands_or_to_95_percent_of_them():
    start, loss = Band(0.3, 0.2, 0.4, "x"), Band(5.0, 4.0, 6.0, "x")
    porosity = Band(0.4, 0.3, 0.5, "x")
    whole = slowest_bed(WORKED, start, loss, porosity, "whole")
    assert (whole.start_froude, whole.loss_coefficient, whole.porosity) == (0.4, 6.0, 0.5)
    most = slowest_bed(WORKED, start, loss, porosity, "most")
    assert most.loss_coefficient == pytest.approx(5.9, rel=FORMULA)
    assert slowest_bed(WORKED, start, loss, porosity, "nominal") == WORKED
    inflow = inside(WORKED, 0.5)
    corners = [
        dataclasses.replace(WORKED, start_froude=a, loss_coefficient=b, porosity=c)
        for a in (0.2, 0.4)
        for b in (4.0, 6.0)
        for c in (0.3, 0.5)
    ]
    times = [floods_time_s(bed, inflow, 1) for bed in corners]
    assert floods_time_s(whole, inflow, 1) - max(times) == EXACT


def test_a_turn_without_time_or_floods_is_refused():
    for figures in ((0.0, 10.0, 1), (11.0, 10.0, 1), (5.0, 10.0, 0)):
        with pytest.raises(ValueError, match="turn"):
            Turn(*figures)
