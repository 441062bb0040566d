"""Pump curves: exact points, parallel pumps, inverses."""

import copy
import pickle
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.physics.pump import PumpCurve, watts_from_efficiency, wire_to_water_efficiency
from tests.tolerances import EXACT, FORMULA

# A small pump whose curve is not concave: invented example.
SMALL = PumpCurve((0.0, 2e-4, 4e-4, 6e-4, 8e-4), (3.0, 2.7, 2.0, 1.6, 0.2), (20, 24, 27, 29, 30))


@st.composite
def curves(draw):
    """Draw a falling curve with whole steps of flow and head."""
    steps = draw(st.lists(st.floats(0.1, 2.0), min_size=1, max_size=7))
    falls = draw(st.lists(st.floats(0.05, 2.0), min_size=len(steps), max_size=len(steps)))
    flows = np.concatenate(([0.0], np.cumsum(steps))) * 1e-4
    heads = np.concatenate((np.cumsum(falls[::-1])[::-1], [0.0]))
    watts = np.linspace(10.0, 30.0, len(flows))
    return PumpCurve(*(tuple(map(float, each)) for each in (flows, heads, watts)))


def test_given_points_lie_on_the_curve():
    assert SMALL.head_m(np.array(SMALL.flows_m3_s)) == pytest.approx(SMALL.heads_m, rel=FORMULA)
    assert SMALL.watts_at(np.array(SMALL.flows_m3_s)) == pytest.approx(SMALL.watts, rel=FORMULA)
    assert (SMALL.shut_off_m, SMALL.end_flow_m3_s) == (3.0, 8e-4)


@settings(max_examples=60)
@given(pump=curves(), share=st.floats(0.0, 1.0))
def test_flow_at_head_undoes_head(pump, share):
    head = pump.head_m(share * pump.end_flow_m3_s)
    again = pump.head_m(pump.flow_at_head(head))
    assert again == pytest.approx(head, abs=FORMULA * pump.shut_off_m)


@settings(max_examples=60)
@given(pump=curves())
def test_head_falls_strictly_and_never_overshoots_its_points(pump):
    flows = np.linspace(0.0, pump.end_flow_m3_s, 101)
    heads = pump.head_m(flows)
    assert np.all(np.diff(heads) < 0.0)
    assert np.all(pump.head_slope(flows) <= FORMULA * pump.shut_off_m / pump.end_flow_m3_s)


@given(count=st.integers(1, 9), share=st.floats(0.0, 1.0))
def test_pumps_in_parallel_share_the_flow_and_add_their_watts(count, share):
    # n pumps at flow n q: the head of one at q, n times its watts, a slope n times flatter.
    several, flow = replace(SMALL, count=count), share * SMALL.end_flow_m3_s
    assert several.head_m(count * flow) == pytest.approx(SMALL.head_m(flow), rel=FORMULA)
    assert several.watts_at(count * flow) == pytest.approx(
        count * SMALL.watts_at(flow), rel=FORMULA
    )
    assert several.head_slope(count * flow) * count == pytest.approx(
        SMALL.head_slope(flow), rel=1e-6
    )


def test_slope_is_the_change_of_head():
    flow, step = 3.3e-4, 1e-9
    change = (SMALL.head_m(flow + step) - SMALL.head_m(flow - step)) / (2 * step)
    assert SMALL.head_slope(flow) == pytest.approx(change, rel=1e-6)


def test_curves_compare_and_travel_by_their_fields_after_use():
    used, fresh = copy.copy(SMALL), PumpCurve(SMALL.flows_m3_s, SMALL.heads_m, SMALL.watts)
    used.head_m(1e-4)
    assert used == fresh
    assert hash(used) == hash(fresh)
    assert pickle.loads(pickle.dumps(used)) == fresh


@given(flow=st.floats(1e-5, 1e-2), head=st.floats(0.1, 20.0), efficiency=st.floats(0.01, 1.0))
def test_watts_from_efficiency_undoes_efficiency(flow, head, efficiency):
    watts = watts_from_efficiency(flow, head, efficiency)
    assert wire_to_water_efficiency(flow, head, watts) == pytest.approx(efficiency, rel=FORMULA)


@pytest.mark.parametrize("flow", [-1e-6, 8.01e-4])
def test_flows_off_the_curve_are_refused(flow):
    with pytest.raises(ValueError, match="off the pump's curve"):
        SMALL.head_m(flow)


@pytest.mark.parametrize("head", [3.01, 0.19])
def test_heads_off_the_curve_are_refused(head):
    with pytest.raises(ValueError, match="off the curve"):
        SMALL.flow_at_head(head)


def test_unknown_watts_are_refused():
    with pytest.raises(ValueError, match="wire-to-water"):
        PumpCurve((0.0, 1.0), (1.0, 0.0), ()).watts_at(0.5)


@pytest.mark.parametrize(
    ("flows", "heads", "watts", "count"),
    [
        ((0.0,), (1.0,), (1.0,), 1),
        ((0.1, 1.0), (1.0, 0.0), (1.0, 1.0), 1),
        ((0.0, 1.0), (1.0, 1.0), (1.0, 1.0), 1),
        ((0.0, 1.0), (1.0, -0.1), (1.0, 1.0), 1),
        ((0.0, 1.0), (1.0, 0.0), (1.0,), 1),
        ((0.0, 1.0), (1.0, 0.0), (1.0, 0.0), 1),
        ((0.0, 1.0), (1.0, 0.0), (1.0, 1.0), 0),
    ],
)
def test_curves_out_of_order_are_refused(flows, heads, watts, count):
    with pytest.raises(ValueError):
        PumpCurve(flows, heads, watts, count)


@pytest.mark.parametrize(
    ("share_of", "figures"),
    [
        (wire_to_water_efficiency, (-1e-6, 1.0, 20.0)),
        (wire_to_water_efficiency, (1e-3, -1.0, 20.0)),
        (wire_to_water_efficiency, (1e-3, 1.0, 0.0)),
        (watts_from_efficiency, (-1e-6, 1.0, 0.5)),
        (watts_from_efficiency, (1e-3, -1.0, 0.5)),
        (watts_from_efficiency, (1e-3, 1.0, 0.0)),
        (watts_from_efficiency, (1e-3, 1.0, 1.01)),
    ],
)
def test_power_that_no_pump_has_is_refused(share_of, figures):
    with pytest.raises(ValueError, match="0 or more"):
        share_of(*figures)


def test_shut_off_head_gives_no_flow():
    assert SMALL.flow_at_head(3.0) == pytest.approx(0.0, abs=EXACT)
