"""Held volume: one bed against brute-force integration, many against a million random phases."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from optimizer.physics.held_volume import (
    held_distribution,
    held_quantile_m3,
    mean_held_m3,
    share_of_time_below,
)
from optimizer.physics.siphon import rim_flow
from tests.physics.make_bed import DROWNED, WORKED, beds, inside
from tests.tolerances import EXACT, FORMULA, SAMPLING_SIGMAS

TIME_GRID = 2e-5
"""Absolute: shares of time counted on 100,000 moments of a cycle."""

MEAN_OF_GRID = 1e-5
"""Relative: mean of the same 100,000 moments."""

MOMENTS = 100_000
SAMPLES = 1_000_000

SMALL = replace(WORKED, area_m2=1.1, porosity=0.45, crest_level_m=0.20)
"""An invented smaller bed."""

MIXED = ((WORKED, inside(WORKED, 0.3), 5), (SMALL, inside(SMALL, 0.1), 3), (SMALL, 3.2e-4, 1))
"""An invented farm of three kinds of bed."""


@cache
def moments_of_a_cycle(bed, inflow):
    """Return what a bed holds at equally spaced moments of a cycle, by brute-force integration."""

    def until(rate, start, end):
        def reached(_, level):
            return level[0] - end

        reached.terminal = True
        return solve_ivp(
            lambda _, level: [rate(level[0]) / bed.store_m2],
            (0.0, 1e6),
            [start],
            method="DOP853",
            rtol=1e-10,
            atol=1e-12,
            max_step=10.0,
            events=reached,
            dense_output=True,
        )

    def rising(level):
        return inflow - rim_flow(level - bed.crest_level_m, bed.mouth_m, bed.rim_discharge)

    fill = until(rising, bed.drain_level_m, bed.prime_level_m)
    drain = until(
        lambda level: inflow - bed.discharge_m3_s(level), bed.prime_level_m, bed.drain_level_m
    )
    fill_s, drain_s = fill.t[-1], drain.t[-1]
    moments = (np.arange(MOMENTS) + 0.5) / MOMENTS * (fill_s + drain_s)
    up = moments < fill_s
    levels = np.append(fill.sol(moments[up])[0], drain.sol(moments[~up] - fill_s)[0])
    return bed.store_m2 * (levels - bed.drain_level_m)


@cache
def random_moments(kinds):
    """Return what all beds hold at a million random moments, each bed at its own random phase."""
    rng = np.random.default_rng(20240)
    total = np.zeros(SAMPLES)
    for bed, inflow, count in kinds:
        held = moments_of_a_cycle(bed, inflow)
        for _ in range(count):
            total += held[rng.integers(0, MOMENTS, SAMPLES)]
    return total


def sampling_error(chance):
    """Return the allowed error of a share counted among the random moments."""
    return SAMPLING_SIGMAS * np.sqrt(chance * (1 - chance) / SAMPLES)


@pytest.mark.parametrize("bed", [WORKED, DROWNED])
@pytest.mark.parametrize("share", [0.02, 0.4, 0.95])
def test_share_of_time_below_is_brute_force_integration(bed, share):
    inflow = inside(bed, share)
    held = np.sort(moments_of_a_cycle(bed, inflow))
    volumes = np.linspace(0.0, bed.held_m3, 301)
    counted = np.searchsorted(held, volumes, side="right") / MOMENTS
    assert share_of_time_below(volumes, bed, inflow) == pytest.approx(counted, abs=TIME_GRID)
    assert mean_held_m3(bed, inflow) == pytest.approx(held.mean(), rel=MEAN_OF_GRID)


@settings(max_examples=50)
@given(bed=beds(), share=st.floats(0.01, 0.99))
def test_share_of_time_rises_from_none_to_all(bed, share):
    assume(bed.start_flow_m3_s < 0.99 * bed.stop_flow_m3_s)
    volumes = np.linspace(-0.1, 1.1, 241) * bed.held_m3
    shares = share_of_time_below(volumes, bed, inside(bed, share))
    inner = (volumes > 0.0) & (volumes < bed.held_m3)
    assert np.all(np.diff(shares[inner]) > 0.0)
    assert np.all(shares[volumes <= 0.0] == EXACT)
    assert np.all(shares[volumes >= bed.held_m3] == 1.0)
    nearly = share_of_time_below(bed.held_m3 * (1 - 1e-12), bed, inside(bed, share))
    assert nearly == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.99, 0.999])
def test_quantile_is_that_of_a_million_random_phases(confidence):
    found = held_quantile_m3(MIXED, confidence)
    held = random_moments(MIXED)
    allowed = sampling_error(confidence)
    assert np.mean(held <= found.value_m3) >= confidence - allowed
    assert np.mean(held < found.least_m3) <= confidence + allowed


def test_whole_curve_brackets_a_million_random_phases():
    spread = held_distribution(MIXED)
    volumes = np.linspace(0.0, spread.worst_m3, 200)
    low, high = spread.chance_at_most(volumes)
    counted = np.searchsorted(np.sort(random_moments(MIXED)), volumes, side="right") / SAMPLES
    assert np.all(counted >= low - sampling_error(low))
    assert np.all(counted <= high + sampling_error(high))
    assert np.max(high - low) < 0.01


def test_mean_is_that_of_a_million_random_phases():
    held = random_moments(MIXED)
    allowed = SAMPLING_SIGMAS * held.std() / math.sqrt(SAMPLES)
    assert held_distribution(MIXED).mean_m3 == pytest.approx(held.mean(), abs=allowed)


@pytest.mark.parametrize("confidence", [0.01, 0.5, 0.99, 0.9999])
def test_one_beds_quantile_bracket_holds_the_exact_quantile(confidence):
    # One bed's distribution has a closed form, so its bracket can be checked without sampling.
    inflow = inside(WORKED, 0.4)
    found = held_quantile_m3([(WORKED, inflow, 1)], confidence)
    assert share_of_time_below(found.value_m3, WORKED, inflow) >= confidence
    assert share_of_time_below(found.least_m3, WORKED, inflow) <= confidence


@pytest.mark.parametrize("count", [1, 7, 100])
def test_a_finer_grid_narrows_the_bracket_and_overlaps_the_coarse_one(count):
    kinds = [(WORKED, inside(WORKED, 0.4), count)]
    coarse, fine = (held_quantile_m3(kinds, 0.99, each) for each in (1e-2, 1e-3))
    assert coarse.least_m3 <= fine.value_m3
    assert fine.least_m3 <= coarse.value_m3
    assert fine.error_bound_m3 < 0.2 * coarse.error_bound_m3


@pytest.mark.parametrize("resolution", [1e-2, 1e-3])
def test_the_bracket_is_as_narrow_as_asked(resolution):
    # Rounding down takes less than one step from each of nine beds: nine steps.
    found = held_quantile_m3(MIXED, 0.99, resolution)
    steps = found.error_bound_m3 / (resolution * found.worst_m3 / 9)
    assert found.error_bound_m3 > 0.0
    assert steps == pytest.approx(9, rel=FORMULA)


@given(confidence=st.floats(0.001, 0.998), step=st.floats(0.0, 0.001))
def test_more_confidence_never_holds_less(confidence, step):
    spread = held_distribution([(WORKED, inside(WORKED, 0.4), 4)], 1e-2)
    less, more = spread.quantile(confidence), spread.quantile(confidence + step)
    assert less.value_m3 <= more.value_m3 <= spread.worst_m3
    assert less.least_m3 <= more.least_m3


def test_certainty_is_all_beds_full():
    found = held_quantile_m3(MIXED, 1.0)
    full = 5 * WORKED.held_m3 + 4 * SMALL.held_m3
    assert found.worst_m3 == pytest.approx(full, rel=FORMULA)
    assert found.value_m3 == found.worst_m3
    assert found.error_bound_m3 == EXACT


def test_alike_beds_in_one_kind_or_in_several_are_the_same():
    inflow = inside(WORKED, 0.4)
    one = held_distribution([(WORKED, inflow, 6)])
    split = held_distribution([(WORKED, inflow, 4), (WORKED, inflow, 2)])
    allowed = one.chance_error + split.chance_error
    assert np.max(np.abs(one.chances - split.chances)) <= allowed
    assert allowed < FORMULA


def test_many_beds_hold_less_than_all_full_with_near_certainty():
    # Hoeffding: N independent volumes within V pass their mean by t with chance at most
    # exp(-2 t^2/(N V^2)); at 99 % t = V sqrt(N ln(100)/2) (W. Hoeffding, Journal of the American
    # Statistical Association 58, 1963, theorem 2; recalled).
    count = 400
    found = held_quantile_m3([(WORKED, inside(WORKED, 0.4), count)], 0.99)
    most = found.mean_m3 + WORKED.held_m3 * math.sqrt(count * math.log(100) / 2)
    assert found.mean_m3 < found.least_m3 <= most < found.worst_m3


def test_the_curve_ends_at_none_and_all():
    spread = held_distribution(MIXED)
    low, high = spread.chance_at_most(np.array([-1.0, spread.worst_m3, 2 * spread.worst_m3]))
    assert list(low) == [0.0, 1.0, 1.0]
    assert list(high) == [0.0, 1.0, 1.0]


def test_a_bed_that_does_not_cycle_is_refused():
    for inflow in (WORKED.start_flow_m3_s, 1.01 * WORKED.stop_flow_m3_s):
        with pytest.raises(ValueError, match="cycle"):
            held_quantile_m3([(WORKED, inflow, 2)], 0.99)


@pytest.mark.parametrize("kinds", [[], [(WORKED, 3e-4, 0)]])
def test_no_beds_are_refused(kinds):
    with pytest.raises(ValueError, match="at least one bed"):
        held_distribution(kinds)


@pytest.mark.parametrize("resolution", [0.0, 1.1, math.nan])
def test_an_impossible_resolution_is_refused(resolution):
    with pytest.raises(ValueError, match="resolution"):
        held_distribution(MIXED, resolution)


@pytest.mark.parametrize("confidence", [0.0, 1.1, math.nan])
def test_an_impossible_confidence_is_refused(confidence):
    with pytest.raises(ValueError, match="confidence"):
        held_quantile_m3(MIXED, confidence)
