"""Pipe for independent bursts carries them for the share of time promised; no more is asked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.simulate.day.chance_peaks import MOMENTS, chance_findings, drawn_discharges_m3_s
from optimizer.simulate.day.day_findings import findings_of
from optimizer.simulate.day.drainings import beds_through
from optimizer.simulate.day.initial import cycle_parts_s
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
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
        error = np.sqrt(some * (1.0 - some) / MOMENTS)
        assert found.simulated == pytest.approx(some, abs=(1.0 + SAMPLING_ERRORS) * error)
        assert found.passed == (some <= 1.0 - CONFIDENCE)


def test_pipe_for_the_sum_of_all_bursts_is_never_exceeded():
    burst = float(carrying(0.0).beds.siphon_m3_s(carrying(0.0).beds.prime_m3).sum())
    assert {found.simulated for found in chance_findings(carrying(burst))} == {0.0}


def test_a_mean_draw_gives_back_the_water_that_runs_in():
    # What a working bed drains in a cycle is what ran in; the straight line over the discharge's
    # bend may only add to it.
    plant = carrying(0.0)
    mean = drawn_discharges_m3_s(plant, moments=200_000).mean(axis=0)
    inflow = plant.setting_inflows_m3_s()
    assert np.all(mean >= 0.99 * inflow) and np.all(mean <= 1.1 * inflow)


def test_the_same_moments_are_drawn_again():
    plant = carrying(0.0)
    first, second = drawn_discharges_m3_s(plant, 100), drawn_discharges_m3_s(plant, 100)
    assert np.array_equal(first, second)


def test_bursts_counted_as_all_at_once_are_held_against_the_day_s_peak_instead():
    # One burst's worth of pipe: exceeded at some moment of a day, and that is a broken promise
    # where every burst was to fit; where seldom is enough the share of time decides.
    burst = float(carrying(0.0).beds.siphon_m3_s(carrying(0.0).beds.prime_m3).max())
    promised = {}
    for bursts in ("all", "binomial"):
        run = run_plant(carrying(1.01 * burst, bursts), Scenario(hours=24.0, seed=1))
        found = [f for f in findings_of(run) if f.subject.startswith("return")]
        promised[bursts] = {f.promise for f in found}
        assert found
    assert promised["all"] == {"carries a simulated day's peak"}
    assert len(promised["binomial"]) == 1 and "share of time" in next(iter(promised["binomial"]))
