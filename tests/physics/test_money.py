"""Present worth against plain sums."""

import math
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.physics import money
from tests.tolerances import EXACT, FORMULA

rates = st.floats(-0.05, 0.3)
years = st.integers(1, 40)


@given(rate=rates, count=years, growth=st.floats(-0.05, 0.3))
def test_factor_is_the_sum_of_its_payments(rate, count, growth):
    summed = sum((1 + growth) ** (k - 1) / (1 + rate) ** k for k in range(1, count + 1))
    assert money.present_worth_factor(rate, count, growth) == pytest.approx(summed, rel=FORMULA)


def test_growth_at_the_discount_rate_leaves_equal_payments():
    assert money.present_worth_factor(0.05, 8, 0.05) == pytest.approx(8 / 1.05, rel=FORMULA)
    assert money.present_worth_factor(0.0, 8) == pytest.approx(8.0, rel=EXACT)


@given(rate=rates, count=years)
def test_capital_recovery_undoes_present_worth(rate, count):
    product = money.capital_recovery_factor(rate, count) * money.present_worth_factor(rate, count)
    assert product == pytest.approx(1.0, rel=FORMULA)


@given(rate=st.floats(0.0, 0.3), count=years, more=st.floats(0.001, 0.1))
def test_a_higher_rate_is_worth_less_and_more_growth_more(rate, count, more):
    factor = money.present_worth_factor
    assert factor(rate + more, count) < factor(rate, count)
    assert factor(rate, count, more) >= factor(rate, count) * (1 - FORMULA)


def test_pumps_are_bought_again_at_each_end_of_life():
    # Life 3 years in 10 planned: bought again after 3, 6 and 9 years.
    expected = 80 / 1.05**3 + 80 / 1.05**6 + 80 / 1.05**9
    assert money.replacement_present_worth(80, 3, 0.05, 10) == pytest.approx(expected, rel=FORMULA)


@pytest.mark.parametrize(
    ("life", "horizon", "count"), [(5, 10, 1), (5, 10.1, 2), (10, 10, 0), (4, 0, 0)]
)
def test_a_part_that_ends_with_the_planning_is_not_bought_again(life, horizon, count):
    assert len(money.replacement_years(life, horizon)) == count


def test_lives_in_tenths_of_a_year_are_counted_as_fractions_count_them():
    # 30 lives of 0.7 years end with 21 years, and 21 / 0.7 is a little over 30 in the computer.
    for life, horizon in product(range(1, 100), range(5, 401, 5)):
        count = max(0, math.ceil(Fraction(horizon, life)) - 1)
        assert len(money.replacement_years(life / 10, horizon / 10)) == count


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: money.present_worth_factor(-1.0, 5),
        lambda: money.present_worth_factor(0.05, -1),
        lambda: money.present_worth_factor(0.05, 5, -1.0),
        lambda: money.present_worth_single(1.0, 0.05, -1),
        lambda: money.capital_recovery_factor(0.05, 0),
        lambda: money.replacement_years(0.0, 10),
    ],
)
def test_impossible_money_is_refused(wrong):
    with pytest.raises(ValueError):
        wrong()
