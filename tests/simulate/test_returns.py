"""What runs down the return pipes and where the sump's water stands, against hand arguments."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.physics.held_volume import RESOLUTION
from optimizer.records.design import DRAIN_END
from optimizer.simulate.check import check_design
from optimizer.simulate.returns import (
    Burst,
    beds_above,
    burst_of,
    bursts_m3_s,
    slope_of,
    true_capacity_m3_s,
)
from optimizer.simulate.sump_levels import highest_water_m, sump_levels
from tests.builders.make_design import make_design, make_design_of
from tests.simulate.spoil_returns import dropping_straight_into_the_sump
from tests.simulate.spoil_tools import changed
from tests.tolerances import EXACT, FORMULA

BINOMIAL = dataclasses.replace(make_design().promise, bursts="binomial", confidence=0.99)
ALL = make_design().promise


def test_a_stretch_carries_the_beds_further_out_and_the_last_carries_all():
    # Two rows of two: each lateral to bed i also carries the beds beyond it.
    above = {name: {bed.id for bed in beds} for name, beds in beds_above(make_design()).items()}
    assert above == {
        "return header_1": {"bed_1_1", "bed_1_2", "bed_2_1", "bed_2_2"},
        "return lateral_1_1": {"bed_1_1", "bed_1_2"},
        "return lateral_1_2": {"bed_1_2"},
        "return header_2": {"bed_2_1", "bed_2_2"},
        "return lateral_2_1": {"bed_2_1", "bed_2_2"},
        "return lateral_2_2": {"bed_2_2"},
    }


@settings(max_examples=20, deadline=None)
@given(rows=st.integers(1, 5), beds=st.integers(1, 5))
def test_bursts_stated_join_at_every_node_as_the_check_counts_them(rows, beds):
    # At every node what arrives plus the bed's own burst leaves: no burst is lost or made.
    design = make_design_of(rows, beds)
    kinds = {kind.id: burst_of(kind).flow_m3_s for kind in design.kinds}
    above = beds_above(design)
    for drain in design.drains:
        counted = sum(kinds[bed.kind] for bed in above[drain.id])
        arriving = sum(d.bursts_m3_s for d in design.drains if d.head == drain.tail)
        own = sum(kinds[bed.kind] for bed in design.beds if bed.drain == drain.id)
        assert counted == pytest.approx(arriving + own, rel=FORMULA)
    last = sum(d.bursts_m3_s for d in design.drains if d.head == DRAIN_END)
    assert last == pytest.approx(sum(kinds[bed.kind] for bed in design.beds), rel=FORMULA)


def test_seven_beds_that_drain_a_fifth_of_their_time_count_as_four():
    # n 7, p 0.20, 99 %: m = 4. S. G. Buchberger, slides on Hunter's method, 2013 (read).
    bursts = [Burst(0.001, 0.2)] * 7
    assert bursts_m3_s(bursts, BINOMIAL) == pytest.approx(0.004, rel=FORMULA)
    assert bursts_m3_s(bursts, ALL) == pytest.approx(0.007, rel=FORMULA)


def test_of_unequal_beds_the_greatest_bursts_and_the_greatest_share_count():
    # One of seven drains a fifth of its time, the others hardly ever: m is 4 as if all did, and
    # the four greatest of 1 to 7 L/s are 4, 5, 6, 7.
    shares = [0.2, *[0.01] * 6]
    bursts = [Burst(0.001 * i, share) for i, share in enumerate(shares, start=1)]
    assert bursts_m3_s(bursts, BINOMIAL) == pytest.approx(0.022, rel=FORMULA)


def test_a_bed_that_never_stops_draining_always_counts():
    stuck = dataclasses.replace(make_design().kinds[0], inflow_m3_s=0.1)
    assert burst_of(stuck).share_of_time == 1.0
    assert bursts_m3_s([burst_of(stuck)] * 9, BINOMIAL) == bursts_m3_s([burst_of(stuck)] * 9, ALL)


def test_no_bed_sends_nothing():
    assert bursts_m3_s([], BINOMIAL) == bursts_m3_s([], ALL) == EXACT


def test_a_burst_is_a_full_pipe_under_the_level_at_priming():
    # Q = a sqrt(2 g (h - z) / K): all the head from the prime level to the outlet.
    siphon = make_design().kinds[0].siphon
    area_m2 = math.pi / 4.0 * siphon.bore_m**2
    head_m = siphon.prime_level_m - siphon.outlet_level_m
    expected = area_m2 * math.sqrt(2.0 * 9.80665 * head_m / siphon.loss_coefficient)
    assert burst_of(make_design().kinds[0]).flow_m3_s == pytest.approx(expected, rel=FORMULA)


def test_a_stretch_carries_what_its_inverts_allow_whatever_it_states():
    # Manning: capacity goes with the root of the slope; four times the fall carries twice as much.
    drain = make_design().drains[0]
    fall_m = drain.upper_invert_m - drain.lower_invert_m
    steep = dataclasses.replace(drain, upper_invert_m=drain.upper_invert_m + 3.0 * fall_m)
    assert true_capacity_m3_s(steep) == pytest.approx(2.0 * true_capacity_m3_s(drain), rel=FORMULA)
    level = dataclasses.replace(drain, upper_invert_m=drain.lower_invert_m)
    assert true_capacity_m3_s(level) == EXACT


def test_a_stretch_of_no_length_in_plan_has_the_slope_it_states():
    drop = dropping_straight_into_the_sump(fall_m=0.01).drains[0]
    assert slope_of(drop) == drop.slope


def test_binomial_bursts_stated_as_counted_pass():
    # At 99 % all of these small groups count whole: four beds that drain 0.342 of their time all
    # drain at once with chance 0.0137, more than 1 %.
    assert check_design(changed("promise", bursts="binomial")).passed


def test_all_beds_full_hold_the_sump_down_by_what_they_hold():
    design = make_design()
    held_m3 = sum(k.siphon.held_m3 for b in design.beds for k in design.kinds if k.id == b.kind)
    levels = sump_levels(design)
    fall_m = held_m3 / design.sump.area_m2
    assert levels.highest_m - levels.lowest_m == pytest.approx(fall_m, rel=FORMULA)


def test_water_lost_lowers_the_lowest_level_only():
    design = changed("sump", lost_m3=0.05)
    before, after = sump_levels(make_design()), sump_levels(design)
    lost_m = 0.05 / design.sump.area_m2
    assert before.lowest_m - after.lowest_m == pytest.approx(lost_m, rel=FORMULA)
    assert (after.highest_m, after.power_cut_m) == (before.highest_m, before.power_cut_m)


def test_a_quantile_lies_between_half_full_and_all_full_and_is_all_full_when_certain():
    design, area_m2 = make_design(), make_design().sump.area_m2
    falls = []
    for confidence in (0.5, 0.9, 0.99, 1.0):
        levels = sump_levels(changed("promise", held="quantile", confidence=confidence))
        falls.append((levels.highest_m - levels.lowest_m) * area_m2)
    full_m3 = (sump_levels(design).highest_m - sump_levels(design).lowest_m) * area_m2
    assert falls == sorted(falls)
    assert falls[-1] == pytest.approx(full_m3, rel=FORMULA)
    # A bed fills at a constant rate for most of its cycle, and so holds about half of its flood.
    assert 0.4 * full_m3 < falls[0] < 0.6 * full_m3
    assert falls[2] < (1.0 - RESOLUTION) * full_m3


def test_a_quantile_sized_sump_passes_when_its_levels_say_so():
    design = changed("promise", held="quantile")
    stated = dataclasses.replace(design.sump, lowest_m=sump_levels(design).lowest_m)
    assert check_design(dataclasses.replace(design, sump=stated)).passed


def test_where_a_bed_does_not_cycle_all_beds_count_as_full():
    design = changed("promise", held="quantile")
    stalled = dataclasses.replace(design.kinds[0], inflow_m3_s=1e-6)
    spoiled = dataclasses.replace(design, kinds=(stalled, *design.kinds[1:]))
    assert sump_levels(spoiled) == sump_levels(make_design())


def test_a_non_return_valve_keeps_the_pipes_full_at_a_power_cut():
    held = changed("promise", drain_back_share=0.0)
    assert sump_levels(held).power_cut_m == sump_levels(held).highest_m
    assert highest_water_m(held) < highest_water_m(make_design())
