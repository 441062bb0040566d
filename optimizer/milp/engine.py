"""The solver behind one function: settings in, an outcome in plain words out.

It is run in a thread of its own while the calling thread waits, so that Ctrl-C and a timer are
served at once and the best answer so far survives both. Nothing is written to the console, also
not the banner that the solver prints when first loaded.
"""

from __future__ import annotations

import logging
import math
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np

from optimizer.errors import SolverFailed
from optimizer.milp.beside import SILENT_S, Beside, SolverHangs
from optimizer.milp.fronts import Floats
from optimizer.milp.modeling import Handle, Model

THREADS = 1  # one thread: the same answer on every machine


@dataclass(frozen=True)
class Settings:
    """How far and how long to search.

    Attributes:
        gap: stop at this relative gap between cost and bound.
        absolute_gap: or at this gap in units of the objective.
        time_limit_s: or after this time; None for no limit.
        seed: the solver's random seed.
    """

    gap: float = 1e-4
    absolute_gap: float = 1e-6
    time_limit_s: float | None = None
    seed: int = 0


@dataclass(frozen=True)
class Progress:
    """How a running search stands. ``best`` is None while looking for a first answer."""

    seconds: float
    best: float | None
    bound: float | None


@dataclass(frozen=True)
class Outcome:
    """How a search ended: optimal, stopped, infeasible or failed.

    ``found`` says whether the model's variables hold an answer, which a failed search may have
    found before; ``bound`` may be -inf, and is where it failed; ``detail`` says in words what ended
    it.
    """

    ended: str
    found: bool
    bound: float
    detail: str


@dataclass
class Watch(Beside):
    """What a running search tells the thread that waits for it.

    Attributes:
        progress: called about ten times a second from that thread.
        started: time on the performance counter at which it began.
        best: cost of the best answer found.
        bound: what is proven so far.
        columns: the solver's columns in the best answer.
    """

    progress: Callable[[Progress], None] | None = None
    started: float = field(default_factory=time.perf_counter)
    best: float | None = None
    bound: float | None = None
    columns: Floats | None = None

    def heard(self, event: Handle) -> None:
        """Take the solver's figures, and stop it where asked."""
        self.best = _finite(event.data_out.mip_primal_bound)
        self.bound = _finite(event.data_out.mip_dual_bound)
        super().heard(event)

    def found(self, event: Handle) -> None:
        """Take a better answer than any before."""
        if not self.left:
            self.columns = np.array(event.data_out.mip_solution)

    def tell(self) -> None:
        """Pass the figures on."""
        if self.progress is not None:
            self.progress(Progress(time.perf_counter() - self.started, self.best, self.bound))


def search(model: Model, settings: Settings, watch: Watch) -> Outcome:
    """Minimise a model and load the best answer found into its variables.

    Args:
        model: the model.
        settings: how far and how long to search.
        watch: set ``watch.stop`` from any thread to keep the best so far.
    """
    solver = _watched(watch)
    if settings.time_limit_s is not None:
        watch.ends_at = time.perf_counter() + settings.time_limit_s
    try:
        with _no_complaints(), ctrl_c_sets(watch.stop):
            result = solver.solve(
                model,
                load_solutions=False,
                raise_exception_on_nonoptimal_result=False,
                rel_gap=settings.gap,
                abs_gap=settings.absolute_gap,
                time_limit=settings.time_limit_s,
                threads=THREADS,
                solver_options={"random_seed": settings.seed, "output_flag": False},
            )
    except SolverHangs:
        return _left(solver, watch)
    found = result.incumbent_objective is not None
    if found:
        result.solution_loader.load_vars()
    if watch.broke or _ended(solver) == "failed":
        return Outcome("failed", found, -math.inf, watch.broke or _detail(solver, watch))
    bound = -math.inf if result.objective_bound is None else float(result.objective_bound)
    return Outcome(_ended(solver), found, bound, _detail(solver, watch))


def _left(solver: Handle, watch: Watch) -> Outcome:
    """What is known of a search whose solver was left where it was."""
    if watch.columns is not None:
        solver.set_columns(watch.columns)
    bound = -math.inf if watch.bound is None else watch.bound
    if not watch.is_over:
        detail = f"it was silent for {SILENT_S:.0f} s"
        return Outcome("failed", watch.columns is not None, -math.inf, detail)
    return Outcome("stopped", watch.columns is not None, bound, why_stopped(watch.stop))


def _watched(watch: Watch) -> Handle:
    # It loads Pyomo, a fifth of all loading, and where the composed program answers none is needed.
    from optimizer.milp.quiet_highs import QuietHighs  # noqa: PLC0415  # loads Pyomo

    solver = QuietHighs()
    solver.watch = watch
    return solver


ENDINGS = {
    "kOptimal": "optimal",
    "kInfeasible": "infeasible",
    "kTimeLimit": "stopped",
    "kInterrupt": "stopped",
    "kIterationLimit": "stopped",
    "kSolutionLimit": "stopped",
}


def _ended(solver: Handle) -> str:
    """Map the solver's own status to one of ours; any status not listed is a failure."""
    return ENDINGS.get(solver._solver_model.getModelStatus().name, "failed")


def why_stopped(stop: threading.Event) -> str:
    """Say what ended a search before its end."""
    return "The search was stopped" if stop.is_set() else "The time limit passed"


def _detail(solver: Handle, watch: Watch) -> str:
    """Say what ended a search; a status without words of ours in the solver's own words."""
    highs = solver._solver_model
    status = highs.getModelStatus()
    if status.name in ("kTimeLimit", "kInterrupt"):
        return why_stopped(watch.stop)
    return str(highs.modelStatusToString(status))


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


@contextmanager
def _no_complaints() -> Iterator[None]:
    """Keep the modelling library from logging about statuses we map ourselves."""
    log = logging.getLogger("pyomo.contrib.solver.solvers.highs")
    level = log.level
    log.setLevel(logging.ERROR)
    try:
        yield
    finally:
        log.setLevel(level)


@dataclass(frozen=True)
class _Asks:
    """A Ctrl-C handler that sets an event and then gives way to the handler before it."""

    stop: threading.Event
    earlier: Handle

    def __call__(self, _number: int, _frame: object) -> None:
        self.stop.set()
        signal.signal(signal.SIGINT, self.earlier)


@contextmanager
def ctrl_c_sets(stop: threading.Event) -> Iterator[None]:
    """Let the first Ctrl-C ask for the best so far; a second one acts as before.

    Inside another such block for the same event nothing changes, nor where Ctrl-C is ignored, as in
    a worker process, whose parent hears it.
    """
    earlier = signal.getsignal(signal.SIGINT)
    settled = earlier is signal.SIG_IGN or (isinstance(earlier, _Asks) and earlier.stop is stop)
    if settled or threading.current_thread() is not threading.main_thread():
        yield
        return
    signal.signal(signal.SIGINT, _Asks(stop, earlier))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, earlier)


def demand_an_answer(outcome: Outcome) -> None:
    """Refuse an outcome without an answer.

    Raises:
        SolverFailed: where there is none.
    """
    if outcome.found:
        return
    if outcome.ended == "stopped":
        raise SolverFailed(
            f"{outcome.detail} before a first design was found; allow more time, or fewer pumps, "
            "kits and pipe sizes to choose from."
        )
    raise SolverFailed(f"The solver ended without a design, saying {outcome.detail!r}.")
