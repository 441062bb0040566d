"""The composed program: exact fronts of every subtree, then the cheapest combination of them."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial

from optimizer.errors import SolverFailed
from optimizer.milp.composed_drives import Settled
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_search import Search
from optimizer.milp.engine import Progress
from optimizer.milp.explain import explain, what_is_missing
from optimizer.milp.extract import Picked, cost_cents, heads_m, inverts_m
from optimizer.milp.solve import solve_complete
from optimizer.records.problem import Choice, DesignProblem, SolveRecord

FORMULATION = "composed"


def choose_formulation(problem: DesignProblem) -> str:
    """Which program suits a problem: ``composed`` or ``complete``."""
    return "complete" if why_complete(problem) else FORMULATION


def why_complete(problem: DesignProblem) -> str:
    """Why a problem needs the complete program; empty where it does not."""
    return Reading(problem).why_not()


def solve_composed(
    problem: DesignProblem,
    *,
    gap: float = 1e-4,
    time_limit_s: float | None = None,
    seed: int = 0,
    progress: Callable[[Progress], None] | None = None,
    stop: threading.Event | None = None,
    words: Mapping[str, str] | None = None,
) -> Choice:
    """Find a least-cost design with the composed program.

    Where the problem is not of its kind, or it can take the proof no further, the complete program
    answers and the record says so; of the two designs then known the cheaper is returned, with the
    better of both bounds.

    Args:
        problem: the decision problem.
        gap: relative gap at which to stop; 0 for a full proof.
        time_limit_s: time limit in seconds, or None.
        seed: the solver's random seed, where the complete program is used.
        progress: called now and then from the calling thread.
        stop: set it from any thread to keep the best so far.
        words: the grower's words for requirements, for the explanation.

    Returns:
        The choice, its cost in whole cents, and a bound that is never above it.

    Raises:
        Infeasible: where no design exists, with the least changes that would allow one.
        SolverFailed: where the search was stopped before a first design.
        ValueError: where the problem's ids do not fit together.
    """
    if what_is_missing(problem):
        raise explain(problem, words)
    started = time.perf_counter()
    reading = Reading(problem)
    whole = partial(solve_complete, problem, progress=progress, stop=stop, words=words)

    def complete() -> Choice:
        used = time.perf_counter() - started
        left = None if time_limit_s is None else max(1.0, time_limit_s - used)
        return whole(gap=gap, time_limit_s=left, seed=seed)

    if reading.why_not():
        return complete()
    search = Search(reading, gap, time_limit_s, progress, stop or threading.Event())
    search.run()
    if search.best is None and search.ended == "stopped":
        raise SolverFailed("The search was stopped before a first design.")
    if search.best is None and search.ended == "stuck":
        return complete()
    if search.best is None:
        raise explain(problem, words, stop=stop, time_limit_s=time_limit_s)
    choice = _choice(reading, search, search.best)
    return choice if search.ended != "stuck" else _completed(choice, complete)


def _completed(choice: Choice, complete: Callable[[], Choice]) -> Choice:
    """A choice whose proof is left to the complete program."""
    try:
        return _better(choice, complete())
    except SolverFailed:
        return replace(choice, record=replace(choice.record, status="stopped"))


def _better(composed: Choice, complete: Choice) -> Choice:
    """The cheaper of two choices, with the better of both bounds."""
    best = min((complete, composed), key=lambda c: c.record.cost_cents)
    bound = max(composed.record.bound_cents, complete.record.bound_cents)
    record = replace(
        complete.record,
        cost_cents=best.record.cost_cents,
        bound_cents=min(bound, float(best.record.cost_cents)),
        seconds=composed.record.seconds + complete.record.seconds,
    )
    return replace(best, record=record)


def _choice(reading: Reading, search: Search, best: Settled) -> Choice:
    """A design as a Choice, its cost added up again from the parts."""
    tables, problem = reading.tables, reading.problem
    walk = best.walk
    best.laid.add_to(walk, best.sump.top_m)
    branch = {p.id: p.branch for p in problem.plans}
    plans = {branch[p]: p for p in walk.plans}
    pick = Picked(
        plans={b: plans[b] for b in tables.plans_of_branch},
        builds={s: walk.builds[s] for s in tables.stretch if s in walk.builds},
        pump=best.drive.pump.id,
        sump=best.sump.id,
        band=best.drive.duty.band,
        drains={d.id: walk.drains[d.id] for d in problem.drains if d.id in walk.drains},
    )
    cost = cost_cents(pick, tables)
    if cost != best.cents:
        raise SolverFailed(f"The fronts cost {best.cents} and their parts {cost} cents.")
    status = "stopped" if search.ended == "stopped" else "optimal"
    seconds = time.perf_counter() - search.started
    record = SolveRecord(FORMULATION, status, cost, min(float(cost), search.bound), seconds)
    return Choice(
        plans=pick.plans,
        builds=pick.builds,
        heads_m=heads_m(pick, tables),
        pump=pick.pump,
        sump=pick.sump,
        band=pick.band,
        record=record,
        drains=pick.drains,
        inverts_m=inverts_m(pick, tables),
    )
