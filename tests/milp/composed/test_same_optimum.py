"""The composed program against trying everything and against the complete program."""

import pytest

from optimizer.errors import Infeasible
from optimizer.milp import composed, solve
from optimizer.milp.composed import solve_composed
from optimizer.milp.solve import solve_complete
from tests.milp.composed.wide_problem import wide_problem
from tests.milp.random_problem import random_problem
from tests.oracles.enumerate_problem import least_cost


def cost_or_none(problem, program):
    try:
        return program(problem, gap=0.0).record.cost_cents
    except Infeasible:
        return None


@pytest.fixture(autouse=True)
def _no_search_for_remedies(monkeypatch):
    for module in (composed, solve):
        monkeypatch.setattr(module, "explain", lambda *_, **__: Infeasible("none"))


@pytest.mark.parametrize("seed", range(120))
def test_fronts_cost_what_trying_everything_costs(seed):
    # The oracle leaves no combination out and shares no code with the program.
    problem = random_problem(seed)
    assert cost_or_none(problem, solve_composed) == least_cost(problem)


@pytest.mark.parametrize("seed", range(6))
def test_fronts_cost_what_the_complete_program_costs(seed):
    problem = wide_problem(seed)
    assert cost_or_none(problem, solve_composed) == cost_or_none(problem, solve_complete)
