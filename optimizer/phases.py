"""Build in two phases: only for now and extend later, or buy part of the final's plant at once.

A plan is a design for the first beds and its extension to the final site some years on. Plans
differ in how much of the way from the pump outward is laid now in the sizes of the final design,
and in whether the first phase takes the final's kind of sump and of pump, so that more of the same
can be added. What a plan costs is brought to today; no plan at all costs less than the bound
(:mod:`optimizer.phasing.bound`). The verb ``phase`` does this for more steps, from one site file
(:mod:`optimizer.phasing.compare`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

from optimizer.errors import BadInput, Infeasible, Problem
from optimizer.extension import standing_job
from optimizer.job import Job
from optimizer.phasing.ahead import PUMP, SUMP, like_whole, sizes_of_whole
from optimizer.phasing.bound import least_worth_cents
from optimizer.phasing.search import How, running_cents
from optimizer.phasing.steps import Step, timed, without_limits
from optimizer.pipeline import find_design
from optimizer.records.design import Design
from optimizer.records.extension import bought_cents
from optimizer.records.header_ring import refused
from optimizer.search_settings import SearchSettings


@dataclass(frozen=True)
class Plan:
    """One way to build in two phases; money in cents.

    Attributes:
        wide: stretches from the pump outward that are laid at once in the final design's size.
        same_sump: whether the first phase must take the final design's kind of sump.
        same_pump: whether it must take the final design's kind of pump.
        now: the design of the first phase.
        later: the whole system after the second.
        now_cents: bought in the first phase.
        later_cents: bought in the second, at that time.
        running_cents: energy and later pumps of both phases, brought to today.
        worth_cents: all of it, brought to today.
    """

    wide: int
    same_sump: bool
    same_pump: bool
    now: Design
    later: Design
    now_cents: int
    later_cents: int
    running_cents: int
    worth_cents: int


@dataclass(frozen=True)
class Phases:
    """Plans by how much pipe is laid wide at once, and what no plan can cost less than.

    Attributes:
        plans: every plan that has a design; the first one is built only for now.
        bound_cents: no plan of two phases costs less, brought to today (proven).
        at_once_cents: the final site built whole today, over all the years.
    """

    plans: tuple[Plan, ...]
    bound_cents: float
    at_once_cents: int

    @property
    def best(self) -> Plan:
        """The plan that costs least."""
        return min(self.plans, key=lambda plan: plan.worth_cents)

    @property
    def only_for_now(self) -> Plan:
        """The plan whose first phase does not look ahead."""
        return self.plans[0]


def compare_phases(now: Job, final: Job, years: float, *, gap: float = 1e-4) -> Phases:
    """Return plans to build a site in two phases, each designed and proven phase by phase.

    Args:
        now: the site of the first phase, its beds all among those of the final one.
        final: the site as it will be; its planning years count from today.
        years: years from now to the second phase, above 0 and below the planning years.
        gap: relative gap of every search.

    Raises:
        BadInput: if the years do not fit, or a bed of the first phase has no place later.
        Infeasible: if either phase has no design.
    """
    planned = final.site.goals.planning_years
    if not 0.0 < years < planned:
        what = f"{years:g} years to the second phase, {planned:g} in all."
        raise BadInput([Problem("years", what, "Let it be above 0 and below planning_years.")])
    if problems := refused(now.site.header_ring or final.site.header_ring, "building in phases"):
        raise BadInput(problems)
    how, steps = How(SearchSettings(gap)), timed((now, final), (0.0, years), ("now", "later"))
    whole = how.design(without_limits(steps[1].job))
    sizes = sizes_of_whole(steps[0].job, whole)
    plans = []
    for same_sump, same_pump, wide in product((False, True), (False, True), range(len(sizes) + 1)):
        asked = frozenset(p for p, same in ((SUMP, same_sump), (PUMP, same_pump)) if same)
        first = replace(steps[0], job=like_whole(steps[0].job, whole, asked))
        try:
            found = _plan(first, steps[1], dict(list(sizes.items())[:wide]), how)
        except Infeasible:
            if (same_sump, same_pump, wide) == (False, False, 0):
                raise
            continue
        plans.append(replace(found, same_sump=same_sump, same_pump=same_pump))
    bound = least_worth_cents(steps, None, how)
    return Phases(tuple(plans), bound, find_design(final, how.search).record.cost_cents)


def _plan(first: Step, second: Step, wide: dict[str, str], how: How) -> Plan:
    """Return the plan that lays some stretches in the final design's sizes at once."""
    now = how.design(first.job, wide)
    later = how.design(standing_job(second.job, now))
    now_cents, later_cents = bought_cents(now), bought_cents(later)
    running = running_cents(now) + second.worth * running_cents(later)
    worth = now_cents + second.worth * later_cents + running
    return Plan(
        len(wide), False, False, now, later, now_cents, later_cents, round(running), round(worth)
    )
