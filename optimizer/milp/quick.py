"""The least cost of a problem, or that there is none, without an explanation."""

from __future__ import annotations

import math
import threading
import time
from dataclasses import dataclass

from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_search import Search
from optimizer.milp.engine import Settings, Watch, search
from optimizer.milp.explain import what_is_missing
from optimizer.milp.extract import cost_cents, picked
from optimizer.milp.model import build_model
from optimizer.milp.solve import LESS_THAN_A_CENT
from optimizer.milp.tables import Tables
from optimizer.records.problem import DesignProblem


@dataclass(frozen=True)
class Least:
    """What a short search found.

    Attributes:
        cents: cost of the best design, or None where none was found.
        settled: whether the search ended by itself, so that nothing is cheaper than ``cents`` by
            more than the gap, or no design exists where there is none.
        pump: its pump option.
    """

    cents: int | None
    settled: bool
    pump: str = ""


def least_cost(
    problem: DesignProblem,
    stop: threading.Event,
    *,
    gap: float = 1e-4,
    time_limit_s: float | None = None,
    known_cents: int | None = None,
) -> Least:
    """Find the least cost of a problem, by the composed program where it suits.

    Args:
        problem: the decision problem.
        stop: set it from any thread to settle for what has been found.
        gap: relative gap at which to stop.
        time_limit_s: time limit in seconds, or None.
        known_cents: cost of a design that the problem is known to allow. Where the composed program
            finds none cheaper by more than the gap, the answer is this cost, without a pump.
    """
    if what_is_missing(problem):
        return Least(None, settled=True)
    reading = Reading(problem)
    if not reading.why_not():
        started = time.perf_counter()
        known = math.inf if known_cents is None else float(known_cents)
        found = Search(reading, gap, time_limit_s, None, stop, known)
        found.run()
        if found.ended != "stuck":
            best = found.best
            pump = "" if best is None else best.drive.pump.id
            cents = known_cents if best is None else best.cents
            return Least(cents, settled=found.ended != "stopped", pump=pump)
        if time_limit_s is not None:
            time_limit_s = max(0.1, time_limit_s - (time.perf_counter() - started))
    return _by_the_complete_program(problem, stop, gap, time_limit_s)


def _by_the_complete_program(
    problem: DesignProblem, stop: threading.Event, gap: float, time_limit_s: float | None
) -> Least:
    model = build_model(problem)
    outcome = search(model, Settings(gap, LESS_THAN_A_CENT, time_limit_s), Watch(stop))
    if not outcome.found:
        return Least(None, settled=outcome.ended == "infeasible")
    tables = Tables(problem)
    pick = picked(model, tables)
    return Least(cost_cents(pick, tables), settled=outcome.ended == "optimal", pump=pick.pump)
