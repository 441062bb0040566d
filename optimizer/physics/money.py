"""Money over years, brought to today."""

from __future__ import annotations

import math

_ROUNDING = 1e-12
"""Share by which years over a life may exceed a whole number and be one still: rounding."""


def _check(rate: float, years: float) -> None:
    if not rate > -1.0 or years < 0.0:
        raise ValueError("a discount rate must be above -1 and years not negative")


def present_worth_factor(rate: float, years: float, growth: float = 0.0) -> float:
    """Return today's worth of 1 paid at the end of every year, the first at today's price.

    F = (1 - ((1+g)/(1+i))^n) / (i - g), the sum of (1+g)^(k-1) / (1+i)^k over k = 1..n; n/(1+i)
    where i = g. Years need not be whole: the formula is then its smooth continuation.

    Args:
        rate: discount rate i a year, above -1 (0.05 for 5 %).
        years: planning years n, 0 or more.
        growth: price growth g a year, above -1.

    Raises:
        ValueError: for an argument outside its limits.

    >>> round(present_worth_factor(0.05, 10), 6)
    7.721735
    """
    _check(rate, years)
    if not growth > -1.0:
        raise ValueError("price growth must be above -1")
    if rate == growth:
        return years / (1.0 + rate)
    return -math.expm1(years * math.log1p((growth - rate) / (1.0 + rate))) / (rate - growth)


def present_worth_single(amount: float, rate: float, year: float) -> float:
    """Return today's worth of one payment: amount / (1 + i)^year.

    Args:
        amount: the payment; negative for income.
        rate: discount rate i a year, above -1.
        year: years from now, 0 or more.

    Raises:
        ValueError: for an argument outside its limits.
    """
    _check(rate, year)
    return float(amount * (1.0 + rate) ** -year)


def capital_recovery_factor(rate: float, years: float) -> float:
    """Return the yearly payment that 1 today is worth: the inverse of the present worth factor.

    Args:
        rate: discount rate a year, above -1.
        years: years, above 0.

    Raises:
        ValueError: for an argument outside its limits.
    """
    if not years > 0.0:
        raise ValueError("capital is recovered over more than 0 years")
    return 1.0 / present_worth_factor(rate, years)


def replacement_years(life_years: float, years: float) -> tuple[float, ...]:
    """Return the years at which a part is bought again: every life before the planning ends.

    A part that wears out just as the planning ends is not bought again.

    Args:
        life_years: life of one, above 0.
        years: planning years, 0 or more.

    Raises:
        ValueError: for an argument outside its limits.

    >>> replacement_years(4.0, 12.0)
    (4.0, 8.0)
    """
    if not life_years > 0.0 or years < 0.0:
        raise ValueError("a life must be above 0 years and the planning not negative")
    times = max(0, math.ceil(years / life_years * (1.0 - _ROUNDING)) - 1)
    return tuple(life_years * each for each in range(1, times + 1))


def replacement_present_worth(price: float, life_years: float, rate: float, years: float) -> float:
    """Return today's worth of buying a part again at the end of every life, at today's price.

    The first purchase is not counted; nothing is credited for the last one's remaining life.

    Args:
        price: price of one.
        life_years: life of one, above 0.
        rate: discount rate a year, above -1.
        years: planning years, 0 or more.

    Raises:
        ValueError: for an argument outside its limits.
    """
    due = replacement_years(life_years, years)
    return math.fsum(present_worth_single(price, rate, year) for year in due)
