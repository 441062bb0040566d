"""Which inflows flood a bed often enough: intervals against a dense search, and their refusals."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.physics.make_bed import DROWNED, WORKED, beds, inside
from tests.tolerances import FORMULA

HAIR = 1e-14
"""Relative: a few roundings of an inflow."""


def start_of(bed):
    """Return the inflow from which the interval may begin: a hair above the start flow."""
    return bed.start_flow_m3_s * (1 + 1e-11)


def end_of(bed):
    """Return the inflow up to which the interval may go: a hair below the stop flow."""
    return bed.stop_flow_m3_s * (1 - 1e-11)


def works(bed):
    return bed.start_flow_m3_s < 0.99 * bed.stop_flow_m3_s


@settings(max_examples=100)
@given(bed=beds())
def test_no_inflow_floods_more_often_than_the_greatest(bed):
    assume(works(bed))
    inflow, floods = bed.greatest_floods()
    others = [bed.floods_per_hour(inside(bed, share)) for share in np.linspace(0.0, 1.0, 101)]
    assert bed.start_flow_m3_s < inflow <= bed.stop_flow_m3_s
    assert max(others) <= floods * (1 + FORMULA)


@settings(max_examples=100)
@given(bed=beds(), share=st.floats(0.05, 0.99))
def test_interval_ends_flood_exactly_as_often_as_asked(bed, share):
    assume(works(bed))
    least = share * bed.greatest_floods()[1]
    low, high = bed.inflow_interval(least)
    enough, too_much = least * (1 - FORMULA), least * (1 + FORMULA)
    assert low <= high
    # Near the start flow one rounding of the inflow moves the floods by more than FORMULA, so the
    # claim is about the inflow: a hair inside floods enough, a hair outside does not.
    assert bed.floods_per_hour(low * (1 + HAIR)) >= enough
    assert bed.floods_per_hour(high * (1 - HAIR)) >= enough
    assert bed.floods_per_hour(low * (1 - HAIR)) <= too_much or low < start_of(bed)
    assert bed.floods_per_hour(high * (1 + HAIR)) <= too_much or high > end_of(bed)


@settings(max_examples=100)
@given(bed=beds(), shares=st.tuples(st.floats(0.05, 0.9), st.floats(0.05, 0.9)))
def test_too_many_floods_cut_the_interval_to_its_lower_branch(bed, shares):
    assume(works(bed))
    best, greatest = bed.greatest_floods()
    least, most = (share * greatest for share in sorted(shares))
    low, high = bed.inflow_interval(least, most)
    assert low <= high <= best
    fewer = bed.floods_per_hour(high * (1 - HAIR))
    assert fewer <= most * (1 + FORMULA) or high < start_of(bed)


@pytest.mark.parametrize("bed", [WORKED, DROWNED])
def test_interval_is_what_a_dense_search_finds(bed):
    least = 0.9 * bed.greatest_floods()[1]
    low, high = bed.inflow_interval(least)
    shares = np.linspace(0.0, 1.0, 5001)
    enough = [inside(bed, share) for share in shares]
    enough = [inflow for inflow in enough if bed.floods_per_hour(inflow) >= least]
    step = inside(bed, shares[1]) - inside(bed, 0.0)
    assert min(enough) == pytest.approx(low, abs=step)
    assert max(enough) == pytest.approx(high, abs=step)


def test_three_floods_an_hour_cannot_be_had_from_the_worked_bed():
    # It reaches 1.99 floods an hour at most (2.04 with its rim left out).
    assert WORKED.inflow_interval(3.0) is None


def test_asking_just_above_the_greatest_is_refused_and_just_below_is_granted():
    greatest = WORKED.greatest_floods()[1]
    assert WORKED.inflow_interval(greatest * (1 + FORMULA)) is None
    low, high = WORKED.inflow_interval(greatest * (1 - FORMULA))
    assert low <= WORKED.greatest_floods()[0] <= high


def test_a_limit_above_the_greatest_changes_nothing():
    greatest = WORKED.greatest_floods()[1]
    assert WORKED.inflow_interval(1.5, greatest * 1.01) == WORKED.inflow_interval(1.5)


def test_a_bigger_standpipe_reaches_more_floods_and_starts_later():
    bigger = replace(WORKED, bore_m=0.0351)
    assert bigger.greatest_floods()[1] > 3.0
    assert bigger.inflow_interval(3.0) is not None
    assert bigger.start_flow_m3_s > 1.9 * WORKED.start_flow_m3_s


def test_a_bed_without_a_window_grants_nothing():
    # Start above stop: a wide pipe with hardly any fall.
    closed = replace(WORKED, outlet_level_m=0.029, bore_m=0.1)
    assert closed.start_flow_m3_s > closed.stop_flow_m3_s
    assert closed.greatest_floods() == (closed.start_flow_m3_s, 0.0)
    assert closed.inflow_interval(0.01) is None


@pytest.mark.parametrize(("least", "most"), [(0.0, None), (-1.0, 2.0), (2.0, 1.0)])
def test_goals_out_of_order_are_refused(least, most):
    with pytest.raises(ValueError, match="floods an hour"):
        WORKED.inflow_interval(least, most)
