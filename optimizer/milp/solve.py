"""Solve the complete program: a Choice with its proof, or the reason why there is none."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Mapping

from optimizer.errors import SolverBroke
from optimizer.milp.engine import (
    Outcome,
    Progress,
    Settings,
    Watch,
    ctrl_c_sets,
    demand_an_answer,
    search,
)
from optimizer.milp.explain import explain, time_to_explain_s, what_is_missing
from optimizer.milp.extract import cost_cents, heads_m, inverts_m, picked
from optimizer.milp.model import build_model
from optimizer.milp.modeling import Model
from optimizer.milp.tables import Tables
from optimizer.records.choice import BROKE_OFF, Choice, SolveRecord
from optimizer.records.mixes import ROUNDING_CENTS
from optimizer.records.problem import DesignProblem

FORMULATION = "complete"
LESS_THAN_A_CENT = 0.5  # costs are whole cents: a gap below one cent is no gap
NOTHING_PROVEN = 0.0  # no design costs less than nothing
BOUND_ROUNDING_CENTS = 1e-3  # numerical error allowed in a bound before it is rounded up to a cent


def solve_complete(
    problem: DesignProblem,
    *,
    gap: float = 1e-4,
    time_limit_s: float | None = None,
    seed: int = 0,
    progress: Callable[[Progress], None] | None = None,
    stop: threading.Event | None = None,
    words: Mapping[str, str] | None = None,
) -> Choice:
    """Find a least-cost design with the complete program.

    A run that is stopped (time limit, Ctrl-C or ``stop``) returns its best design so far with the
    status "stopped" and the gap it reached; such an answer is not reproducible. So does a run in
    which the solver breaks off; nothing is then proven. A run that ends by itself gives the same
    answer for the same problem and seed.

    Args:
        problem: the decision problem.
        gap: relative gap at which to stop; 0 for a full proof.
        time_limit_s: time limit in seconds, or None.
        seed: the solver's random seed.
        progress: called about ten times a second from the calling thread.
        stop: set it from any thread to keep the best so far.
        words: the grower's words for requirements, for :func:`explain`.

    Returns:
        The choice, its cost added up again in whole cents, and a bound that is never above it.

    Raises:
        Infeasible: where no design exists, with the least changes that would allow one.
        SolverFailed: where the solver stopped without a design, or its answer does not hold.
        ValueError: where the problem's ids do not fit together.
    """
    missing = what_is_missing(problem)
    if missing:
        raise explain(problem, words)
    started = time.perf_counter()
    stop = stop or threading.Event()
    with ctrl_c_sets(stop):
        model = build_model(problem)
        left_s = _left_s(time_limit_s, started)
        settings = Settings(gap, LESS_THAN_A_CENT, left_s, seed)
        outcome = search(model, settings, Watch(stop, progress=progress))
    if outcome.ended == "infeasible":
        allowed_s = time_to_explain_s(time_limit_s, time.perf_counter() - started)
        raise explain(problem, words, stop=stop, time_limit_s=allowed_s)
    if outcome.ended == "failed" and not outcome.found:
        raise SolverBroke(f"The solver failed, saying {outcome.detail!r}.")
    demand_an_answer(outcome)
    return _choice(model, problem, outcome, started)


def _left_s(time_limit_s: float | None, started: float) -> float | None:
    """What is left of a time limit."""
    if time_limit_s is None:
        return None
    return max(0.0, time_limit_s - (time.perf_counter() - started))


def _choice(model: Model, problem: DesignProblem, outcome: Outcome, started: float) -> Choice:
    tables = Tables(problem)
    pick = picked(model, tables)
    cost = cost_cents(pick, tables)
    failed = outcome.ended == "failed"
    record = SolveRecord(
        FORMULATION,
        "stopped" if failed else outcome.ended,
        cost,
        NOTHING_PROVEN if failed else _bound(outcome, cost, tables),
        time.perf_counter() - started,
        f"{BROKE_OFF}, saying {outcome.detail!r}; this is the best it had found." if failed else "",
    )
    heads = heads_m(pick, tables)
    return Choice(
        plans=pick.plans,
        builds=pick.builds,
        heads_m=heads,
        pump=pick.pump,
        sump=pick.sump,
        band=pick.band,
        record=record,
        drains=pick.drains,
        inverts_m=inverts_m(pick, tables),
        mixes=pick.mixes,
    )


def _bound(outcome: Outcome, cost: int, tables: Tables) -> float:
    """The solver's bound rounded up to the whole cent every cost must be, and never above cost.

    Where stretches may have two sizes, it is lowered by what rounding may take off each of them.
    """
    if not math.isfinite(outcome.bound):
        return NOTHING_PROVEN
    if tables.mix:
        off = ROUNDING_CENTS * len({stretch for stretch, _, _ in tables.mix})
        return min(float(cost), outcome.bound - off)
    return float(min(cost, math.ceil(outcome.bound - BOUND_ROUNDING_CENTS)))
