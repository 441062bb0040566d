"""A search that is told what some design costs looks only for cheaper ones."""

import threading

import pytest

from optimizer.milp.composed_read import Reading
from optimizer.milp.quick import least_cost
from tests.milp.random_problem import random_problem
from tests.oracles.enumerate_problem import least_cost as enumerated


@pytest.mark.parametrize("seed", range(40))
def test_told_of_a_dearer_design_the_least_cost_is_found_and_told_of_it_itself_it_stays(seed):
    problem = random_problem(seed)
    best = enumerated(problem)
    if best is None or Reading(problem).why_not():
        pytest.skip("no design, or none that the composed program looks for")
    for known in (best, best + 1, best + 10_000):
        found = least_cost(problem, threading.Event(), gap=0.0, known_cents=known)
        assert found.settled
        # Half a cent is the least step a search looks for, so one cent cheaper is still found.
        assert found.cents == best


def test_most_of_these_problems_have_a_design_that_the_composed_program_answers():
    problems = [random_problem(seed) for seed in range(40)]
    answered = [p for p in problems if not Reading(p).why_not() and enumerated(p) is not None]
    assert len(answered) > len(problems) / 2
