"""What is read from days: drainings together, steps, collectors, power cut, starts, reliability."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.stats import binom

from optimizer.physics.band import Band
from optimizer.simulate.day.drainings import (
    beds_through,
    collector_peaks,
    drainings,
    hours_until_at_most,
    share_above,
    together,
)
from optimizer.simulate.day.drawn_cycle import drawn_cycle_s
from optimizer.simulate.day.first_start import first_start, staggered_start
from optimizer.simulate.day.in_step import EVERY_BED, order_frame, together_at
from optimizer.simulate.day.many_days import days_frame
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.power_cut import power_cut
from optimizer.simulate.day.reliability import reliability
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
from tests.builders.make_design import make_design, make_design_of
from tests.tolerances import EXACT, FORMULA, SAMPLING_SIGMAS, SOLVER


@cache
def eight_beds():
    return plant_of(make_design_of(2, 4))


def test_seven_siphons_at_a_fifth_drain_at_most_four_together():
    # Buchberger, slides on Hunter's method, 2013 (read): n 7, p 0.20, 99 % gives m = 4.
    assert together_at(np.full(7, 0.2), 0.99) == 4


def test_equal_chances_give_the_binomial_quantile():
    for count, chance, confidence in ((3, 0.5, 0.9), (24, 0.3, 0.99), (64, 0.35, 0.999)):
        expected = int(binom.ppf(confidence, count, chance))
        assert together_at(np.full(count, chance), confidence) == expected


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


def band(nominal, low, high):
    return Band(nominal, low, high, "example")


def with_bands(start, stop, loss):
    design = make_design()
    fixed = [
        replace(
            kind,
            start_froude=start or band(*3 * (kind.siphon.start_froude,)),
            stop_ratio=stop or band(*3 * (kind.siphon.stop_ratio,)),
            loss_coefficient=loss or band(*3 * (kind.siphon.loss_coefficient,)),
        )
        for kind in design.kinds
    ]
    promise = replace(design.promise, valve_setting_error=0.0)
    return replace(design, kinds=tuple(fixed), promise=promise)


def test_a_design_without_doubt_works_in_every_draw():
    found = reliability(with_bands(None, None, None), draws=100, pump_tolerance=0.0)
    assert found.share == EXACT + 1.0
    assert set(found.by_bed.values()) == {1.0}


def test_reliability_equals_the_exact_chance_and_names_what_is_to_blame():
    # Only the start Froude number is in doubt, 0.3 to 1.5. A bed of the first kind starts up to
    # Fr 0.3 * (least inflow) / (start flow at 0.3), so its chance is a share of the band; kinds
    # are drawn apart, so the chance of all is the product.
    design = with_bands(band(0.3, 0.3, 1.5), band(1.0, 1.0, 1.0), None)
    plant = plant_of(design)
    least = plant.table().inflows_m3_s(design.sump.lowest_m)
    limits = 0.3 * least / plant.beds.start_m3_s
    chances = [
        (min(limits[i] for i, b in enumerate(design.beds) if b.kind == kind.id) - 0.3) / 1.2
        for kind in design.kinds
    ]
    expected = float(np.prod(chances))
    found = reliability(design, draws=20000, seed=3, pump_tolerance=0.0)
    assert 0.05 < expected < 0.95
    assert abs(found.share - expected) <= SAMPLING_SIGMAS * found.standard_error
    assert found.to_blame["start Froude number"] == EXACT + 1.0
    assert found.to_blame["stop ratio"] == EXACT
    assert found.stops == EXACT + 1.0


def test_a_share_that_floods_often_enough_is_that_of_the_porosities_at_which_it_does():
    # Only the porosity is in doubt, and the time of a cycle is in proportion to it: a bed floods
    # twice an hour up to porosity 0.40 x 1800 s over its longest cycle at its two levels.
    design = with_bands(None, None, None)
    kinds = tuple(replace(k, porosity=band(0.40, 0.30, 0.90)) for k in design.kinds)
    design = replace(design, kinds=kinds)
    plant = plant_of(design)
    table = plant.table()
    levels = (design.sump.lowest_m, design.sump.highest_m)
    chances = []
    for kind in kinds:
        longest_s = max(
            kind.siphon.cycle_s(float(table.inflows_m3_s(level)[i]))
            for i, b in enumerate(design.beds)
            if b.kind == kind.id
            for level in levels
        )
        chances.append((min(0.90, 0.40 * 1800.0 / longest_s) - 0.30) / 0.60)
    expected = float(np.prod(chances))
    found = reliability(design, draws=20000, seed=5, pump_tolerance=0.0)
    error = np.sqrt(expected * (1.0 - expected) / found.draws)
    assert 0.05 < expected < 0.95
    assert found.share == EXACT + 1.0
    assert abs(found.floods - expected) <= SAMPLING_SIGMAS * error


def test_a_cycle_of_drawn_coefficients_is_that_of_a_siphon_with_them():
    # One siphon primes over a weir, the other, on a narrow rim, over a drowned one.
    rng = np.random.default_rng(3)
    siphon = make_design().kinds[0].siphon
    for one in (siphon, replace(siphon, start_froude=0.9, mouth_diameter_m=0.6 * siphon.bore_m)):
        start, loss, store = rng.uniform(0.7, 1.3, (3, 50))
        inflow = rng.uniform(0.8, 1.6, 50) * one.start_flow_m3_s
        found = drawn_cycle_s(one, inflow, start, loss, store)
        for i, each in enumerate(found):
            drawn = replace(
                one,
                start_froude=one.start_froude * start[i],
                loss_coefficient=one.loss_coefficient * loss[i],
                porosity=one.porosity * store[i],
            )
            assert each == pytest.approx(drawn.cycle_s(float(inflow[i])), rel=FORMULA)
        assert np.isfinite(found).any()


def test_drawing_in_batches_counts_every_draw_once(monkeypatch):
    # With one bed's valve error and one coefficient in doubt a batch of one gives the same share
    # up to sampling, and every bed is counted in as many draws as there are.
    design = with_bands(band(0.3, 0.3, 1.5), band(1.0, 1.0, 1.0), None)
    whole = reliability(design, draws=2000, seed=1)
    monkeypatch.setattr("optimizer.simulate.day.reliability.FIGURES_AT_ONCE", 28)
    parts = reliability(design, draws=2000, seed=1)
    error = np.sqrt(whole.share * (1.0 - whole.share) / 1000.0)
    assert abs(whole.share - parts.share) <= SAMPLING_SIGMAS * error
    assert whole.by_bed.keys() == parts.by_bed.keys()
    assert max(parts.by_bed.values()) <= 1.0


def test_many_days_draw_phases_and_coefficients_and_repeat_by_seed():
    scenario = Scenario(hours=6.0, coefficients="random", seed=10)
    frame = days_frame(make_design(), scenario, 4)
    again = days_frame(make_design(), replace(scenario, seed=12), 2)
    assert frame["seed"].tolist() == [10, 11, 12, 13]
    assert frame.iloc[2:].reset_index(drop=True).equals(again)
    assert frame["floods_per_hour_least"].nunique() == 4
