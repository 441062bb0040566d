"""How long a loud pump may run: against trying everything, in both programs, and by hand."""

import pytest

from optimizer.errors import Infeasible
from optimizer.milp import composed, solve
from optimizer.milp.composed import solve_composed, why_complete
from optimizer.milp.solve import solve_complete
from tests.milp.random_loud import loud, random_loud
from tests.milp.random_problem import random_problem
from tests.milp.small_problem import PROBLEM
from tests.oracles.enumerate_problem import least_cost

SEEDS = range(40)


def cost_or_none(solver, problem):
    try:
        return solver(problem, gap=0.0).record.cost_cents
    except Infeasible:
        return None


@pytest.mark.parametrize("seed", SEEDS)
def test_both_programs_cost_what_trying_everything_costs(seed, monkeypatch):
    for module in (solve, composed):
        monkeypatch.setattr(module, "explain", lambda *_, **__: Infeasible("none"))
    problem = random_loud(seed)
    best = least_cost(problem)
    assert cost_or_none(solve_complete, problem) == best
    assert cost_or_none(solve_composed, problem) == best


def test_the_limit_changes_some_of_the_random_problems_and_forbids_others():
    found = [least_cost(random_loud(seed)) for seed in SEEDS]
    free = [least_cost(random_problem(seed)) for seed in SEEDS]
    pairs = [(a, b) for a, b in zip(found, free, strict=True) if b is not None]
    assert sum(a is not None and a > b for a, b in pairs) >= 3
    assert sum(a is None for a, b in pairs) >= 3


def test_a_limit_on_noise_needs_no_complete_program():
    assert why_complete(loud(PROBLEM, {"small": 18.0})) == ""


@pytest.mark.parametrize("solver", [solve_complete, solve_composed])
def test_where_every_pump_is_loud_the_hours_that_would_do_are_told(solver):
    # Two beds take 4 steps, which both pumps give; the small one is loud for 18 h, the big for 20.
    with pytest.raises(Infeasible) as refusal:
        solver(loud(PROBLEM, {"small": 18.0, "big": 20.0}))
    (remedy,) = refusal.value.remedies
    assert remedy.requirement == "the hours a loud pump may run"
    assert remedy.change == (
        "let a loud pump run at least 18 hours a day instead of 8, or allow a quieter one."
    )
    # The twin: with the 18 hours that were told there is a design.
    assert solver(loud(PROBLEM, {"small": 18.0, "big": 20.0}, 18.0)).pump == "small"
