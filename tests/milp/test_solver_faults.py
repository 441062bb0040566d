"""A solver that fails is told in a sentence, with the best found so far where there is any."""

import math
import threading
from collections import Counter
from dataclasses import replace
from types import SimpleNamespace

import pytest

from optimizer.errors import SolverBroke, SolverFailed
from optimizer.milp import composed_search, cutting_stock
from optimizer.milp.composed import solve_composed
from optimizer.milp.cutting_stock import cutting_plan
from optimizer.milp.explain import explain
from optimizer.milp.formulations import solve
from optimizer.milp.quick import least_cost
from optimizer.milp.solve import solve_complete
from optimizer.rings import size_rings
from tests.milp.broken_solver import SAID, breaks, broken_at, ends_as
from tests.milp.composed.wide_problem import wide_problem
from tests.milp.small_problem import PROBLEM, small_problem
from tests.milp.two_loop import INCHES, two_loop_network
from tests.oracles.enumerate_tree import HazenWilliamsByHand
from tests.tolerances import EXACT

# As in test_complete: two slow beds, thick riser, small pump, energy, tank, fixed 7.
LEAST = 2000 + 200 + 100 + 5000 + 400 + 2000 + 7
TOO_MANY_BEDS = small_problem(requirements=replace(PROBLEM.requirements, beds_least=3))


def test_a_solver_that_raises_is_a_failure_told_in_its_words_and_writes_no_traceback(capfd):
    with breaks(1), pytest.raises(SolverBroke, match=f"The solver failed, saying .*{SAID}"):
        solve_complete(PROBLEM)
    assert capfd.readouterr() == ("", "")


def test_a_solver_that_ends_in_an_error_is_a_failure_told_in_its_words():
    with ends_as("kSolveError"), pytest.raises(SolverBroke, match="Solve error"):
        solve_complete(wide_problem(4), time_limit_s=0.0)


@pytest.mark.parametrize(
    "failing", [lambda: breaks(1, after=True), lambda: ends_as("kSolveError")], ids=["raise", "end"]
)
def test_what_a_solver_had_found_before_it_failed_is_kept_and_nothing_is_said_to_be_proven(failing):
    with failing():
        record = solve(PROBLEM, "complete", gap=0.0).record
    assert (record.status, record.cost_cents) == ("stopped", LEAST)
    assert record.bound_cents == EXACT
    assert record.broke_off.startswith("The solver broke off, saying")


def test_a_search_stopped_before_there_is_any_bound_has_a_record_that_can_be_stored(monkeypatch):
    # found by the campaign of spoilt files on a slow machine: a bound of minus infinity
    monkeypatch.setattr(composed_search.Search, "_proven", lambda _: -math.inf)
    record = solve_composed(PROBLEM).record
    assert (record.cost_cents, record.bound_cents) == (LEAST, EXACT)


def test_a_solver_that_does_not_fail_breaks_nothing_off():
    record = solve(PROBLEM, "complete", gap=0.0).record
    assert (record.status, record.broke_off) == ("optimal", "")


def test_the_composed_program_keeps_its_best_where_the_complete_one_fails(monkeypatch):
    # As in test_answers: with no second look allowed the complete program is to finish the proof.
    monkeypatch.setattr(composed_search, "LOOKS_MOST", 0)
    monkeypatch.setattr(composed_search, "LOOKS_WITHOUT", 0)
    optimum = solve_composed(wide_problem(4), gap=0.0).record.cost_cents
    with breaks(1):
        record = solve_composed(wide_problem(4), gap=0.0).record
    assert (record.formulation, record.status) == ("composed", "stopped")
    assert record.bound_cents <= optimum <= record.cost_cents
    assert SAID in record.broke_off


def test_out_of_time_is_not_told_as_a_solver_that_failed(monkeypatch):
    monkeypatch.setattr(composed_search, "LOOKS_MOST", 0)
    late = SolverFailed("The time limit passed before a first design was found.")
    monkeypatch.setattr("optimizer.milp.composed.solve_complete", _raising(late))
    record = solve_composed(wide_problem(4), gap=0.0).record
    assert (record.status, record.broke_off) == ("stopped", "")


def _raising(error):
    def call(*_, **__):
        raise error

    return call


@pytest.mark.parametrize("at", [1, 2])
def test_an_explanation_does_not_say_that_nothing_helps_where_the_solver_failed(at):
    # Two places cannot hold three beds: asking for two is what helps, and is searched second.
    with breaks(at):
        said = explain(TOO_MANY_BEDS)
    assert SAID in said.clash and "not settled because the solver failed" in said.clash
    assert "whatever head" not in said.clash


