"""Robust windows: exact chances against draws, nesting, and empty windows."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from optimizer.physics.band import Band
from optimizer.physics.window import (
    ROBUSTNESS,
    _works,
    inflow_window,
    share_of_each,
    working_chance,
)
from tests.physics.make_bed import WORKED, beds
from tests.tolerances import FORMULA, SAMPLING_SIGMAS

DRAWS = 200_000
FROUDE = Band(0.30, 0.20, 0.45, "Hills 1983 (read), band assumed")
RATIO = Band(0.75, 0.60, 0.95, "assumption")
LOSS = Band(5.0, 4.0, 6.6, "dosing siphons (read)")
BANDS = (FROUDE, RATIO, LOSS)


def banded(low, width, nominal=0.5):
    return Band(low + nominal * width, low, low + width, "drawn by a test")


@st.composite
def triples(draw):
    return (
        banded(draw(st.floats(0.15, 0.35)), draw(st.floats(0.0, 0.25))),
        banded(draw(st.floats(0.5, 0.7)), draw(st.floats(0.0, 0.3))),
        banded(draw(st.floats(3.0, 5.0)), draw(st.floats(0.0, 4.0))),
    )


def sampled_share(bed, bands, inflow):
    """Return the share of independent uniform draws at which the bed works."""
    rng = np.random.default_rng(20_240_601)
    froude, ratio, loss = (rng.uniform(band.low, band.high, DRAWS) for band in bands)
    start = bed.start_flow_m3_s * froude / bed.start_froude
    stop = ratio * bed.greatest_inflow_m3_s * np.sqrt(bed.loss_coefficient / loss)
    return np.mean((start < inflow) & (inflow < stop))


@pytest.mark.parametrize("share", [0.80, 0.95])
def test_ends_of_the_most_window_work_in_just_that_share_of_draws(share):
    low, high = inflow_window(WORKED, *BANDS, "most", share)
    error = math.sqrt(share * (1 - share) / DRAWS)
    for end in (low, high):
        found = sampled_share(WORKED, BANDS, end)
        assert found == pytest.approx(share, abs=SAMPLING_SIGMAS * error)


@settings(max_examples=15)
@given(bed=beds(), bands=triples(), place=st.floats(0.01, 0.99))
def test_chance_of_working_is_what_draws_give(bed, bands, place):
    works = _works(bed, *bands)
    low, high = works.support
    assume(low < high)
    inflow = low + place * (high - low)
    exact = works.chance(inflow)
    error = math.sqrt(max(exact * (1 - exact), 1 / DRAWS) / DRAWS)
    assert sampled_share(bed, bands, inflow) == pytest.approx(exact, abs=SAMPLING_SIGMAS * error)


@settings(max_examples=60)
@given(bed=beds(), bands=triples(), share=st.floats(0.5, 0.99))
def test_most_is_exactly_where_the_chance_reaches_the_share(bed, bands, share):
    # Dense search over the support: everything inside is sure enough, nothing outside is.
    works = _works(bed, *bands)
    assume(works.support[0] < works.support[1])
    window = inflow_window(bed, *bands, "most", share)
    for inflow in np.linspace(*works.support, 201):
        sure = works.chance(inflow) - share
        if window is None:
            assert sure <= FORMULA
        elif window[0] * (1 + FORMULA) < inflow < window[1] * (1 - FORMULA):
            assert sure >= -FORMULA
        elif not window[0] * (1 - FORMULA) < inflow < window[1] * (1 + FORMULA):
            assert sure <= FORMULA


@settings(max_examples=60)
@given(bed=beds(), bands=triples())
def test_whole_lies_in_most_and_most_shrinks_as_the_share_grows(bed, bands):
    whole = inflow_window(bed, *bands, "whole")
    narrow = inflow_window(bed, *bands, "most", 0.99)
    wide = inflow_window(bed, *bands, "most", 0.80)
    for inner, outer in ((whole, narrow), (narrow, wide)):
        if inner is not None:
            assert outer is not None
            assert outer[0] <= inner[0] * (1 + FORMULA)
            assert inner[1] <= outer[1] * (1 + FORMULA)


@pytest.mark.parametrize("share", [0.80, 0.95])
def test_an_inflow_that_may_be_off_either_way_starts_low_and_stops_high_in_one_draw(share):
    # Off by -12 % and +15 %, each end of the window works in just that share of draws.
    window = inflow_window(WORKED, *BANDS, "most", share, 0.88, 1.15)
    rng = np.random.default_rng(7)
    froude, ratio, loss = (rng.uniform(band.low, band.high, DRAWS) for band in BANDS)
    start = WORKED.start_flow_m3_s * froude / WORKED.start_froude
    stop = ratio * WORKED.greatest_inflow_m3_s * np.sqrt(WORKED.loss_coefficient / loss)
    error = math.sqrt(share * (1 - share) / DRAWS)
    for end in window:
        found = np.mean((start < 0.88 * end) & (1.15 * end < stop))
        assert found == pytest.approx(share, abs=SAMPLING_SIGMAS * error)
        exact = working_chance(WORKED, *BANDS, 0.88 * end, 1.15 * end)
        assert exact == pytest.approx(share, rel=FORMULA)


@pytest.mark.parametrize("robustness", ["nominal", "whole"])
def test_without_draws_the_inflow_off_either_way_lies_in_the_window(robustness):
    low, high = inflow_window(WORKED, *BANDS, robustness)
    expected = (low / 0.88, high / 1.15)
    found = inflow_window(WORKED, *BANDS, robustness, least=0.88, greatest=1.15)
    assert found == pytest.approx(expected, rel=FORMULA)


def test_margins_wider_than_the_window_leave_none():
    low, high = inflow_window(WORKED, *BANDS, "whole")
    wide = math.sqrt(high / low) * 1.001
    assert inflow_window(WORKED, *BANDS, "whole", least=1 / wide, greatest=wide) is None


def test_kinds_as_sure_as_each_must_be_work_together_in_the_share_asked_for():
    # Independent kinds: the chances multiply.
    for kinds in (1, 2, 5):
        assert share_of_each(kinds) ** kinds == pytest.approx(0.95, rel=FORMULA)


@pytest.mark.parametrize(("least", "greatest"), [(0.0, 1.0), (1.1, 1.0)])
def test_margins_out_of_order_are_refused(least, greatest):
    with pytest.raises(ValueError, match="least share"):
        inflow_window(WORKED, *BANDS, "most", least=least, greatest=greatest)


def test_a_chance_of_no_inflow_is_refused():
    with pytest.raises(ValueError, match="inflows"):
        working_chance(WORKED, *BANDS, 0.0, 1e-4)


def test_nominal_window_is_start_to_stop():
    expected = (WORKED.start_flow_m3_s, WORKED.stop_flow_m3_s)
    assert inflow_window(WORKED, *BANDS, "nominal") == pytest.approx(expected, rel=FORMULA)


def test_whole_window_works_at_every_corner():
    low, high = inflow_window(WORKED, *BANDS, "whole")
    corners = [
        replace(WORKED, start_froude=fr, stop_ratio=ratio, loss_coefficient=loss)
        for fr in (0.20, 0.45)
        for ratio in (0.60, 0.95)
        for loss in (4.0, 6.6)
    ]
    assert low == pytest.approx(max(each.start_flow_m3_s for each in corners), rel=FORMULA)
    assert high == pytest.approx(min(each.stop_flow_m3_s for each in corners), rel=FORMULA)


@pytest.mark.parametrize("share", [0.5, 0.95])
def test_bands_without_width_give_the_nominal_window(share):
    points = [Band(each, each, each, "measured") for each in (0.30, 0.75, 5.0)]
    expected = (WORKED.start_flow_m3_s, WORKED.stop_flow_m3_s)
    assert inflow_window(WORKED, *points, "most", share) == pytest.approx(expected, rel=FORMULA)


def test_a_bed_with_too_little_fall_has_no_robust_window():
    # Outlet 30 mm under the drain level: Q(h0) = 11.5 L/min, so the stop flow runs from 6.0 to
    # 12.2 L/min while the start may need 7.7.
    shallow = replace(WORKED, outlet_level_m=0.0)
    assert inflow_window(shallow, *BANDS, "whole") is None
    assert inflow_window(shallow, *BANDS, "most") is None
    assert inflow_window(shallow, *BANDS, "nominal") is not None


def test_a_window_that_never_opens_is_none():
    closed = replace(WORKED, outlet_level_m=0.029, bore_m=0.1)
    assert [inflow_window(closed, *BANDS, each) for each in ROBUSTNESS] == [None, None, None]


def test_a_share_of_all_draws_is_the_whole_window():
    expected = inflow_window(WORKED, *BANDS, "whole")
    assert inflow_window(WORKED, *BANDS, "most", 1.0) == expected


@pytest.mark.parametrize(("robustness", "share"), [("mostly", 0.95), ("most", 0.0), ("most", 1.1)])
def test_unknown_robustness_is_refused(robustness, share):
    with pytest.raises(ValueError):
        inflow_window(WORKED, *BANDS, robustness, share)


def test_bands_that_reach_zero_are_refused():
    with pytest.raises(ValueError, match="bands"):
        inflow_window(WORKED, Band(0.3, 0.0, 0.5, "x"), RATIO, LOSS, "most")
