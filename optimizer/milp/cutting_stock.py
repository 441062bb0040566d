"""The least number of standard lengths that all pieces can be cut from, with its proof.

It sees lengths in whole steps (a millimetre, a sixteenth of an inch), one stock length and the saw
cut; nothing of pipes. The way is that of P. C. Gilmore and R. E. Gomory, A linear programming
approach to the cutting-stock problem, Operations Research 9 (1961) 849-859 (recalled): patterns
are added to a linear program as long as one is worth more than a stick. Worths rounded to whole
numbers then prove a bound in whole arithmetic, which no rounding of the solver can spoil.
"""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from optimizer.errors import SolverFailed
from optimizer.milp.cutting_patterns import (
    Pattern,
    best_pattern,
    greedy_patterns,
    patterns_worth,
)

SCALE = 1_000_000
PATTERNS_MOST = 50_000
MILP_SECONDS = 10.0


@dataclass(frozen=True)
class CutStick:
    """One way to cut a stick, in order, and how many sticks are cut that way."""

    pieces: tuple[int, ...]
    count: int


@dataclass(frozen=True)
class CuttingPlan:
    """How to cut all pieces, in whole steps of length.

    Attributes:
        stock: length of a stick.
        kerf: what one saw cut takes.
        sticks: how to cut them.
        bound: no plan uses fewer sticks than this (proven).
        worths: length to worth: the proof of the bound, where it is one in whole numbers. No stick
            can be cut into pieces worth more than ``stick_worth`` together, so all pieces need at
            least (their worth) / ``stick_worth`` sticks.
        stick_worth: as above.
    """

    stock: int
    kerf: int
    sticks: tuple[CutStick, ...]
    bound: int
    worths: Mapping[int, int]
    stick_worth: int

    @property
    def count(self) -> int:
        """Sticks to buy."""
        return sum(stick.count for stick in self.sticks)

    @property
    def proven(self) -> bool:
        """Whether no plan uses fewer sticks."""
        return self.count == self.bound


