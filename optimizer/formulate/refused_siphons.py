"""Why a bed type and kit cannot be listed, and what goal of floods it could meet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from optimizer.formulate.bed_kind import FittedBed
from optimizer.formulate.inflow_steps import ANY_INFLOW, allowed_steps
from optimizer.records.design import Window
from optimizer.records.site import Goals


@dataclass(frozen=True)
class Refused:
    """A bed type and kit that cannot be listed.

    ``floods_greatest`` is the flood frequency it can reach at all (0 if it cannot be built),
    ``start_flow_m3_s`` the inflow it needs to start. ``fitted`` and ``goals`` are those it was
    refused for; None if it cannot be built.
    """

    bed_type: str
    kit: str
    kit_label: str
    why: str
    floods_greatest: float = 0.0
    start_flow_m3_s: float = 0.0
    fitted: FittedBed | None = None
    goals: Goals | None = None

    @cached_property
    def floods_kept(self) -> float:
        """Most floods an hour it keeps with every margin; 0 for none."""
        if self.fitted is None or self.goals is None:
            return 0.0
        return most_floods_kept(self.fitted, self.goals)

    @cached_property
    def most_kept(self) -> float:
        """Least limit on floods an hour under which it meets the goal; 0 for none."""
        if self.fitted is None or self.goals is None:
            return 0.0
        return least_limit_kept(self.fitted, self.goals)


def refusal(fitted: FittedBed, goals: Goals) -> Refused:
    """Return why a fitted bed has no inflow to list."""
    bed, window = fitted.bed, fitted.windows[goals.robustness]
    floods = fitted.greatest_floods
    if floods < goals.floods_per_hour_least:
        why = f"floods at most {floods:.2f} times an hour"
    elif fitted.target.low_m3_s >= fitted.target.high_m3_s:
        why = f"floods more than {goals.floods_per_hour_most or math.inf:g} times at any inflow"
    elif window.low_m3_s >= window.high_m3_s:
        why = f"its {goals.robustness} start-stop window is empty"
    elif allowed_steps(fitted.settings, ANY_INFLOW, goals) is None:
        why = "its window is narrower than valve error and level drift together"
    else:
        why = "the inflows that meet the flood goal and those that surely work hardly overlap"
    return Refused(
        fitted.bed_type.id,
        fitted.kit.id,
        fitted.kit.label,
        why,
        floods,
        bed.start_flow_m3_s,
        fitted,
        goals,
    )


def most_floods_kept(fitted: FittedBed, goals: Goals) -> float:
    """Return the most floods an hour that could be asked with every margin kept; 0 for none.

    Whole hundredths, rounded down. Asking less often only widens the allowed inflows.
    """
    most = goals.floods_per_hour_most
    greatest = fitted.greatest_floods
    low, high = 0, math.floor(min(greatest, most or greatest) * 100.0) + 1
    while high - low > 1:
        middle = (low + high) // 2
        kept = _keeps(fitted, goals, middle / 100.0, most)
        low, high = (middle, high) if kept else (low, middle)
    return low / 100.0


def least_limit_kept(fitted: FittedBed, goals: Goals) -> float:
    """Return the least limit on floods an hour that leaves every margin room; 0 for none.

    Whole hundredths, rounded up.
    """
    least, most = goals.floods_per_hour_least, goals.floods_per_hour_most
    greatest = fitted.greatest_floods
    high = math.ceil(greatest * 100.0)
    if most is None or not _keeps(fitted, goals, least, max(high / 100.0, most)):
        return 0.0
    low = math.floor(most * 100.0)
    while high - low > 1:
        middle = (low + high) // 2
        kept = _keeps(fitted, goals, least, middle / 100.0)
        low, high = (low, middle) if kept else (middle, high)
    return high / 100.0


def _keeps(fitted: FittedBed, goals: Goals, least: float, most: float | None) -> bool:
    """Return whether some inflow keeps every margin at a flood goal."""
    target = fitted.flooding_inflows(least, most)
    if target is None:
        return False
    return allowed_steps(fitted.settings, Window(*target), goals) is not None
