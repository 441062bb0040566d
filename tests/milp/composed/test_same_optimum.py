"""The composed program against trying everything and against the complete program."""

import math
from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.milp import composed, solve
from optimizer.milp.composed import solve_composed, why_complete
from optimizer.milp.model import FAMILIES
from optimizer.milp.solve import solve_complete
from optimizer.milp.tables import Tables
from optimizer.records.requirements import PipeStock
from tests.milp.composed.wide_problem import wide_problem
from tests.milp.random_counts import random_counts
from tests.milp.random_loud import random_loud
from tests.milp.random_problem import random_problem
from tests.milp.small_problem import DRAINED, EARLIER, IN_TURN, MIXED, PROBLEM, TIED, tied
from tests.oracles.enumerate_problem import least_cost

WIDE = range(15)


def cost_or_none(problem, program):
    try:
        return program(problem, gap=0.0).record.cost_cents
    except Infeasible:
        return None


@pytest.fixture(autouse=True)
def _no_search_for_remedies(monkeypatch):
    for module in (composed, solve):
        monkeypatch.setattr(module, "explain", lambda *_, **__: Infeasible("none"))


@pytest.mark.parametrize("seed", range(40))
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


COMPARED = [
    *(make(seed) for make in (random_problem, random_loud) for seed in range(24)),
    *(random_counts(seed, random_problem) for seed in range(24)),
]
"""Problems of which both programs' costs are compared, here or in a test like those above."""

REFUSED = (
    tied(DRAINED, budget_cents=9000),
    replace(TIED, requirements=replace(PROBLEM.requirements, pipe_sizes_most=3), stock=()),
    tied(DRAINED, stock=(PipeStock("p25", 10),)),
    MIXED,
    IN_TURN,
    replace(PROBLEM, requirements=replace(PROBLEM.requirements, unlike=(EARLIER,))),
)
"""Problems that the complete program answers, each for one reason alone."""


def test_every_family_is_kept_by_the_composed_program_or_sent_to_the_complete_one():
    # The composed program does not read rows: a family it has not heard of would be broken in
    # silence. So each stands in a problem where both are compared, or in one that is refused.
    assert all(why_complete(problem) for problem in REFUSED)
    assert not any(why_complete(problem) for problem in COMPARED)
    every = [Tables(problem) for problem in (*COMPARED, *REFUSED)]
    unheard = [f.name for f in FAMILIES if not any(list(f.indices(t)) for t in every)]
    assert unheard == [], (
        "Refuse it in optimizer/milp/composed_read.py and add a problem to REFUSED; or keep it in "
        "the composed program and add problems that have it to COMPARED, with a test of both costs."
    )
