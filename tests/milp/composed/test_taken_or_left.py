"""What the composed program takes and what it leaves to the complete one, each seen by itself."""

from dataclasses import replace

import pytest

from optimizer.errors import Infeasible, SolverFailed
from optimizer.milp import composed, composed_fall
from optimizer.milp.composed import solve_composed, why_complete
from optimizer.milp.solve import solve_complete
from optimizer.records.problem import BranchPlan, Build, Duty, StretchTable
from tests.milp.composed.wide_problem import wide_problem
from tests.milp.small_problem import (
    DRAINED,
    DRAINS,
    DROP_A,
    DROP_B,
    PLANS,
    PROBLEM,
    RISER,
    small_problem,
)

# As in test_complete: two slow beds, thick riser, small pump, energy, tank, fixed 7.
LEAST = 2000 + 200 + 100 + 5000 + 400 + 2000 + 7


def with_plans(*more, without=()):
    return small_problem(plans=(*(p for p in PLANS if p.id not in without), *more))


def with_drains(*drains):
    return replace(DRAINED, drains=drains)


def shared_pipe_past_the_others():
    """Seed 0 with the pipe that two rows share led straight to the sump, past all rows' pipe."""
    seeds = (wide_problem(n) for n in range(100))
    problem = next(p for p in seeds if any(d.id == "back 1" for d in p.drains))
    past = [replace(d, lower="sump") if d.id == "back 1" else d for d in problem.drains]
    return replace(problem, drains=tuple(past))


MAIN, FROM_A, FROM_B = DRAINS
BESIDE = replace(MAIN, id="main 2", upper="join 2")
BELOW = replace(MAIN, id="below", upper="mid", bursts_m3_s={**MAIN.bursts_m3_s, "a1": 0.0004})
LEFT = {
    "row C asks for water and has no pipe": with_plans(
        BranchPlan("c1", "C", "slow", 1, 2, 1000, 1.0, 0.1, {})
    ),
    "plan b0 builds no bed and has figures of one": with_plans(
        replace(PLANS[2], area_m2=1.0), without=("b0",)
    ),
    "return pipe main carries less than what runs into it": with_drains(
        replace(MAIN, bursts_m3_s={"a1": 0.0008}), FROM_A, FROM_B
    ),
    "return pipes main and main 2 lie beside each other": with_drains(
        MAIN, BESIDE, FROM_A, replace(FROM_B, lower="join 2")
    ),
    "return pipe back 1 runs past the others": shared_pipe_past_the_others(),
    "plan a1 sends different bursts through shared pipe": with_drains(
        BELOW, replace(MAIN, lower="mid"), FROM_A, FROM_B
    ),
}


@pytest.mark.parametrize("why", LEFT)
def test_what_the_composed_program_would_count_wrongly_it_leaves_and_says_why(why):
    assert why_complete(LEFT[why]) == why


def test_beds_whose_inflow_is_no_multiple_of_one_bed_s_are_counted_together():
    # By hand: three beds in row B take 4 steps together. Outlet 1.2 m, drop 0.3 m and the thick
    # riser's 0.4 m are more than the small pump's 1.8 m, and the big one asks for the thick riser:
    # beds 1100, drop 50, riser 200, big pump 9000, energy 900, pair of tanks 4000, fixed 7.
    three = replace(PLANS[4], id="b3", beds=3)
    problem = replace(with_plans(three), requirements=replace(PROBLEM.requirements, beds_least=3))
    problem = replace(problem, requirements=replace(problem.requirements, area_least_m2=1.0))
    choice = solve_composed(problem, gap=0.0)
    assert choice.plans["B"] == "b3"
    assert choice.record.cost_cents == 1100 + 50 + 200 + 9000 + 900 + 4000 + 7


def test_shared_pipe_with_nothing_at_its_end_stays_dry_and_unbought():
    stub = replace(RISER, id="stub", tail="tee", head="end")
    choice = solve_composed(small_problem(stretches=(RISER, stub, DROP_A, DROP_B)), gap=0.0)
    assert choice.record.cost_cents == LEAST
    assert "stub" not in choice.builds


def test_two_arms_of_a_header_may_be_listed_in_turn():
    # By hand: as without arms, and two pipes of 10 cents on the way to each bed.
    def arm(name, tail, head):
        free = {("u2", "thin"): Build("thin", 10, 0.0, 0.0)}
        rating = {"thin": 16.0}
        return StretchTable(name, tail, head, None, (Duty("u2", 2),), ("thin",), free, rating)

    arms = (
        arm("a1", "tee", "a"),
        arm("b1", "tee", "b"),
        arm("a2", "a", "aa"),
        arm("b2", "b", "bb"),
    )
    drops = (replace(DROP_A, tail="aa"), replace(DROP_B, tail="bb"))
    problem = small_problem(stretches=(RISER, *arms, *drops), plans=PLANS[:4])
    assert solve_composed(problem, gap=0.0).record.cost_cents == LEAST + 4 * 10


@pytest.mark.parametrize("seed", [0, 1, 3])
def test_a_site_that_asks_for_no_bed_costs_what_the_complete_program_says(seed):
    problem = wide_problem(seed)
    asked = replace(problem.requirements, beds_least=0, area_least_m2=0.0)
    problem = replace(problem, requirements=asked)
    expected = solve_complete(problem, gap=0.0).record.cost_cents
    assert solve_composed(problem, gap=0.0).record.cost_cents == expected


def test_without_the_extra_cost_of_fall_the_optimum_is_the_same(monkeypatch):
    # The extra cost only raises bounds: left out where it takes too many joins, nothing is lost.
    drained = [wide_problem(seed) for seed in (2, 3, 4)]
    assert all(problem.drains for problem in drained)
    expected = [answer(problem) for problem in drained]
    monkeypatch.setattr(composed_fall, "JOINS_MOST", 0)
    assert [answer(problem) for problem in drained] == expected


def answer(problem):
    try:
        return solve_composed(problem, gap=0.0).record.cost_cents
    except Infeasible:
        return None


def test_a_design_whose_parts_cost_something_else_than_its_fronts_is_no_answer(monkeypatch):
    monkeypatch.setattr(composed, "cost_cents", lambda *_: LEAST + 1)
    with pytest.raises(SolverFailed, match=f"fronts cost {LEAST} and their parts {LEAST + 1}"):
        solve_composed(PROBLEM, gap=0.0)
