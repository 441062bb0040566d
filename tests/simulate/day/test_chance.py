"""What is promised for a share of time is held for that share, and no more is asked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.simulate.day.chance import chance_findings, drawn_moments, moments_for
from optimizer.simulate.day.day_findings import findings_of
from optimizer.simulate.day.drainings import beds_through
from optimizer.simulate.day.initial import cycle_parts_s
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.sump_levels import sump_levels
from optimizer.simulate.tolerances import SAMPLING_ERRORS
from tests.builders.make_design import make_design_of

CONFIDENCE = 0.9


def carrying(capacity_m3_s, bursts="binomial"):
    """A plant of eight beds, every return stretch of one capacity."""
    design = make_design_of(2, 4)
    drains = tuple(replace(d, capacity_m3_s=capacity_m3_s) for d in design.drains)
    promise = replace(design.promise, bursts=bursts, confidence=CONFIDENCE)
    return plant_of(replace(design, drains=drains, promise=promise))


def draining(plant):
    """Share of its cycle in which each bed drains: the closed form of its three times."""
    fill, prime, drain = cycle_parts_s(plant.setting_inflows_m3_s(), plant.beds)
    return drain / (fill + prime + drain)


def test_pipe_that_carries_nothing_is_exceeded_whenever_some_bed_above_it_drains():
    # independent beds: 1 - product of (1 - share), by hand for every stretch
    plant = carrying(0.0)
    shares, through = draining(plant), beds_through(plant.design)
    for found in chance_findings(plant):
        some = 1.0 - np.prod(1.0 - shares[through[found.subject]])
        error = np.sqrt(some * (1.0 - some) / moments_for(8))
        assert found.simulated == pytest.approx(some, abs=(1.0 + SAMPLING_ERRORS) * error)
        assert found.passed == (some <= 1.0 - CONFIDENCE)


def test_pipe_for_the_sum_of_all_bursts_is_never_exceeded():
    burst = float(carrying(0.0).beds.siphon_m3_s(carrying(0.0).beds.prime_m3).sum())
    assert {found.simulated for found in chance_findings(carrying(burst))} == {0.0}


def test_a_mean_draw_gives_back_the_water_that_runs_in():
    # What a working bed drains in a cycle is what ran into it, so its mean discharge is its inflow.
    plant = carrying(0.0)
    drawn, inflow = drawn_moments(plant, 40_000), plant.setting_inflows_m3_s()
    error = drawn.discharges_m3_s.std(axis=0) / np.sqrt(40_000)
    off = np.abs(drawn.discharges_m3_s.mean(axis=0) - inflow)
    assert np.all(off <= (1.0 + SAMPLING_ERRORS) * error)


def test_the_same_moments_are_drawn_again():
    plant = carrying(0.0)
    first, second = drawn_moments(plant, 100), drawn_moments(plant, 100)
    assert np.array_equal(first.volumes_m3, second.volumes_m3)
    assert np.array_equal(first.discharges_m3_s, second.discharges_m3_s)


@pytest.mark.parametrize(("above_m", "passed"), [(0.02, False), (-0.02, True)])
def test_a_sump_for_a_quantile_of_held_water_is_held_to_the_level_that_seldom_is_passed(
    above_m, passed
):
    # The level that is passed for a tenth of the time, from another and larger sample (no closed
    # form is known for a sum of cycles); 2 cm either way are far more than both samples' errors.
    plant = carrying(1.0)
    levels = sump_levels(plant.design)
    area_m2 = plant.design.sump.area_m2 * plant.design.sump.count
    held = drawn_moments(plant, 40_000, seed=9).volumes_m3.sum(axis=1)
    least = np.quantile(levels.highest_m - held / area_m2, 1.0 - CONFIDENCE)
    lost = plant.design.sump.lost_m3 / area_m2
    pump = replace(plant.design.pump, submergence_m=float(least - lost + above_m))
    promise = replace(plant.design.promise, held="quantile", bursts="all")
    (found,) = chance_findings(plant_of(replace(plant.design, pump=pump, promise=promise)))
    assert found.subject == pump.id and found.passed == passed


def test_a_day_of_a_sump_for_a_quantile_still_may_not_run_it_dry():
    plant = carrying(1.0)
    promise = replace(plant.design.promise, held="quantile")
    run = run_plant(plant_of(replace(plant.design, promise=promise)), Scenario(hours=2.0, seed=1))
    found = {f.promise for f in findings_of(run)}
    assert "holds water all through a simulated day" in found
    assert "submerged over a simulated day" not in found


def test_bursts_counted_as_all_at_once_are_held_against_the_day_s_peak_instead():
    # One burst's worth of pipe: exceeded at some moment of a day, and that is a broken promise
    # where every burst was to fit; where seldom is enough the share of time decides.
    burst = float(carrying(0.0).beds.siphon_m3_s(carrying(0.0).beds.prime_m3).max())
    promised = {}
    for bursts in ("all", "binomial"):
        run = run_plant(carrying(1.01 * burst, bursts), Scenario(hours=24.0, seed=1))
        found = [f for f in findings_of(run) if f.subject in beds_through(run.plant.design)]
        promised[bursts] = {f.promise for f in found}
        assert found
    assert promised["all"] == {"carries a simulated day's peak"}
    assert len(promised["binomial"]) == 1 and "share of time" in next(iter(promised["binomial"]))


def test_a_promise_for_all_of_the_time_is_broken_by_any_moment_at_which_it_fails():
    # Pipe that carries nothing is exceeded whenever a bed over it drains, for all bursts never.
    bursts = carrying(0.0).beds.siphon_m3_s(carrying(0.0).beds.prime_m3)
    for capacity_m3_s, passed in ((0.0, False), (float(bursts.sum()), True)):
        design = carrying(capacity_m3_s).design
        promise = replace(design.promise, confidence=1.0)
        found = list(chance_findings(plant_of(replace(design, promise=promise))))
        assert found and all(each.passed == passed for each in found)
