"""Valve tables: exact at their points, monotone and invertible between."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.physics.valve import loss_at_opening, opening_for_loss
from tests.tolerances import EXACT, FORMULA

# Gate open 1/4, 1/2, 3/4, 1: 24, 4.5, 0.9, 0.17; plug cock closed 60, 40, 20, 10, 5 degrees:
# 206, 17.3, 1.56, 0.29, 0.05. Values of the fittings table in Perry's Chemical Engineers'
# Handbook (second hand).
GATE = (0.25, 0.5, 0.75, 1.0), (24.0, 4.5, 0.9, 0.17)
COCK = tuple(1 - closed / 90 for closed in (60, 40, 20, 10, 5)), (206.0, 17.3, 1.56, 0.29, 0.05)


@st.composite
def tables(draw):
    """Draw a valve table with steps wide enough for its inverse to be well defined."""
    steps = draw(st.lists(st.floats(0.05, 0.3), min_size=2, max_size=8))
    falls = draw(st.lists(st.floats(1.05, 20.0), min_size=len(steps), max_size=len(steps)))
    openings = tuple(itertools.accumulate(steps))
    losses = tuple(itertools.accumulate(reversed(falls), lambda a, b: a * b))[::-1]
    return tuple(each / openings[-1] for each in openings), losses


@pytest.mark.parametrize("table", [GATE, COCK])
def test_table_points_come_back_exactly(table):
    for opening, loss in zip(*table, strict=True):
        assert loss_at_opening(opening, *table) == pytest.approx(loss, rel=EXACT)
        assert opening_for_loss(loss, *table) == pytest.approx(opening, rel=EXACT)


@settings(max_examples=100)
@given(table=tables(), share=st.floats(0.0, 1.0))
def test_opening_for_loss_undoes_loss_at_opening(table, share):
    opening = table[0][0] + share * (table[0][-1] - table[0][0])
    loss = loss_at_opening(opening, *table)
    assert loss_at_opening(opening_for_loss(loss, *table), *table) == pytest.approx(
        loss, rel=FORMULA
    )


@settings(max_examples=100)
@given(table=tables(), shares=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)))
def test_opening_a_valve_never_adds_loss(table, shares):
    low, high = table[0][0], table[0][-1]
    less, more = (low + share * (high - low) for share in sorted(shares))
    slack = 1.0 + FORMULA
    assert loss_at_opening(more, *table) <= loss_at_opening(less, *table) * slack


def test_less_loss_than_fully_open_is_refused():
    with pytest.raises(ValueError, match="fully open"):
        opening_for_loss(0.16, *GATE)


def test_more_loss_than_the_smallest_opening_is_refused():
    with pytest.raises(ValueError, match="smallest opening"):
        opening_for_loss(24.1, *GATE)


@pytest.mark.parametrize("opening", [0.0, 0.2, 1.01])
def test_openings_off_the_table_are_refused(opening):
    with pytest.raises(ValueError, match="outside the table"):
        loss_at_opening(opening, *GATE)


@pytest.mark.parametrize(
    "table",
    [
        ((0.5,), (1.0,)),
        ((0.5, 0.4), (2.0, 1.0)),
        ((0.5, 1.0), (1.0, 1.0)),
        ((0.5, 1.0), (1.0, 0.0)),
    ],
)
def test_tables_out_of_order_are_refused(table):
    with pytest.raises(ValueError):
        loss_at_opening(1.0, *table)
