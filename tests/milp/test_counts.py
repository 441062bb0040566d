"""Return pipe that may be sized by any one of several counts of the bursts above it."""

import math
from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.milp import composed, solve
from optimizer.milp.composed import solve_composed, why_complete
from optimizer.milp.solve import solve_complete
from tests.milp.composed.wide_problem import wide_problem
from tests.milp.random_counts import random_counts
from tests.milp.random_problem import random_problem
from tests.milp.small_problem import COUNTED
from tests.oracles.enumerate_problem import least_cost

SEEDS, WIDE = range(24), range(12)


@pytest.fixture(autouse=True)
def _no_search_for_remedies(monkeypatch):
    for module in (composed, solve):
        monkeypatch.setattr(module, "explain", lambda *_, **__: Infeasible("none"))


def cost_or_none(problem, program):
    try:
        return program(problem, gap=0.0).record.cost_cents
    except Infeasible:
        return None


@pytest.mark.parametrize("seed", SEEDS)
def test_both_programs_cost_what_trying_everything_costs(seed):
    # The oracle leaves no combination out and shares no code with the programs.
    problem = random_counts(seed, random_problem)
    least = least_cost(problem)
    assert cost_or_none(problem, solve_complete) == least
    assert why_complete(problem) == ""
    assert cost_or_none(problem, solve_composed) == least


@pytest.mark.parametrize("seed", WIDE)
def test_both_programs_agree_on_rows_of_several_beds(seed):
    problem = random_counts(seed, wide_problem)
    assert cost_or_none(problem, solve_composed) == cost_or_none(problem, solve_complete)


def plainly(problem):
    """A problem whose bursts may only be summed."""
    plain = [
        replace(d, otherwise_beds=(), builds=tuple(replace(b, credited_beds=()) for b in d.builds))
        for d in problem.drains
    ]
    return replace(problem, drains=tuple(plain))


def test_another_way_to_count_never_makes_a_site_dearer_and_often_cheaper():
    # What holds every burst holds by any count; the tests above would prove little if the other
    # ways never decided anything.
    problems = [random_counts(seed, random_problem) for seed in SEEDS]
    pairs = [(least_cost(p) or math.inf, least_cost(plainly(p)) or math.inf) for p in problems]
    assert all(counted <= summed for counted, summed in pairs)
    assert sum(counted < summed for counted, summed in pairs) > 5


def with_main(*builds):
    """The site whose slow beds may be counted above its main, the main in these builds only."""
    main, *others = COUNTED.drains
    return replace(COUNTED, drains=(replace(main, builds=builds), *others))


@pytest.mark.parametrize("program", [solve_complete, solve_composed])
def test_a_pipe_too_narrow_for_the_sum_serves_where_a_count_credits_it(program):
    # Two slow beds burst 0.8 L/s each, 1.6 L/s together; the narrow main carries 1.0 L/s. It serves
    # two beds by the count; one that serves one is too narrow, and the count covers no fast bed.
    narrow = COUNTED.drains[0].builds[0]
    assert program(with_main(narrow), gap=0.0).drains["main"] == "narrow"
    less = replace(narrow, credited_beds=(1,))
    assert cost_or_none(with_main(less), program) is None


@pytest.mark.parametrize("program", [solve_complete, solve_composed])
def test_a_count_is_not_used_for_beds_that_it_does_not_cover(program):
    # Whatever the narrow main is credited with, a count without slow beds does not serve them.
    main = with_main(replace(COUNTED.drains[0].builds[0], credited_beds=(9,)))
    loads = dict.fromkeys(COUNTED.drains[0].bursts_m3_s, math.inf)
    first, *others = main.drains
    uncovered = replace(main, drains=(replace(first, otherwise_beds=(loads,)), *others))
    assert cost_or_none(main, program) is not None
    assert cost_or_none(uncovered, program) is None
