"""Friction factor against a reference library and its own equation."""

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.physics.friction import friction_factor
from tests.tolerances import FORMULA

COLEBROOK_RESIDUAL = 1e-12

rough = st.floats(0.0, 0.05)


@settings(max_examples=100)
@given(reynolds=st.floats(4000.0, 1e8), roughness=rough)
def test_turbulent_factor_agrees_with_an_independent_solver(reynolds, roughness):
    expected = fluids.friction.Colebrook(reynolds, roughness)
    assert friction_factor(reynolds, roughness) == pytest.approx(expected, rel=FORMULA)


@settings(max_examples=100)
@given(reynolds=st.floats(4000.0, 1e8), roughness=rough)
def test_turbulent_factor_solves_colebrook(reynolds, roughness):
    # C. F. Colebrook 1939: 1/sqrt(f) = -2 log10(e/3.7 + 2.51/(Re sqrt f)).
    x = friction_factor(reynolds, roughness) ** -0.5
    right = -2 * np.log10(roughness / 3.7 + 2.51 * x / reynolds)
    assert right == pytest.approx(x, rel=COLEBROOK_RESIDUAL)


@given(roughness=rough)
def test_blend_meets_both_regimes_without_a_jump(roughness):
    # One part in 1e12 past either end of the blend, f has moved by no more than rounding.
    for end in (2000.0, 4000.0):
        inside = friction_factor(end * (1 + 1e-12), roughness)
        outside = friction_factor(end * (1 - 1e-12), roughness)
        assert inside == pytest.approx(outside, rel=FORMULA)


def test_blend_halfway_is_the_geometric_mean():
    # A power law through (2000, 0.032) and (4000, f4): at 2000 sqrt 2 it is sqrt(0.032 f4).
    end = friction_factor(4000.0, 0.001)
    middle = friction_factor(2000.0 * 2**0.5, 0.001)
    assert middle == pytest.approx((0.032 * end) ** 0.5, rel=FORMULA)


@pytest.mark.parametrize("roughness", [0.0, 1e-5, 1e-3, 0.05])
def test_head_loss_rises_strictly_through_every_regime(roughness):
    # Head loss goes as f Re^2; 20,000 steps from Re 1 to 1e7.
    reynolds = np.geomspace(1.0, 1e7, 20_000)
    assert np.all(np.diff(friction_factor(reynolds, roughness) * reynolds**2) > 0.0)


def test_arrays_give_what_single_numbers_give():
    reynolds = np.array([500.0, 2500.0, 5e4])
    each = [friction_factor(float(re), 1e-4) for re in reynolds]
    assert friction_factor(reynolds, 1e-4) == pytest.approx(each, rel=FORMULA)


@pytest.mark.parametrize(
    ("reynolds", "roughness"), [(0.0, 0.0), (-1.0, 0.0), (1e5, -1e-9), (1e5, 0.2)]
)
def test_impossible_pipes_are_refused(reynolds, roughness):
    with pytest.raises(ValueError):
        friction_factor(reynolds, roughness)
