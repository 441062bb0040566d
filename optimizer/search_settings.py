"""How far and how long a design is searched for: one record for all that search."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from optimizer.milp.engine import Progress
from optimizer.milp.formulations import BEST, solve
from optimizer.records.choice import Choice
from optimizer.records.problem import DesignProblem

Watcher = Callable[[Progress], None]


@dataclass(frozen=True)
class SearchSettings:
    """How far and how long to search.

    Attributes:
        gap: relative gap between cost and bound at which to stop.
        time_limit_s: time after which each search returns its best so far; None for no limit.
        seed: the solver's random seed.
        formulation: which program answers, see :func:`optimizer.milp.formulations.solve`.
        progress: called now and then with seconds, best cost and bound.
        stop: set it from any thread to stop early with the best so far; the first Ctrl-C sets it.
    """

    gap: float = 1e-4
    time_limit_s: float | None = None
    seed: int = 0
    formulation: str = BEST
    progress: Watcher | None = None
    stop: threading.Event = field(default_factory=threading.Event)

    def choice(self, problem: DesignProblem) -> Choice:
        """Return the least-cost choice of a problem; errors as those of ``solve``."""
        return solve(
            problem,
            self.formulation,
            gap=self.gap,
            time_limit_s=self.time_limit_s,
            seed=self.seed,
            progress=self.progress,
            stop=self.stop,
        )
