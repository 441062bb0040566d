"""The composed program against trying everything and against the complete program."""

import math
from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.milp import composed, solve
from optimizer.milp.composed import solve_composed
from optimizer.milp.solve import solve_complete
from tests.milp.composed.wide_problem import wide_problem
from tests.milp.random_problem import random_problem
from tests.oracles.enumerate_problem import least_cost

WIDE = range(50)


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


@pytest.mark.parametrize("seed", WIDE)
def test_fronts_cost_what_the_complete_program_costs(seed):
    problem = wide_problem(seed)
    assert cost_or_none(problem, solve_composed) == cost_or_none(problem, solve_complete)


def no_drift(problem):
    return replace(
        problem, pump_duties=tuple(replace(d, authority=0.0) for d in problem.pump_duties)
    )


def no_power_cut(problem):
    return replace(problem, requirements=replace(problem.requirements, drain_back_share=0.0))


def no_throttling(problem):
    free = [
        replace(s, table={k: replace(b, throttle_m=math.inf) for k, b in s.table.items()})
        for s in problem.stretches
    ]
    return replace(problem, stretches=tuple(free))


def no_shut_off(problem):
    return replace(problem, pumps=tuple(replace(p, shut_off_m=0.0) for p in problem.pumps))


def no_highest_water(problem):
    return replace(problem, sumps=tuple(replace(k, top_m=0.0) for k in problem.sumps))


@pytest.mark.parametrize(
    ("seed", "without"),
    [
        (4, no_drift),
        (5, no_power_cut),
        (18, no_throttling),
        (1, no_shut_off),
        (13, no_highest_water),
    ],
)
def test_every_coupling_decides_some_of_these_sites(seed, without):
    # The comparison above would prove little if no coupling ever moved an optimum.
    problem = wide_problem(seed)
    assert cost_or_none(problem, solve_composed) != cost_or_none(without(problem), solve_composed)