def test_an_explanation_tells_what_it_found_before_the_solver_failed():
    with breaks(1000) as runs:
        whole = explain(TOO_MANY_BEDS)
    assert [each.requirement for each in whole.remedies] == ["the number of beds asked for"]
    with breaks(len(runs)):
        said = explain(TOO_MANY_BEDS)
    assert said.remedies == whole.remedies
    assert SAID in said.clash


def test_a_price_that_the_solver_failed_to_find_is_not_settled(monkeypatch):
    monkeypatch.setattr(composed_search, "LOOKS_MOST", 0)
    with breaks(1):
        found = least_cost(wide_problem(4), threading.Event(), gap=0.0)
    assert not found.settled


@pytest.mark.parametrize("limit_s", [None, 600.0])
def test_a_price_that_one_program_cannot_settle_the_other_settles_in_the_time_left(
    limit_s, monkeypatch
):
    optimum = solve_complete(wide_problem(4), gap=0.0).record.cost_cents
    monkeypatch.setattr(composed_search, "LOOKS_MOST", 0)
    found = least_cost(wide_problem(4), threading.Event(), gap=0.0, time_limit_s=limit_s)
    assert (found.cents, found.settled) == (optimum, True)


@pytest.mark.parametrize("solver", ["linprog", "milp"])
@pytest.mark.parametrize("at", [1, 2])
def test_a_cutting_plan_survives_its_solver_with_the_best_plan_and_bound_so_far(
    solver, at, monkeypatch
):
    # As in test_cutting_stock: 6 sticks are the least.
    demand, stock = {44: 5, 33: 7, 12: 17}, 132
    monkeypatch.setattr(cutting_stock, solver, broken_at(getattr(cutting_stock, solver), at))
    plan = cutting_plan(demand, stock, 0)
    cut = Counter(piece for stick in plan.sticks for piece in stick.pieces * stick.count)
    assert cut == demand
    assert plan.bound <= 6 <= plan.count


@pytest.mark.parametrize("solver", ["linprog", "milp"])
@pytest.mark.parametrize("from_call", [1, 2])
def test_a_cutting_plan_survives_a_solver_that_ends_without_an_answer(
    solver, from_call, monkeypatch
):
    # As above. Status 1 is scipy's for an iteration or time limit, 4 for numerical trouble.
    demand, stock = {44: 5, 33: 7, 12: 17}, 132
    real, calls = getattr(cutting_stock, solver), []

    def ends_empty(*args, **how):
        calls.append(solver)
        none = SimpleNamespace(status=1 if solver == "milp" else 4, message=SAID, x=None)
        return none if len(calls) >= from_call else real(*args, **how)

    monkeypatch.setattr(cutting_stock, solver, ends_empty)
    plan = cutting_plan(demand, stock, 0)
    cut = Counter(piece for stick in plan.sticks for piece in stick.pieces * stick.count)
    assert cut == demand
    assert plan.bound <= 6 <= plan.count


def test_sticks_that_a_solver_buys_beyond_need_are_not_cut(monkeypatch):
    # Stopped early a solver may answer with sticks to spare: here one more of every pattern.
    demand, stock = {44: 5, 33: 7, 12: 17}, 132
    real = cutting_stock.milp

    def one_more_of_each(*args, **how):
        found = real(*args, **how)
        return SimpleNamespace(status=found.status, x=None if found.x is None else found.x + 1.0)

    monkeypatch.setattr(cutting_stock, "milp", one_more_of_each)
    plan = cutting_plan(demand, stock, 0)
    cut = Counter(piece for stick in plan.sticks for piece in stick.pieces * stick.count)
    assert cut == demand
    assert all(stick.pieces for stick in plan.sticks)


@pytest.mark.parametrize(
    "failing", [lambda: breaks(1), lambda: ends_as("kSolveError")], ids=["raise", "end"]
)
def test_rings_keep_their_best_sizes_where_the_solver_fails(failing):
    network, law = two_loop_network(), HazenWilliamsByHand(130.0)
    with failing():
        found = size_rings(network, INCHES, law)
    # 419,000 is the best known (Alperovits & Shamir 1977, see test_rings)
    assert found.bound <= 419_000 <= found.cost
    assert found.gap > 0.0


def test_rings_without_any_sizes_yet_tell_that_the_solver_failed():
    # At 197.2 m the widest pipe everywhere leaves node 6 0.07 m short (it needs 197.271 m), and
    # only the solver could say that no other sizes do better.
    network, law = two_loop_network(), HazenWilliamsByHand(130.0)
    network.nodes[1]["head_available_m"] = 197.2
    with breaks(1), pytest.raises(SolverFailed, match=f"broke off, saying .*{SAID}"):
        size_rings(network, INCHES, law)
