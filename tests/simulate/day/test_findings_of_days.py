"""What is read from days: drainings together, steps, collectors, power cut, starts."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optimizer.day_gather import collector_of
from optimizer.simulate.day.drainings import (
    beds_through,
    collector_peaks,
    drainings,
    hours_until_at_most,
    share_above,
    together,
)
from optimizer.simulate.day.first_start import first_start
from optimizer.simulate.day.in_step import EVERY_BED, order_frame
from optimizer.simulate.day.initial import cycle_parts_s
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.power_cut import power_cut
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.staggered import staggered_start
from tests.builders.make_design import make_design_of
from tests.tolerances import EXACT, FORMULA, SOLVER


@cache
def eight_beds():
    return plant_of(make_design_of(2, 4))


def test_beds_that_start_alike_drain_together_and_stay_in_step():
    # Each kind's four beds have one inflow up to their place; drained at once, they prime at once.
    run = run_plant(eight_beds(), Scenario(hours=3.0, start="drained"), feedback=False)
    found = drainings(run)
    _, count = together(found)
    assert count.min() == 0
    assert count.max() == 8
    assert np.all(found.end_s > found.begin_s)
    broad = order_frame(run).query("group == 'broad'")["order"].dropna()
    in_step = 1e-3  # inflows of a row differ by what its pipe loses
    assert np.max(np.abs(broad - 1.0)) <= in_step


def test_beds_spread_evenly_have_no_phase_order():
    plant = eight_beds()
    run = run_plant(plant, Scenario(hours=4.0, start="steady"), feedback=False)
    frame = order_frame(run)
    for kind in ("broad", "slim"):
        order = frame.loc[(frame["group"] == kind) & (frame["beds"] == 4), "order"]
        assert order.size > 15
        assert np.max(order) <= SOLVER
    assert set(frame["group"]) == {"broad", "slim", EVERY_BED}


def test_a_collector_peaks_at_the_sum_of_all_bursts_when_all_prime_at_once():
    # In the first flood after a drained start all beds of a kind prime within the same instant.
    plant = eight_beds()
    run = run_plant(plant, Scenario(hours=0.3, start="drained"), feedback=False)
    peaks = {peak.stretch: peak for peak in collector_peaks(run)}
    burst = plant.beds.siphon_m3_s(plant.beds.prime_m3)
    for stretch, beds in beds_through(plant.design).items():
        one_kind = len({plant.design.beds[i].kind for i in beds}) == 1
        if one_kind:
            assert peaks[stretch].peak_m3_s == pytest.approx(burst[beds].sum(), rel=FORMULA)
        assert peaks[stretch].peak_m3_s <= burst[beds].sum() * (1.0 + FORMULA)


def test_collectors_sized_for_every_burst_carry_any_day():
    run = run_plant(eight_beds(), Scenario(hours=24.0, seed=3))
    assert all(peak.passed for peak in collector_peaks(run))


def test_collector_peaks_are_never_below_the_true_sum_of_discharges():
    plant = eight_beds()
    run = run_plant(plant, Scenario(hours=6.0, seed=3, trace_step_s=5.0))
    flow = np.where(run.siphoning, plant.beds.siphon_m3_s(run.volumes_m3), 0.0)
    for peak in collector_peaks(run):
        beds = beds_through(plant.design)[peak.stretch]
        true = flow[:, beds].sum(axis=1).max()
        assert true <= peak.peak_m3_s <= 1.05 * true + burst_between_samples(plant, beds)


def test_a_peak_is_not_too_low_where_the_run_ends_in_the_middle_of_drainings():
    # Eight beds prime 2 s apart and the run ends 1 s after the last: no siphon has come near its
    # slots, so together they still give nearly all that eight primed siphons give.
    plant = eight_beds()
    inflow = plant.setting_inflows_m3_s()
    fill, prime, drain = cycle_parts_s(inflow, plant.beds)
    phases = (fill + prime - 2.0 * np.arange(1, 9)) / (fill + prime + drain)
    scenario = Scenario(hours=17.0 / 3600.0, start=tuple(phases.tolist()), trace_step_s=0.5)
    run = run_plant(plant, scenario, feedback=False)
    flow = np.where(run.siphoning, plant.beds.siphon_m3_s(run.volumes_m3), 0.0)
    assert run.siphoning[-1].all()
    for peak in collector_peaks(run):
        true = flow[:, beds_through(plant.design)[peak.stretch]].sum(axis=1).max()
        assert true <= peak.peak_m3_s <= 1.02 * true
    assert collector_of(run).flows["flow_m3_s"].max() >= flow.sum(axis=1).max() * (1.0 - FORMULA)


def burst_between_samples(plant, beds):
    """A discharge falls by so much in the 5 s between samples of the trace, over some beds."""
    rate = plant.beds.siphon_scale**2 / (2.0 * plant.beds.store_m2)
    return float(5.0 * rate[beds].sum())


def test_the_worst_power_cut_brings_the_sump_to_its_stated_level():
    design = make_design_of(2, 4)
    cut = power_cut(design)
    assert cut.highest_m == pytest.approx(design.sump.power_cut_m, rel=FORMULA)
    assert cut.level_m[-1] == pytest.approx(cut.highest_m, rel=FORMULA)
    # It begins with every bed full and the pipes run empty: the lowest level and the pipes' water.
    pipes = design.sump.power_cut_m - design.sump.highest_m
    assert cut.level_m[0] == pytest.approx(design.sump.lowest_m + pipes, rel=FORMULA)
    assert np.all(np.diff(cut.level_m) > 0.0)
    assert cut.keeps_freeboard
    assert not cut.overflows


def test_a_shallow_sump_overflows_at_a_power_cut():
    design = make_design_of(2, 4)
    shallow = replace(design.sump, depth_m=design.sump.power_cut_m - 0.001, freeboard_m=0.0)
    assert power_cut(replace(design, sump=shallow)).overflows


def test_no_simulated_pump_stop_rises_above_the_worst_power_cut():
    plant = eight_beds()
    worst = power_cut(plant.design).highest_m
    for seed in range(4):
        scenario = Scenario(hours=2.0, seed=seed, pump_off=((3000.0, 7200.0),))
        assert run_plant(plant, scenario).sump_highest_m <= worst * (1.0 + FORMULA)


def test_the_power_cuts_trace_is_what_the_simulation_gives():
    # Every bed primed and full when the pump stops at once: phases just past priming.
    plant = eight_beds()
    cut = power_cut(plant.design, points=11)
    inflow = plant.setting_inflows_m3_s().tolist()
    phases = tuple(
        s.fill_s(q) / s.cycle_s(q) + 1e-12 for s, q in zip(plant.siphons, inflow, strict=True)
    )
    step = cut.settled_s / 10.0
    scenario = Scenario(
        hours=cut.settled_s / 3600.0, start=phases, pump_off=((0.0, 1e9),), trace_step_s=step
    )
    run = run_plant(plant, scenario)
    assert run.sump_m[:10] == pytest.approx(cut.level_m[:10], rel=SOLVER)


def test_eight_beds_of_two_kinds_started_dry_come_apart_only_kind_from_kind():
    found = first_start(make_design_of(2, 4), most_together=3, days=0.5)
    # Four beds of a kind fire as one: more than three together to the very end.
    assert found.hours is None
    assert first_start(make_design_of(2, 4), most_together=8, days=0.25).hours == EXACT


def test_a_staggered_start_of_eight_beds_holds():
    found = staggered_start(make_design_of(2, 4), days=1.0)
    assert found.holds
    assert len(found.openings) == 8
    assert sorted(found.frame()["bed"]) == sorted(b.id for b in make_design_of(2, 4).beds)
    assert found.frame()["minute"].is_monotonic_increasing
    last = 60.0 * found.openings[-1].minute
    assert last < max(
        s.cycle_s(q)
        for s, q in zip(
            eight_beds().siphons, eight_beds().setting_inflows_m3_s().tolist(), strict=True
        )
    )


def test_valves_drawn_within_their_error_decide_beside_valves_set_right():
    # Set right, the sump keeps eight beds apart for days. Set to 7 %, they drift past each other:
    # in one draw of three more than Hunter's six drain together for 0.8 % of the time, which
    # 99.7 % do not allow on the mean. Deciding without drawn valves would call it held.
    design = make_design_of(2, 4)
    sure = replace(design, promise=replace(design.promise, confidence=0.997))
    found = staggered_start(sure, days=3.0, draws=3)
    assert max(found.share_above) <= 0.003
    assert found.worst_share_above == sum(found.share_above_drawn) / 3 > 0.003
    assert not found.holds


def test_drawn_valves_miss_their_inflow_by_no_more_than_the_error_promised():
    plant = eight_beds()
    drawn = plant.with_valves_drawn(1).setting_inflows_m3_s() / plant.setting_inflows_m3_s()
    error = plant.design.promise.valve_setting_error
    assert np.all(np.abs(drawn - 1.0) <= error + FORMULA)
    assert np.ptp(drawn) > error


def test_a_start_in_step_does_not_hold():
    # Hunter's m for four equal beds draining a third of the time; all four drain together.
    run = run_plant(eight_beds(), Scenario(hours=6.0, start="drained"))
    assert share_above(run, 6, 0.0, run.scenario.end_s) > 0.01
    assert hours_until_at_most(run, 8) == EXACT
