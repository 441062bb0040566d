"""Stopping, time limits, Ctrl-C, refused answers, and a quiet console."""

import os
import signal
import subprocess
import sys
import threading
from dataclasses import replace

import pytest

from optimizer.errors import SolverFailed
from optimizer.milp.engine import Settings, Watch, demand_an_answer, search
from optimizer.milp.extract import picked
from optimizer.milp.model import build_model
from optimizer.milp.modeling import add_amount, linear, minimise, new_model
from optimizer.milp.solve import solve_complete
from optimizer.milp.tables import Tables
from tests.milp.hard_problem import hard_problem
from tests.milp.small_problem import PROBLEM

ENOUGH_S = 30.0


def stopped(**how):
    return solve_complete(hard_problem(rows=5, beds=5), gap=0.0, **how)


def assert_best_so_far(choice):
    assert choice.record.status == "stopped"
    assert choice.record.bound_cents < choice.record.cost_cents
    assert 0 < choice.record.gap < 1
    assert choice.record.seconds < ENOUGH_S


def stopped_at_the_first_design():
    stop = threading.Event()
    return stopped(stop=stop, progress=lambda p: p.best and stop.set())


def test_a_set_event_keeps_the_best_so_far():
    assert_best_so_far(stopped_at_the_first_design())


def found_within(limit_s):
    try:
        return stopped(time_limit_s=limit_s)
    except SolverFailed:
        return None


def test_a_time_limit_keeps_the_best_so_far_with_its_gap():
    # The full proof takes about three times as long as the first design. Limits rise by a tenth
    # until one is long enough for a design on this machine: it then ends before the proof.
    limits_s = (stopped_at_the_first_design().record.seconds * 1.1**n for n in range(40))
    assert_best_so_far(next(choice for limit_s in limits_s if (choice := found_within(limit_s))))


def test_ctrl_c_keeps_the_best_so_far_and_gives_the_handler_back():
    before = signal.getsignal(signal.SIGINT)
    sent = []

    def press(progress):
        if progress.best is not None and not sent:
            sent.append(True)
            os.kill(os.getpid(), signal.SIGINT)

    assert_best_so_far(stopped(progress=press))
    assert sent
    assert signal.getsignal(signal.SIGINT) is before


def test_a_run_stopped_before_a_first_design_fails_loudly():
    stop = threading.Event()
    stop.set()
    with pytest.raises(SolverFailed, match="before a first design"):
        stopped(stop=stop, time_limit_s=0.0)


def test_a_time_limit_that_passes_before_a_first_design_is_told_in_words():
    with pytest.raises(SolverFailed) as told:
        stopped(time_limit_s=0.0)
    assert str(told.value) == (
        "The time limit passed before a first design was found; allow more time, or fewer pumps, "
        "kits and pipe sizes to choose from."
    )


def test_an_end_without_words_of_ours_is_told_in_the_solver_s_words():
    model = new_model("endless")
    add_amount(model, "much", ["x"])
    minimise(model, linear([(-1.0, model.much["x"])]))
    outcome = search(model, Settings(), Watch(threading.Event()))
    assert (outcome.ended, outcome.detail) == ("failed", "Unbounded")
    with pytest.raises(SolverFailed, match="without a design, saying 'Unbounded'"):
        demand_an_answer(replace(outcome, found=False))


def test_progress_tells_time_and_a_bound_that_stays_below_the_best():
    told, stop = [], threading.Event()

    def tell(progress):
        told.append(progress)
        if progress.best is not None:
            stop.set()

    stopped(progress=tell, stop=stop)
    seconds = [p.seconds for p in told]
    assert len(told) > 3
    assert seconds == sorted(seconds)
    assert all(p.bound <= p.best for p in told if p.best is not None and p.bound is not None)


def test_an_error_of_who_listens_ends_the_search_and_comes_out():
    class Unheard(Exception):
        pass

    def fail(progress):
        raise Unheard

    before = threading.active_count()
    with pytest.raises(Unheard):
        stopped(progress=fail)
    assert threading.active_count() == before


def test_a_half_chosen_plan_is_refused():
    model = build_model(PROBLEM)
    for plan in PROBLEM.plans:
        model.plan[plan.id].set_value(0.5)
    with pytest.raises(SolverFailed, match="yes-or-no"):
        picked(model, Tables(PROBLEM))


def test_minus_zero_counts_as_no():
    model = build_model(PROBLEM)
    for plan in PROBLEM.plans:
        model.plan[plan.id].set_value(-0.0)
    with pytest.raises(SolverFailed, match="chose 0 of one plan"):
        picked(model, Tables(PROBLEM))


def test_nothing_is_written_to_the_console():
    code = (
        "from optimizer.milp.solve import solve_complete;"
        "from tests.milp.small_problem import PROBLEM;"
        "solve_complete(PROBLEM)"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (ran.stdout, ran.stderr) == ("", "")


def test_the_composed_program_answers_without_the_modelling_library():
    # The library is about a fifth of what a command would load.
    code = (
        "import sys;"
        "from optimizer.milp.formulations import solve;"
        "from tests.milp.small_problem import PROBLEM;"
        "print(solve(PROBLEM).record.formulation, 'pyomo' in sys.modules)"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == ["composed", "False"]


def test_a_model_of_thousands_of_variables_is_built_whole():
    problem = replace(hard_problem(rows=16, beds=8), fixed_cents=0)
    assert build_model(problem).nvariables() > 5000
