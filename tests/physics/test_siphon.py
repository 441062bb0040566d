"""Vertical pipes, rims and primed siphons: shapes, inverses, limits."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.physics.siphon import (
    ORIFICE_START,
    SELF_VENTING_FROUDE,
    froude_flow,
    primed_flow,
    rim_flow,
    rim_head,
)
from optimizer.physics.water import GRAVITY
from tests.tolerances import EXACT, FORMULA

heads = st.floats(1e-6, 1.0)
mouths = st.floats(0.01, 0.2)


def test_start_lies_well_below_the_air_clearing_velocity():
    # Air clearing in a vertical pipe: Fr 1.075 = 0.825 + 0.25. Pumping Station Design (Sanks)
    # after Wisner et al. 1975 (second hand). Between the two the pipe entrains air.
    clearing = 0.825 + 0.25
    assert clearing == pytest.approx(1.075, rel=FORMULA)
    assert froude_flow(SELF_VENTING_FROUDE, 0.0266) < froude_flow(clearing, 0.0266)


def test_rim_is_a_weir_when_low_and_an_orifice_when_drowned():
    low = (2 / 3) * 0.62 * math.sqrt(2 * GRAVITY) * math.pi * 0.03 * 0.005**1.5
    high = 0.62 * math.pi * 0.03**2 / 4 * math.sqrt(2 * GRAVITY * 0.05)
    assert rim_flow(0.005, 0.03) == pytest.approx(low, rel=FORMULA)
    assert rim_flow(0.05, 0.03) == pytest.approx(high, rel=FORMULA)


@given(mouth=mouths)
def test_rim_turns_into_an_orifice_where_both_formulas_agree(mouth):
    # (2/3) pi D w = pi D^2/4 at w/D = 3/8, so the flow is continuous there.
    turn = ORIFICE_START * mouth
    assert ORIFICE_START == 3 / 8
    above = rim_flow(turn * (1 + 1e-12), mouth)
    assert above == pytest.approx(rim_flow(turn, mouth), rel=FORMULA)


@given(head=heads, mouth=mouths)
def test_rim_head_undoes_rim_flow(head, mouth):
    assert rim_head(rim_flow(head, mouth), mouth) == pytest.approx(head, rel=FORMULA)


@given(head=heads, step=st.floats(1e-9, 1.0), mouth=mouths)
def test_rim_flow_rises_with_head(head, step, mouth):
    assert rim_flow(head * (1 + step), mouth) > rim_flow(head, mouth)


def test_no_water_runs_over_a_dry_rim_or_out_of_a_level_siphon():
    assert rim_flow(0.0, 0.03) == EXACT
    assert rim_flow(-0.1, 0.03) == EXACT
    assert primed_flow(-0.2, -0.15, 0.03, 5.0) == EXACT


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: froude_flow(-0.1, 0.03),
        lambda: froude_flow(0.3, 0.0),
        lambda: rim_flow(0.01, 0.0),
        lambda: rim_head(-1e-6, 0.03),
        lambda: primed_flow(0.2, 0.0, 0.03, 0.0),
    ],
)
def test_impossible_siphons_are_refused(wrong):
    with pytest.raises(ValueError):
        wrong()
