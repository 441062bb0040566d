"""Requirements that may give way in an explanation, each with the sentence for an amount."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from optimizer.records.requirements import Requirements
from optimizer.units_told import at_least, at_most, told

NOTHING = 1e-6  # an amount below this gives no way
LITRES = 1000.0  # bursts are summed in L/s


@dataclass(frozen=True)
class Give:
    """One requirement that could give way.

    Attributes:
        key: what callers use to put it in their own words.
        family: the family whose rows give way.
        sign: +1 adds the amount to the row's left side, -1 takes it away.
        words: the requirement in plain words.
        change: the sentence for an amount.
    """

    key: str
    family: str
    sign: float
    words: str
    change: Callable[[float, Requirements], str]


def _up(value: float, step: float) -> float:
    """Round up to a step, forgiving what the solver may err by."""
    return math.ceil(value / step - NOTHING / step) * step


def _more_head(extra: float, limits: Requirements) -> str:
    more = at_least(extra - NOTHING, "length", limits.units)
    if limits.fed_by_tank:
        return f"raise the water of the tank over the beds by at least {more}."
    return f"a pump that gives at least {more} more head at the same flow."


def _fewer_beds(less: float, limits: Requirements) -> str:
    most = math.floor(limits.beds_least - less + NOTHING)
    return f"ask for at most {most} bed{'' if most == 1 else 's'} instead of {limits.beds_least}."


def _less_area(less: float, limits: Requirements) -> str:
    most = at_most(limits.area_least_m2 - less + NOTHING, "area", limits.units)
    asked = told(limits.area_least_m2, "area", limits.units)
    return f"ask for at most {most} of growing area instead of {asked}."


def _more_working(extra: float, limits: Requirements) -> str:
    more = at_least(extra - NOTHING / LITRES, "volume", limits.units)
    return f"a sump that holds at least {more} more between its running levels."


def _more_spare(extra: float, limits: Requirements) -> str:
    more = at_least(extra - NOTHING / LITRES, "volume", limits.units)
    return f"a sump with at least {more} more room between its high level and the freeboard."


def _more_fall(extra: float, limits: Requirements) -> str:
    more = at_least(extra - NOTHING, "length", limits.units)
    return (
        f"set the beds at least {more} higher, or the sump so much lower, so that return pipe has "
        "its fall (the pump then lifts as much more)."
    )


def _wider_returns(extra: float, limits: Requirements) -> str:
    more = at_least((extra - NOTHING) / LITRES, "flow", limits.units)
    return (
        f"allow wider return pipe, for at least {more} more, or count bursts as binomial where "
        "all of them are counted."
    )


def _more_money(extra: float, limits: Requirements) -> str:
    least_cents = (limits.budget_cents or 0) + _up(extra, 1.0)
    return f"raise the budget to at least {least_cents / 100.0:.2f}."


def _more_sizes(extra: float, limits: Requirements) -> str:
    most = limits.pipe_sizes_most or 0
    return f"allow at least {most + _up(extra, 1.0):.0f} sizes of pipe instead of {most}."


def _more_loud_hours(extra: float, limits: Requirements) -> str:
    most = limits.loud_hours_most or 0.0
    return (
        f"let a loud pump run at least {_up(most + extra, 0.1):.4g} hours a day instead of "
        f"{most:.4g}, or allow a quieter one."
    )


BOUGHT = ("head", "sump", "power_cut", "bursts")
"""Requirements that give way by a better part; the search counts it at the old part's price."""

GIVES = (
    Give("head", "pump_gives_the_head", -1.0, "the head the pump must give", _more_head),
    Give("beds", "enough_beds", 1.0, "the number of beds asked for", _fewer_beds),
    Give("area", "enough_area", 1.0, "the growing area asked for", _less_area),
    Give("sump", "sump_holds_all_beds", -1.0, "the sump must hold all beds at once", _more_working),
    Give(
        "fall", "drains_end_above_the_water", 1.0, "return pipe must fall to the sump", _more_fall
    ),
    Give(
        "power_cut", "power_cut_fits", -1.0, "a power cut must not overflow the sump", _more_spare
    ),
    Give(
        "bursts",
        "drain_carries_its_bursts",
        -1.0,
        "return pipe must carry the siphons' bursts",
        _wider_returns,
    ),
    Give("budget", "capital_is_within_the_budget", -1.0, "the money to buy with", _more_money),
    Give("sizes", "few_sizes_are_laid", -1.0, "the sizes of pipe to keep", _more_sizes),
    Give("noise", "loud_pump_rests", -1.0, "the hours a loud pump may run", _more_loud_hours),
)