class _Cutting:
    """The pieces as rows: what each length takes, how many are wanted, and patterns so far."""

    def __init__(self, demand: Mapping[int, int], stock: int, kerf: int) -> None:
        self.lengths = sorted((p for p, n in demand.items() if n), reverse=True)
        self.demands = [demand[length] for length in self.lengths]
        self.rooms = [length + kerf for length in self.lengths]
        self.room = stock + kerf
        self.best = greedy_patterns(self.rooms, self.demands, self.room)
        self.columns = list(dict.fromkeys(self.best))
        self.bound, self.worths, self.stick_worth = 0, self.rooms, self.room
        self.take_worths(self.rooms, self.room)

    def take_worths(self, worths: Sequence[int], stick_worth: int) -> None:
        """Keep a proof if it proves more: whole worths, and the most that a stick is worth."""
        total = sum(n * worth for n, worth in zip(self.demands, worths, strict=True))
        bound = -(-total // stick_worth)
        if bound > self.bound:
            self.bound, self.worths, self.stick_worth = bound, list(worths), stick_worth

    def take_sticks(self, sticks: list[Pattern] | None) -> None:
        """Keep a plan if it uses fewer sticks."""
        if sticks is not None and len(sticks) < len(self.best):
            self.best = sticks

    @property
    def open(self) -> bool:
        """Whether the plan is not yet proven least."""
        return len(self.best) > self.bound


def cutting_plan(demand: Mapping[int, int], stock: int, kerf: int) -> CuttingPlan:
    """Return a plan with the least number of sticks.

    Args:
        demand: length of a piece to how many are wanted.
        stock: length of a stick.
        kerf: what one saw cut takes, 0 or more. Two pieces that fill a stick to within less than a
            cut are fine: the saw takes the rest.

    Returns:
        The plan. ``proven`` is False only if there were too many patterns to try or a solver
        failed; ``bound`` still holds then.

    Raises:
        ValueError: for a piece longer than the stock or a length or number below 0.
    """
    if any(not 0 < length <= stock or n < 0 for length, n in demand.items()) or kerf < 0:
        raise ValueError("pieces must be above 0 and no longer than the stock, the cut 0 or more")
    cutting = _Cutting(demand, stock, kerf)
    with contextlib.suppress(SolverFailed):  # the best plan so far, with the bound so far
        _improve(cutting)
    return _plan(cutting, stock, kerf)


def _improve(cutting: _Cutting) -> None:
    """Find better plans and bounds until the plan is proven least, or there is no more to try.

    Raises:
        SolverFailed: if a solver does not answer.
    """
    if cutting.open:
        cutting.take_sticks(_rounded_down(cutting, _price_out(cutting)))
    if cutting.open:
        cutting.take_sticks(_whole_plan(cutting, cutting.columns))
    while cutting.open and _settle(cutting):
        pass


def _solved(solver: Callable[..., Any], *program: object, **how: object) -> Any:  # noqa: ANN401  # scipy's
    """Return a solver's answer; what it raises is a failure of the solver.

    Raises:
        SolverFailed: if it raises.
    """
    try:
        return solver(*program, **how)
    except RuntimeError as fault:
        raise SolverFailed(f"The cutting plan's solver broke off, saying {str(fault)!r}.") from None


def _price_out(cutting: _Cutting) -> list[float]:
    """Add patterns while one is worth more than a stick; return how often each is used, in parts.

    The best proof met on the way is kept.
    """
    known = set(cutting.columns)
    while True:
        worths, uses = _worths(cutting)
        worth, pattern = best_pattern(cutting.rooms, cutting.demands, worths, cutting.room)
        cutting.take_worths(worths, worth)
        if pattern in known or worth <= SCALE:
            return uses
        known.add(pattern)
        cutting.columns.append(pattern)


def _worths(cutting: _Cutting) -> tuple[list[int], list[float]]:
    """Solve the linear program: what a piece of each length is worth, and each pattern's use."""
    rows = np.array(cutting.columns, dtype=float).T
    found = _solved(
        linprog,
        np.ones(len(cutting.columns)),
        A_ub=-rows,
        b_ub=-np.array(cutting.demands, dtype=float),
        method="highs",
    )
    if found.status != 0 or found.x is None:
        raise SolverFailed(f"The cutting plan's program ended without an answer: {found.message}")
    worths = [max(0, round(-float(price) * SCALE)) for price in found.ineqlin.marginals]
    return worths, [float(use) for use in found.x]


def _rounded_down(cutting: _Cutting, uses: Sequence[float]) -> list[Pattern] | None:
    """Return a plan that uses each pattern a whole number of times, the rest longest first."""
    whole = [p for p, use in zip(cutting.columns, uses, strict=True) for _ in range(int(use))]
    cut = np.array(whole, dtype=int).reshape(-1, len(cutting.demands)).sum(axis=0)
    left = [max(0, n - int(have)) for n, have in zip(cutting.demands, cut, strict=True)]
    rest = greedy_patterns(cutting.rooms, left, cutting.room)
    return _without_extras(cutting, whole + rest)


def _settle(cutting: _Cutting) -> bool:
    """Find a plan at the bound or raise the bound by one; False where neither can be done.

    With ``bound`` sticks every stick must be worth at least all pieces less what the other sticks
    can be worth at most; only those patterns are tried, and all of them are.
    """
    total = sum(n * w for n, w in zip(cutting.demands, cutting.worths, strict=True))
    least = max(0, total - (cutting.bound - 1) * cutting.stick_worth)
    columns = patterns_worth(
        cutting.rooms, cutting.demands, cutting.worths, cutting.room, least, PATTERNS_MOST
    )
    if columns is None:
        return False
    sticks = _whole_plan(cutting, columns, cutting.bound) if columns else []
    if sticks is None:
        return False
    if sticks:
        cutting.take_sticks(sticks)
    else:
        cutting.bound += 1
    return True


def _whole_plan(
    cutting: _Cutting, columns: Sequence[Pattern], most: int | None = None
) -> list[Pattern] | None:
    """Return the fewest sticks from some patterns; empty for none, None where not settled.

    Args:
        cutting: the pieces.
        columns: the patterns to use.
        most: most sticks.
    """
    rows = np.array(columns, dtype=float).T
    limits = [LinearConstraint(rows, lb=np.array(cutting.demands, dtype=float))]
    if most is not None:
        limits.append(LinearConstraint(np.ones((1, len(columns))), ub=np.array([float(most)])))
    found = _solved(
        milp,
        np.ones(len(columns)),
        constraints=limits,
        integrality=np.ones(len(columns), dtype=int),
        bounds=Bounds(0.0, np.inf),
        options={"time_limit": MILP_SECONDS, "mip_rel_gap": 0.0},
    )
    if found.status == 2:  # infeasible
        return []
    if found.x is None or (most is not None and found.status != 0):
        return None
    sticks = [p for p, n in zip(columns, found.x, strict=True) for _ in range(round(float(n)))]
    return _without_extras(cutting, sticks)


def _without_extras(cutting: _Cutting, sticks: list[Pattern]) -> list[Pattern] | None:
    """Return the sticks with pieces beyond the demand left uncut; None if any piece is missing."""
    left, kept = list(cutting.demands), []
    for stick in sticks:
        cut = tuple(min(n, have) for n, have in zip(stick, left, strict=True))
        left = [have - n for n, have in zip(cut, left, strict=True)]
        if any(cut):
            kept.append(cut)
    return None if any(left) else kept


def _plan(cutting: _Cutting, stock: int, kerf: int) -> CuttingPlan:
    counted = Counter(cutting.best)
    sticks = [
        CutStick(
            tuple(
                length for length, n in zip(cutting.lengths, pattern, strict=True) for _ in range(n)
            ),
            count,
        )
        for pattern, count in counted.items()
    ]
    ordered = sorted(sticks, key=lambda s: (-s.count, [-length for length in s.pieces]))
    worths = dict(zip(cutting.lengths, cutting.worths, strict=True))
    return CuttingPlan(stock, kerf, tuple(ordered), cutting.bound, worths, cutting.stick_worth)
