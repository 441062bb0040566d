"""A search that is told what some design costs looks only for cheaper ones."""

import threading

from optimizer.milp.composed_read import Reading
from optimizer.milp.quick import least_cost
from tests.milp.random_problem import random_problem
from tests.oracles.enumerate_problem import least_cost as enumerated


def test_told_of_a_dearer_design_the_least_cost_is_found_and_told_of_it_itself_it_stays():
    problems = [random_problem(seed) for seed in range(40)]
    asked = [p for p in problems if not Reading(p).why_not() and enumerated(p) is not None]
    assert len(asked) > len(problems) / 2
    for problem in asked:
        best = enumerated(problem)
        for known in (best, best + 1, best + 10_000):
            found = least_cost(problem, threading.Event(), gap=0.0, known_cents=known)
            # Half a cent is the least step a search looks for, so one cent cheaper is still found.
            assert found.settled
            assert found.cents == best
