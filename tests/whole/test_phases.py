"""Two phases: a plan is what is bought and run in both, and none costs less than the bound."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.errors import BadInput
from optimizer.phases import compare_phases
from optimizer.pipeline import find_design
from optimizer.records.extension import bought_cents
from optimizer.search_settings import SearchSettings
from optimizer.simulate.check import check_design
from studies.phased_build.experiments import QUICK, jobs

YEARS = 2.0
ROUNDING_CENTS = 2


def money(design, group):
    return sum(line.cents for line in design.costs if line.group == group)


@pytest.fixture(scope="module")
def found():
    now, final = jobs(QUICK)
    return now, final, compare_phases(now, final, YEARS, gap=0.0)


def test_a_plan_costs_what_both_phases_buy_and_run_brought_to_today(found):
    # By hand: 5 % a year over two years makes 1 worth 1 / 1.1025 today. In the plan that does not
    # look ahead everything is on the two bills.
    _, _, phases = found
    plan = phases.only_for_now
    now = bought_cents(plan.now) + money(plan.now, "running")
    later = bought_cents(plan.later) + money(plan.later, "running")
    assert abs(plan.worth_cents - (now + later / 1.1025)) <= ROUNDING_CENTS
    assert plan.now_cents == bought_cents(plan.now)


def test_no_plan_costs_less_than_the_bound_and_the_best_is_one_of_them(found):
    _, _, phases = found
    assert all(plan.worth_cents >= phases.bound_cents - ROUNDING_CENTS for plan in phases.plans)
    assert phases.best.worth_cents == min(plan.worth_cents for plan in phases.plans)
    assert phases.best.worth_cents <= phases.only_for_now.worth_cents


def test_every_phase_of_every_plan_passes_its_check(found):
    _, _, phases = found
    for plan in phases.plans:
        assert check_design(plan.now).passed
        assert check_design(plan.later).passed


def test_pipe_laid_wide_is_on_the_bill_of_the_first_phase_in_the_size_of_the_whole(found):
    # By hand: metres of that size, at the catalog's price a metre, are no more than the bill has.
    now, _, phases = found
    plan = next(plan for plan in phases.plans if plan.wide == 1 and not plan.same_sump)
    riser = next(s for s in plan.now.stretches if s.kind == "riser")
    whole = next(s for s in plan.later.stretches if s.kind == "riser")
    assert not riser.standing
    assert riser.pipe == whole.pipe
    price = now.catalog.pipes[riser.pipe].price_per_m
    line = next(c for c in plan.now.costs if c.group == "capital" and c.part == riser.pipe)
    assert line.cents >= round(100.0 * riser.length_m * price)


def test_where_the_whole_site_is_built_first_nothing_is_bought_later(found):
    _, final, _ = found
    phases = compare_phases(final, final, YEARS, gap=0.0)
    plan = phases.only_for_now
    goals = replace(final.site.goals, planning_years=YEARS)
    alone = find_design(
        replace(final, site=replace(final.site, goals=goals)), SearchSettings(gap=0.0)
    )
    assert plan.now_cents == bought_cents(alone)
    saved = money(plan.now, "running")
    assert plan.later_cents == 0 or plan.later_cents < 8 / YEARS * saved


@pytest.mark.parametrize("years", [0.0, 10.0, -1.0])
def test_years_outside_the_planning_are_refused(years):
    now, final = jobs(QUICK)
    with pytest.raises(BadInput, match="years"):
        compare_phases(now, final, years)
