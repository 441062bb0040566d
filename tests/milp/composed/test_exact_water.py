"""Settled plans in tight sumps: fronts that carry the pipes' water, by the complete program."""

import math
import random
from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.milp import composed_search, composed_water
from optimizer.milp.composed import solve_composed
from optimizer.milp.composed_drives import by_bearing, drives
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_returns import Returns
from optimizer.milp.composed_scene import Scene
from optimizer.milp.composed_water import exact_water
from optimizer.milp.solve import solve_complete
from optimizer.records.problem import BranchPlan
from tests.milp.composed.wide_problem import wide_problem
from tests.milp.small_problem import DROP_A, PLANS, PUMP_DUTIES, PUMPS, small_problem
from tests.tolerances import EXACT

SEEDS = range(16)
TIGHT = (4, 18, 23, 41)
"""Sites whose cheapest pipes hold more water than the cheapest sump has room for."""
SPARE_SHARE = 0.5
"""Share of their room for the pipes' water that sumps are left with, so that it is tight."""


def held_to_plans(seed):
    """A wide problem with one plan a row and tight sumps; every fourth has one row with beds."""
    problem, rng = wide_problem(seed), random.Random(seed)
    options = set(next(iter(Reading(problem).picks())))
    plans = {}
    for plan in sorted(problem.plans, key=lambda _: rng.random()):
        if plan.option is None or plan.option in options:
            plans[plan.branch] = plan
    for row in list(plans)[1:] if seed % 4 == 0 else ():
        plans[row] = BranchPlan(f"{row} none", row, None, 0, 0, 0, 0.0, 0.0, {})
    chosen = {plan.id for plan in plans.values()}
    bursts = [{p: q for p, q in d.bursts_m3_s.items() if p in chosen} for d in problem.drains]
    return replace(
        problem,
        plans=tuple(plans.values()),
        drains=tuple(
            replace(d, bursts_m3_s=sent)
            for d, sent in zip(problem.drains, bursts, strict=True)
            if sent
        ),
        sumps=tuple(replace(k, spare_m3=SPARE_SHARE * k.spare_m3) for k in problem.sumps),
        requirements=replace(
            problem.requirements, beds_least=0, area_least_m2=0.0, drain_back_share=1.0
        ),
    )


def designs(problem, limit=math.inf, bound=-math.inf):
    """What each design found cost, in order, of every class of pumps; None where given up."""
    reading = Reading(problem)
    plans = {b: list(found) for b, found in reading.tables.plans_of_branch.items()}
    flow, made = sum(plan.flow_steps for plan in problem.plans), []
    for shut_off_m, able in by_bearing(reading, drives(reading)):
        scene = Scene(plans, shut_off_m, able)
        scene.known = {(0, n, 0): bound for n in scene.by_flow.get(flow, [])}
        made.append(exact_water(reading, scene, Returns(reading), limit, lambda: None))
    return None if None in made else [[each.cents for each in found] for found in made]


def optimum(problem):
    """The complete program's least cost; infinite where there is no design."""
    try:
        return solve_complete(problem, gap=0.0).record.cost_cents
    except Infeasible:
        return math.inf


@pytest.mark.parametrize("seed", SEEDS)
def test_ever_cheaper_designs_end_at_what_the_complete_program_finds(seed):
    problem = held_to_plans(seed)
    found = designs(problem)
    assert all(costs == sorted(set(costs), reverse=True) for costs in found)
    least = min((costs[-1] for costs in found if costs), default=math.inf)
    assert least == optimum(problem)
    # The twin: nothing costs less than the least, and no pump is tried whose bound says so.
    assert not any(designs(problem, limit=least))
    assert not any(designs(problem, limit=least, bound=least))


def test_many_of_those_sites_have_a_design_and_some_have_none():
    # Otherwise the test above would hold nothing against anything.
    found = [any(designs(problem)) for problem in map(held_to_plans, SEEDS)]
    assert sum(found) > 8
    assert not all(found)


def test_fronts_that_grow_too_long_are_given_up(monkeypatch):
    monkeypatch.setattr(composed_water, "POINTS_MOST", 0)
    assert designs(small_problem(plans=(PLANS[1], PLANS[3]))) is None


@pytest.mark.parametrize("points_most", [0, composed_water.POINTS_MOST])
def test_a_search_without_prices_on_water_counts_it_or_hands_over(points_most, monkeypatch):
    # With no price tried, and no design made of tables, only counting the water gives any; where
    # its fronts are given up as well the complete program answers. The optimum stays the same.
    monkeypatch.setattr(composed_search, "PRICES_MOST", 0)
    monkeypatch.setattr(composed_search, "SETTLE_AT_ONCE", 0)
    monkeypatch.setattr(composed_water, "POINTS_MOST", points_most)
    problems = [held_to_plans(seed) for seed in TIGHT]
    said = [solve_composed(problem, gap=0.0).record for problem in problems]
    assert [record.cost_cents for record in said] == [optimum(problem) for problem in problems]
    assert ("complete" in {record.formulation for record in said}) == (points_most == 0)


def test_a_row_that_has_pipe_to_choose_from_and_no_plan_is_left_out():
    # By hand: one slow bed 1000 on row A, thin riser 100 (1.0 + 0.1 + 0.2 of 2.5 m), drop 50, small
    # pump 5000, energy 300, tank 2000, fixed 7.
    problem = small_problem(plans=(PLANS[1],), pumps=PUMPS[:1], pump_duties=PUMP_DUTIES[:2])
    assert "B" in Reading(problem).of_branch and DROP_A in problem.stretches
    found = designs(problem)
    assert found[0][-1] - (1000 + 100 + 50 + 5000 + 300 + 2000 + 7) == EXACT
