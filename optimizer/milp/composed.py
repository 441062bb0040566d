"""The composed program: exact fronts of every subtree, then the cheapest combination of them."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from optimizer.errors import Infeasible, SolverBroke, SolverFailed
from optimizer.milp.composed_drives import Settled
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_search import Search
from optimizer.milp.engine import (
    Outcome,
    Progress,
    ctrl_c_sets,
    demand_an_answer,
    why_stopped,
)
from optimizer.milp.explain import explain, time_to_explain_s, what_is_missing
from optimizer.milp.extract import Picked, cost_cents, heads_m, inverts_m
from optimizer.milp.solve import NOTHING_PROVEN, solve_complete
from optimizer.records.choice import BROKE_OFF, Choice, SolveRecord
from optimizer.records.problem import DesignProblem

FORMULATION = "composed"
COMPOSED = (
    "Nothing but pump, sump and bed counts ties the rows of this site together, so the least cost "
    "was found from each part's own choices."
)
NOT_COMPOSED = "Every decision was searched at once, because {}."
NOT_PROVEN = (
    "Every decision was searched at once, because the proof from each part's own choices would "
    "have taken too many steps."
)


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
    hand_over: bool = True,
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
        hand_over: whether the complete program may answer where this one cannot.

    Returns:
        The choice, its cost in whole cents, and a bound that is never above it.

    Raises:
        Infeasible: where no design exists, with the least changes that would allow one.
        SolverFailed: where the search was stopped before a first design, or would have had to hand
            over and may not.
        ValueError: where the problem's ids do not fit together.
    """
    stop = stop or threading.Event()
    task = _Task(problem, gap, time_limit_s, seed, progress, stop, words, hand_over)
    with ctrl_c_sets(stop):
        return _answered(task)


@dataclass(frozen=True)
class _Task:
    """A problem and how far and how long to search, as for :func:`solve_composed`."""

    problem: DesignProblem
    gap: float
    time_limit_s: float | None
    seed: int
    progress: Callable[[Progress], None] | None
    stop: threading.Event
    words: Mapping[str, str] | None
    hand_over: bool
    started: float = field(default_factory=time.perf_counter)

    @property
    def used_s(self) -> float:
        """Seconds so far."""
        return time.perf_counter() - self.started

    @property
    def left_s(self) -> float | None:
        """Seconds left of the time limit, if there is one."""
        return None if self.time_limit_s is None else max(0.0, self.time_limit_s - self.used_s)

    def complete(self, why: str) -> Choice:
        """The complete program's answer, and why it was asked.

        Raises:
            SolverFailed: where it may not be asked.
        """
        if not self.hand_over:
            raise SolverFailed(f"The composed program alone cannot answer. {why}")
        choice = solve_complete(
            self.problem,
            gap=self.gap,
            time_limit_s=self.left_s,
            seed=self.seed,
            progress=self.progress,
            stop=self.stop,
            words=self.words,
        )
        return replace(
            choice, record=replace(choice.record, why=f"{why} {choice.record.why}".strip())
        )

    def explained(self) -> Infeasible:
        """Why there is no design."""
        allowed_s = time_to_explain_s(self.time_limit_s, self.used_s)
        return explain(self.problem, self.words, stop=self.stop, time_limit_s=allowed_s)


def _answered(task: _Task) -> Choice:
    if what_is_missing(task.problem):
        raise task.explained()
    reading = Reading(task.problem)
    reason = reading.why_not()
    if reason:
        return task.complete(NOT_COMPOSED.format(reason))
    search = Search(reading, task.gap, task.left_s, task.progress, task.stop)
    search.run()
    if search.best is not None:
        choice = _choice(task, reading, search, search.best)
        return choice if search.ended != "stuck" else _completed(choice, task)
    if search.ended == "stuck":
        return task.complete(NOT_PROVEN)
    if search.ended == "stopped":
        demand_an_answer(Outcome("stopped", found=False, bound=search.bound, detail=_why(task)))
    raise task.explained()


def _why(task: _Task) -> str:
    return why_stopped(task.stop)


def _completed(choice: Choice, task: _Task) -> Choice:
    """A choice whose proof is left to the complete program."""
    try:
        return _better(choice, task.complete(NOT_PROVEN))
    except SolverFailed as failure:
        broke = isinstance(failure, SolverBroke)
        why = f" {BROKE_OFF} before the proof was done: {failure}" if broke else ""
        record = replace(choice.record, status="stopped", why=choice.record.why + why)
        return replace(choice, record=record)


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


def _choice(task: _Task, reading: Reading, search: Search, best: Settled) -> Choice:
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
    bound = max(NOTHING_PROVEN, min(float(cost), search.bound))
    record = SolveRecord(FORMULATION, status, cost, bound, task.used_s, COMPOSED)
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
