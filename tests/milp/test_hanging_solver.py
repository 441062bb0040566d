"""A solver that does not come back is left, and the best found so far is kept.

Version 1.16 of the solver was seen to presolve one program for ever (seed 577 of the soundness
campaign, 27 November 2026), deaf to its time limit and to Ctrl-C.
"""

import threading
from dataclasses import replace

import pytest

from optimizer.errors import SolverBroke, SolverFailed
from optimizer.milp import beside
from optimizer.milp.explain import explain
from optimizer.milp.solve import solve_complete
from optimizer.rings import size_rings
from tests.milp.broken_solver import hangs
from tests.milp.composed.wide_problem import wide_problem
from tests.milp.small_problem import PROBLEM, small_problem
from tests.milp.two_loop import INCHES, two_loop_network
from tests.oracles.enumerate_tree import HazenWilliamsByHand

NEVER = small_problem(requirements=replace(PROBLEM.requirements, beds_least=9))
"""Nine beds where there is room for two."""


@pytest.fixture(autouse=True)
def _no_patience(monkeypatch):
    monkeypatch.setattr(beside, "PATIENCE_S", 0.05)
    monkeypatch.setattr(beside, "TICK_S", 0.01)


def test_at_the_time_limit_it_is_left():
    with hangs(), pytest.raises(SolverFailed, match="time limit passed"):
        solve_complete(PROBLEM, time_limit_s=0.05)


def test_where_a_stop_is_asked_for_it_is_left():
    stop = threading.Event()
    with hangs(), pytest.raises(SolverFailed, match="stopped"):
        solve_complete(PROBLEM, stop=stop, progress=lambda _: stop.set())


def test_what_it_had_found_is_kept_and_is_no_better_than_the_least_cost():
    optimum = solve_complete(wide_problem(4), gap=0.0).record.cost_cents
    with hangs(after=True):
        record = solve_complete(wide_problem(4), gap=0.0, time_limit_s=5.0).record
    assert record.status == "stopped"
    assert record.bound_cents <= optimum <= record.cost_cents


def test_where_it_is_silent_for_too_long_it_has_failed(monkeypatch):
    monkeypatch.setattr(beside, "SILENT_S", 0.05)
    with hangs(), pytest.raises(SolverBroke, match="silent"):
        solve_complete(PROBLEM)


def test_an_explanation_says_what_it_did_not_settle():
    with hangs():
        said = explain(NEVER, time_limit_s=0.05)
    assert "not settled in the time allowed" in str(said)


def test_a_ring_keeps_the_best_that_needed_no_solver():
    with hangs():
        answer = size_rings(
            two_loop_network(), INCHES, HazenWilliamsByHand(130.0), time_limit_s=0.05
        )
    assert 0.0 <= answer.bound <= 419_000.0 <= answer.cost


def test_a_solver_that_comes_back_is_not_left():
    watch = beside.Beside(threading.Event())
    watch.run(type("Quick", (), {"run": lambda _: None})())
    assert not watch.left
