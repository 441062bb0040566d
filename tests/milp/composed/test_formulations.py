"""Which program answers, what the record says of it, and how a search is ended early."""

import os
import signal
import threading
from dataclasses import replace

import pytest

from optimizer.errors import SolverFailed
from optimizer.milp import composed_clock, composed_search
from optimizer.milp.composed_clock import Clock, OutOfTime
from optimizer.milp.formulations import solve
from tests.milp.composed.wide_problem import wide_problem
from tests.milp.hard_problem import hard_problem
from tests.milp.small_problem import DRAINED, PROBLEM


def bed_over_shared_pipe():
    """Row B drains straight into pipe that row A shares, which the composed program cannot take."""
    over = {"b1": {"join": 1.1}, "b2": {"join": 1.1}}
    plans = tuple(
        replace(p, drain_levels_m=over.get(p.id, p.drain_levels_m)) for p in DRAINED.plans
    )
    return replace(DRAINED, plans=plans, drains=DRAINED.drains[:2])


def stopping(when):
    """A stop and a watcher that sets it at the first progress that ``when`` accepts."""
    stop = threading.Event()
    return {"stop": stop, "progress": lambda p: stop.set() if when(p) else None}


@pytest.mark.parametrize(("asked", "answered"), [("best", "composed"), ("complete", "complete")])
def test_the_record_names_the_program_that_answered_and_says_why(asked, answered):
    record = solve(PROBLEM, asked).record
    assert record.formulation == answered
    assert len(record.why.split()) > 5


def test_what_the_composed_program_cannot_take_the_complete_one_answers_and_the_record_says_so():
    # As DRAINED by hand, less the narrow pipe of 80 under bed B, which is not there.
    record = solve(bed_over_shared_pipe(), gap=0.0).record
    assert record.cost_cents == solve(DRAINED, gap=0.0).record.cost_cents - 80
    assert record.formulation == "complete"
    assert "a bed of B stands over shared return pipe" in record.why


def test_the_composed_program_alone_refuses_what_it_cannot_take():
    with pytest.raises(SolverFailed, match="a bed of B stands over shared return pipe"):
        solve(bed_over_shared_pipe(), "composed")


def test_the_composed_program_alone_keeps_its_best_where_it_cannot_finish(monkeypatch):
    # With no look allowed beyond the first, seed 4 has a design and no proof.
    monkeypatch.setattr(composed_search, "LOOKS_MOST", 0)
    monkeypatch.setattr(composed_search, "LOOKS_WITHOUT", 0)
    record = solve(wide_problem(4), "composed", gap=0.0).record
    optimum = solve(wide_problem(4), "complete", gap=0.0).record.cost_cents
    assert (record.formulation, record.status) == ("composed", "stopped")
    assert record.bound_cents <= optimum <= record.cost_cents


def test_an_unknown_formulation_is_refused():
    with pytest.raises(ValueError, match="use one of"):
        solve(PROBLEM, "quick")


def test_a_search_stopped_after_its_first_design_keeps_it_with_a_true_bound(monkeypatch):
    # The optimum, proven by the run that goes on to the end, lies between bound and cost.
    monkeypatch.setattr(composed_clock, "TELL_EVERY_S", 0.0)
    optimum = solve(hard_problem(), gap=0.0).record.cost_cents
    record = solve(hard_problem(), gap=0.0, **stopping(lambda p: p.best is not None)).record
    assert record.bound_cents <= optimum <= record.cost_cents
    assert record.status == "stopped"


def test_the_clock_lets_no_search_go_on_after_a_stop_or_a_limit():
    told, stop = [], threading.Event()
    clock = Clock(None, stop, told.append)
    clock.tick()
    stop.set()
    with pytest.raises(OutOfTime):
        clock.tick()
    with pytest.raises(OutOfTime):
        Clock(0.0, threading.Event(), told.append).tick()


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX systems")
def test_the_first_ctrl_c_ends_the_search_and_the_handler_before_it_is_put_back():
    earlier, calls = signal.getsignal(signal.SIGINT), []

    def first_time(progress):
        calls.append(progress)
        if len(calls) == 1:
            os.kill(os.getpid(), signal.SIGINT)

    with pytest.raises(SolverFailed, match="The search was stopped before a first design"):
        solve(hard_problem(), progress=first_time)
    assert signal.getsignal(signal.SIGINT) is earlier


def test_a_time_limit_without_a_first_design_is_told_in_words():
    with pytest.raises(SolverFailed, match="The time limit passed before a first design"):
        solve(hard_problem(), time_limit_s=1e-9)
