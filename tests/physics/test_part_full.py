"""Part-full pipe against geometry, the hydraulic elements and fluids."""

import numpy as np
import pytest
from fluids import A_partial_circle, V_Manning
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from optimizer.physics import part_full
from optimizer.physics.part_full import PEAK_DEPTH_RATIO, PEAK_FLOW_RATIO
from tests.tolerances import EXACT, FORMULA

RATIO = 5e-4
"""Hydraulic-elements ratios, as printed to three or four figures (checks.md)."""

DEPTH = 1e-3
"""Depths of the greatest flow and velocity, as printed to three decimals (checks.md)."""

STEEP_BRANCH = 1e-7
"""Relative: depth from flow where the flow curve is still well sloped (y/D up to 0.9)."""

SMALL_DEPTH = 1e-7
"""Relative: fluids' segment area loses digits to cancellation at small depths."""

PIPE = (0.1034, 0.01, 0.011)
"""An invented drain: bore 103.4 mm, slope 1 %, n 0.011."""


@pytest.mark.parametrize("angle", [1e-4, 0.03, 0.0999, 0.1001, 0.2])
def test_a_trickles_section_keeps_its_digits(angle):
    # Area (t - sin t)/8 for bore 1, in extended precision; the series and the sine meet at 0.1.
    long = np.longdouble(angle)
    expected = float((long - np.sin(long)) / 8) if angle > 0.01 else angle**3 / 48
    assert part_full.wet_area_m2(np.sin(angle / 4) ** 2, 1.0) == pytest.approx(
        expected, rel=FORMULA
    )


def test_section_when_dry_half_full_and_full():
    # Geometry: half a circle and a circle; the surface is widest at half depth.
    depths, bore = np.array([0.0, 0.5, 1.0]), 0.2
    area = np.pi * bore**2 / 4
    assert part_full.wet_area_m2(depths, bore) == pytest.approx([0, area / 2, area], rel=FORMULA)
    edge = np.pi * bore
    assert part_full.wetted_perimeter_m(depths, bore) == pytest.approx([0, edge / 2, edge])
    assert part_full.hydraulic_radius_m(depths, bore) == pytest.approx([0, bore / 4, bore / 4])
    assert part_full.top_width_m(depths, bore) == pytest.approx([0, bore, 0])


def test_greatest_flow_is_where_the_hydraulic_elements_say():
    # Manning, constant n: max Q/Qfull 1.0757 at y/D 0.938: standard hydraulic-elements result.
    found = minimize_scalar(
        lambda depth: -part_full.flow_m3_s(depth, *PIPE), bounds=(0.5, 1), method="bounded"
    )
    full = part_full.full_flow_m3_s(*PIPE)
    assert -found.fun / full == pytest.approx(1.0757, abs=RATIO)
    assert found.x == pytest.approx(0.938, abs=DEPTH)
    assert pytest.approx(1.0757, abs=RATIO) == PEAK_FLOW_RATIO
    assert pytest.approx(0.938, abs=DEPTH) == PEAK_DEPTH_RATIO


@given(depth=st.floats(0.001, 1.0), bore=st.floats(0.02, 0.5), slope=st.floats(0.001, 0.1))
def test_flow_is_fluids_area_times_fluids_velocity(depth, bore, slope):
    # fluids (C. Bell and others) gives Manning's velocity and the segment's area by other forms.
    area = A_partial_circle(bore, depth * bore)
    radius = area / (bore * np.arccos(1 - 2 * depth))
    expected = area * V_Manning(radius, slope, 0.011)
    assert part_full.flow_m3_s(depth, bore, slope, 0.011) == pytest.approx(
        expected, rel=SMALL_DEPTH
    )


@given(depth=st.floats(0.0, 0.9))
def test_depth_of_the_flow_at_a_depth_is_that_depth(depth):
    flow = part_full.flow_m3_s(depth, *PIPE)
    assert part_full.depth_ratio(flow, *PIPE) == pytest.approx(depth, rel=STEEP_BRANCH)


@given(share=st.floats(0.0, PEAK_FLOW_RATIO))
def test_flow_at_the_depth_of_a_flow_is_that_flow(share):
    flow = share * part_full.full_flow_m3_s(*PIPE)
    depth = part_full.depth_ratio(flow, *PIPE)
    assert 0.0 <= depth <= PEAK_DEPTH_RATIO
    assert part_full.flow_m3_s(depth, *PIPE) == pytest.approx(flow, rel=FORMULA)


def test_depth_rises_with_flow_up_to_the_greatest():
    flows = np.linspace(0.0, PEAK_FLOW_RATIO, 400) * part_full.full_flow_m3_s(*PIPE)
    depths = part_full.depth_ratio(flows, *PIPE)
    assert np.all(np.diff(depths) > 0.0)
    assert depths[0] == EXACT


def test_more_than_the_greatest_flow_has_no_depth():
    with pytest.raises(ValueError, match="can carry"):
        part_full.depth_ratio(1.0758 * part_full.full_flow_m3_s(*PIPE), *PIPE)


def test_capacity_is_the_flow_at_the_fill_limit():
    assert part_full.capacity_m3_s(*PIPE, 0.75) == pytest.approx(
        part_full.flow_m3_s(0.75, *PIPE), rel=FORMULA
    )


def test_capacity_never_falls_with_the_fill_limit_nor_passes_the_full_pipe():
    capacities = [part_full.capacity_m3_s(*PIPE, limit) for limit in np.linspace(0.01, 1, 100)]
    assert np.all(np.diff(capacities) >= 0.0)
    assert max(capacities) == pytest.approx(part_full.full_flow_m3_s(*PIPE), rel=FORMULA)


def test_bores_and_depths_may_be_arrays():
    bores = np.array([0.05, 0.1, 0.15])
    each = [part_full.capacity_m3_s(bore, 0.01, 0.011, 0.75) for bore in bores]
    assert part_full.capacity_m3_s(bores, 0.01, 0.011, 0.75) == pytest.approx(each, rel=FORMULA)
    assert isinstance(part_full.flow_m3_s(0.5, *PIPE), float)


@pytest.mark.parametrize("depth", [-0.01, 1.01, float("nan")])
def test_a_depth_outside_the_pipe_is_refused(depth):
    for section in (part_full.wet_area_m2, part_full.wetted_perimeter_m, part_full.top_width_m):
        with pytest.raises(ValueError, match="depth ratio"):
            section(depth, 0.1)


@pytest.mark.parametrize("pipe", [(0.0, 0.01, 0.011), (0.1, -0.01, 0.011), (0.1, 0.01, 0.0)])
def test_an_impossible_drain_is_refused(pipe):
    with pytest.raises(ValueError, match="drain"):
        part_full.flow_m3_s(0.5, *pipe)


def test_a_level_drain_carries_nothing_and_has_no_depth():
    assert part_full.full_flow_m3_s(0.1, 0.0, 0.011) == EXACT
    with pytest.raises(ValueError, match="slope"):
        part_full.depth_ratio(0.0, 0.1, 0.0, 0.011)


@pytest.mark.parametrize("limit", [0.0, 1.01, float("nan")])
def test_a_fill_limit_outside_the_pipe_is_refused(limit):
    with pytest.raises(ValueError, match="fill limit"):
        part_full.capacity_m3_s(*PIPE, limit)
