"""Fittings and many-outlet pipes against printed factors."""

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.physics.fittings import (
    COMMERCIAL_STEEL_ROUGHNESS_M,
    EQUIVALENT_DIAMETERS,
    christiansen_factor,
    fitting_loss_coefficient,
    local_loss_m,
    many_outlet_factor,
)
from optimizer.physics.laws import HazenWilliams
from optimizer.physics.loss_chain import EXIT_LOSS, RIM_LOSS
from optimizer.physics.water import GRAVITY
from tests.tolerances import EXACT, FORMULA

CHRISTIANSEN = 1e-3
CRANE = 0.014
"""Relative: the library takes friction at a Reynolds number of 7.5e6 d, 1.1 % below our fully rough
limit, and the printed figures keep two or three digits."""

ONE_INCH_BORE_M = 0.02664


@given(outlets=st.integers(2, 500), exponent=st.floats(1.852, 2.0))
def test_christiansen_agrees_from_two_outlets(outlets, exponent):
    # Christiansen 1942, Bulletin 670: within 0.1 % for N >= 2 (for m of 1.852 and up).
    expected = many_outlet_factor(outlets, exponent)
    assert christiansen_factor(outlets, exponent) == pytest.approx(expected, rel=CHRISTIANSEN)


def test_many_outlet_factor_is_the_loss_summed_reach_by_reach():
    # Eight equal outlets: reach k from the end carries k flows. The factor times the loss of the
    # whole flow over the whole length must be the sum.
    law, outlets, each = HazenWilliams(150.0), 8, 1e-4
    summed = sum(law.head_loss_m(k * each, 2.0, 0.05) for k in range(1, outlets + 1))
    whole = law.head_loss_m(outlets * each, 2.0 * outlets, 0.05)
    assert many_outlet_factor(outlets, 1.852) * whole == pytest.approx(summed, rel=FORMULA)


def test_one_outlet_is_no_relief():
    assert many_outlet_factor(1, 1.852) == pytest.approx(1.0, rel=EXACT)


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("ball_valve_open", 0.067),
        ("elbow_90", 0.67),
        ("tee_run", 0.45),
        ("tee_branch", 1.34),
        ("close_return", 1.11),
    ],
)
def test_one_inch_fittings_are_the_printed_losses(name, printed):
    # 1 in: ball open 0.067, 90 elbow 0.67, tee run 0.45, branch 1.34, close return 1.11:
    # fluids 1.3.1 after Crane TP-410 and others (ran).
    multiple = EQUIVALENT_DIAMETERS[name]
    found = fitting_loss_coefficient(multiple, ONE_INCH_BORE_M)
    assert found == pytest.approx(printed, rel=CRANE)
    library = multiple * fluids.fittings.ft_Crane(ONE_INCH_BORE_M)
    assert found == pytest.approx(library, rel=CRANE)


def test_entrance_and_exit_losses_lie_in_the_printed_ranges():
    # Entrance sharp 0.50-0.57, exit 1.0: fluids 1.3.1 after Crane TP-410 and others (ran).
    assert 0.50 <= RIM_LOSS <= 0.57
    assert fluids.fittings.entrance_sharp(method="Rennels") == pytest.approx(0.57, rel=EXACT)
    assert fluids.fittings.exit_normal() == pytest.approx(EXIT_LOSS, rel=EXACT)


def test_local_loss_is_velocity_heads_and_odd():
    # 1 m/s in 1 m2 of pipe: K / 2g.
    bore = (4 / 3.141592653589793) ** 0.5
    assert local_loss_m(2.0, 1.0, bore) == pytest.approx(2.0 / (2 * GRAVITY), rel=FORMULA)
    assert local_loss_m(2.0, -1.0, bore) == pytest.approx(-1.0 / GRAVITY, rel=FORMULA)


def test_impossible_fittings_are_refused():
    with pytest.raises(ValueError):
        local_loss_m(-0.1, 1e-3, 0.05)
    with pytest.raises(ValueError):
        many_outlet_factor(0, 1.852)
    with pytest.raises(ValueError):
        fitting_loss_coefficient(-1.0, 0.05)
    with pytest.raises(ValueError, match="between 0 and the bore"):
        fitting_loss_coefficient(30.0, COMMERCIAL_STEEL_ROUGHNESS_M)  # a bore as rough as wide
