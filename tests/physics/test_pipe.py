"""Head loss in one pipe: its inverse and its shape. A textbook example: tests/validation."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.physics.pipe import flow_for_head_loss, head_loss_m, velocity_m_s
from optimizer.physics.water import GRAVITY
from tests.tolerances import EXACT, FORMULA

runs = {
    "length_m": st.floats(0.1, 200.0),
    "bore_m": st.floats(0.01, 0.2),
    "roughness_m": st.floats(0.0, 1e-4),
    "temperature_c": st.floats(1.0, 40.0),
    "loss_coefficient": st.floats(0.0, 50.0),
}


def test_laminar_loss_is_hagen_poiseuille():
    # h = 128 nu L Q / (pi g d^4), worked from the laminar law alone.
    flow, bore, nu = 1e-6, 0.01, 1.0034e-6
    expected = 128 * nu * 3.0 * flow / (math.pi * GRAVITY * bore**4)
    assert head_loss_m(flow, 3.0, bore, 0.0) == pytest.approx(expected, rel=1e-4)


def test_local_losses_add_velocity_heads():
    flow, bore = 5e-4, 0.0266
    speed = velocity_m_s(flow, bore)
    extra = head_loss_m(flow, 5.0, bore, 1.5e-6, 20.0, 3.0) - head_loss_m(flow, 5.0, bore, 1.5e-6)
    assert extra == pytest.approx(3.0 * speed**2 / (2 * GRAVITY), rel=FORMULA)


@settings(max_examples=60)
@given(flow=st.floats(1e-7, 0.02), **runs)
def test_flow_for_head_loss_undoes_head_loss(flow, **run):
    loss = head_loss_m(flow, **run)
    assert flow_for_head_loss(loss, **run) == pytest.approx(flow, rel=FORMULA)


@settings(max_examples=60)
@given(flow=st.floats(1e-8, 0.02), step=st.floats(1e-6, 1.0), **runs)
def test_head_loss_rises_with_flow_and_is_odd(flow, step, **run):
    loss = head_loss_m(flow, **run)
    assert head_loss_m(flow * (1 + step), **run) > loss > 0.0
    assert head_loss_m(-flow, **run) == pytest.approx(-loss, rel=EXACT)


def test_still_water_loses_nothing():
    assert head_loss_m(0.0, 10.0, 0.02, 0.0) == EXACT
    assert flow_for_head_loss(0.0, 10.0, 0.02, 0.0) == EXACT


def test_arrays_give_what_single_numbers_give():
    flows = np.array([-1e-3, 0.0, 2e-5, 1e-3])
    each = [head_loss_m(float(flow), 7.0, 0.03, 1e-6) for flow in flows]
    assert head_loss_m(flows, 7.0, 0.03, 1e-6) == pytest.approx(each, rel=FORMULA)


def test_a_negative_head_drives_a_negative_flow():
    forward = flow_for_head_loss(0.5, 10.0, 0.02, 0.0)
    assert flow_for_head_loss(-0.5, 10.0, 0.02, 0.0) == pytest.approx(-forward, rel=EXACT)


def test_impossible_runs_are_refused():
    with pytest.raises(ValueError, match="must not be negative"):
        head_loss_m(1e-4, -1.0, 0.02, 0.0)
    with pytest.raises(ValueError, match="bore"):
        head_loss_m(1e-4, 1.0, 0.0, 0.0)
    with pytest.raises(ValueError, match="sets no flow"):
        flow_for_head_loss(1.0, 0.0, 0.02, 0.0)
