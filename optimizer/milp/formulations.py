"""Which program answers: the composed one, the complete one, or whichever fits a problem best."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import replace

from optimizer.milp.composed import solve_composed
from optimizer.milp.engine import Progress
from optimizer.milp.solve import solve_complete
from optimizer.records.choice import Choice
from optimizer.records.problem import DesignProblem

BEST = "best"
FORMULATIONS = (BEST, "composed", "complete")
ASKED = "Every decision was searched at once, as asked for."


def solve(
    problem: DesignProblem,
    formulation: str = BEST,
    *,
    gap: float = 1e-4,
    time_limit_s: float | None = None,
    seed: int = 0,
    progress: Callable[[Progress], None] | None = None,
    stop: threading.Event | None = None,
    words: Mapping[str, str] | None = None,
) -> Choice:
    """Find a least-cost design, and say in its record which program answered and why.

    Args:
        problem: the decision problem.
        formulation: ``best`` for the composed program, and the complete one where that cannot be
            used or cannot finish; ``composed`` or ``complete`` for one of them and no other.
        gap: relative gap between cost and bound at which to stop; 0 for a full proof.
        time_limit_s: time after which the best design so far is returned.
        seed: the solver's random seed.
        progress: called now and then with seconds, best cost and bound.
        stop: set it from any thread to keep the best so far; the first Ctrl-C sets it.
        words: the grower's words for requirements, for the explanation.

    Raises:
        Infeasible: where no design exists, with the least changes that would allow one.
        SolverFailed: where the search was stopped before a first design, or the composed program
            alone was asked for and cannot answer.
        ValueError: where the problem's ids do not fit together, or the formulation is unknown.
    """
    if formulation not in FORMULATIONS:
        raise ValueError(f"formulation is {formulation!r}; use one of {FORMULATIONS}")
    if formulation == "complete":
        choice = solve_complete(
            problem,
            gap=gap,
            time_limit_s=time_limit_s,
            seed=seed,
            progress=progress,
            stop=stop,
            words=words,
        )
        why = f"{ASKED} {choice.record.why}".strip()
        return replace(choice, record=replace(choice.record, why=why))
    return solve_composed(
        problem,
        gap=gap,
        time_limit_s=time_limit_s,
        seed=seed,
        progress=progress,
        stop=stop,
        words=words,
        hand_over=formulation == BEST,
    )
