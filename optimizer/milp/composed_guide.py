"""A quick bound on everything outside a part of the site: the guide that keeps fronts short.

The same steps as for the fronts are taken on a coarse grid of heads, every head rounded down, which
makes all costs bounds. A second pass from the pump back to the rows gives, for each step, state and
head, what the rest of the site costs at least. A point whose own cost and that rest reach the cost
of a known design is dropped.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from optimizer.milp.composed_flat import Bools, Flat, Raw
from optimizer.milp.composed_labels import Ladder
from optimizer.milp.composed_steps import Step
from optimizer.milp.fronts import Floats, Whole

LEVELS = 512  # grid of heads; finer prunes more and costs more
SPAN_M = 2.5  # heads above the least by more than this share one cell
ROUNDING = 1e-9  # relative rounding of a head that may put it in the next cell


@dataclass
class Coarse:
    """Costs on the grid after one step.

    Attributes:
        states: the states, rising.
        inside: least cost by state and cell; cells count the head needed at most.
        outside: least cost of all else by state and cell; cells count the head needed at least.
        rungs: for a step with a stretch, (rows, cells lost by way, cost by way) of equal flow.
        more: for a step with return pipe, its least cost by state.
    """

    states: Whole
    inside: Floats
    outside: Floats
    rungs: list[tuple[Whole, list[int], Floats]]
    more: Floats


class Guide:
    """Bounds of every step.

    Args:
        steps: the steps.
        low_m: the least head that any bed needs; heads below it count as this.
        top_m: the greatest head any pump duty gives.
        levels: how fine the grid is.
    """

    def __init__(self, steps: list[Step], low_m: float, top_m: float, levels: int = LEVELS) -> None:
        self.steps = steps
        self.levels = levels
        self.low_m = low_m
        self.cell_m = max(min(top_m - low_m, SPAN_M), 1e-6) / (levels - 1)
        self.at: list[Coarse] = []

    def cells(self, heads_m: Floats) -> Whole:
        """The cell of each head, rounded down; the last one holds all higher heads."""
        return self._lost(heads_m - self.low_m)

    def _lost(self, losses_m: Floats) -> Whole:
        """How many cells each loss surely takes."""
        found = np.floor(losses_m / self.cell_m * (1.0 - ROUNDING) - ROUNDING)
        return np.clip(found, 0, self.levels - 1).astype(np.int64)

    def branch(self, flat: Flat) -> None:
        """Note a branch from its exact table."""
        inside = np.full((len(flat.states), self.levels), np.inf)
        np.minimum.at(inside, (flat.places, self.cells(flat.need_m)), flat.cents)
        self._note(flat.states, np.minimum.accumulate(inside, axis=1))

    def _note(
        self,
        states: Whole,
        inside: Floats,
        rungs: list[tuple[Whole, list[int], Floats]] | None = None,
        more: Floats | None = None,
    ) -> None:
        empty = np.zeros(0)
        self.at.append(Coarse(states, inside, empty, rungs or [], empty if more is None else more))

    def alive(self, place: int, below: float) -> Whole:
        """The states after a step that may still be part of a design below a limit."""
        here = self.at[place]
        if not here.inside.size:
            return here.states
        kept: Whole = here.states[(here.inside + here.outside).min(axis=1) < below]
        return kept

    def meet(
        self, one: int, two: int, able: Callable[[int], bool], among: Whole | None = None
    ) -> None:
        """Two parts meet at a node.

        Args:
            one: the step of one part.
            two: the step of the other.
            able: whether the rest of the site could make up for a state.
            among: the only states that matter, if known.
        """
        left, right = self.at[one], self.at[two]
        every = np.unique(left.states[:, np.newaxis] + right.states[np.newaxis, :])
        if among is not None:
            every = np.intersect1d(every, among, assume_unique=True)
        kept = np.array([able(s) for s in every.tolist()], dtype=np.bool_)
        states = every[kept]
        inside = np.full((len(states), self.levels), np.inf)
        for row, state in enumerate(right.states.tolist()):
            mine, at = _places(states, left.states + state)
            inside[at] = np.minimum(inside[at], left.inside[mine] + right.inside[row])
        self._note(states, inside)

    def same(self, one: int) -> None:
        """Nothing changes."""
        self._note(self.at[one].states, self.at[one].inside)

    def stretch(self, one: int, ladders: list[Ladder | None]) -> None:
        """A stretch is put in front of every state."""
        below = self.at[one]
        inside = np.full_like(below.inside, np.inf)
        groups: dict[int, list[int]] = {}
        for row, ladder in enumerate(ladders):
            groups.setdefault(id(ladder), []).append(row)
        rungs = []
        for rows in groups.values():
            ladder, at = ladders[rows[0]], np.array(rows)
            lost = [0] if ladder is None else self._lost(ladder.loss_m).tolist()
            cents = np.zeros(1) if ladder is None else ladder.cents
            rungs.append((at, lost, cents))
            for cells, price in zip(lost, cents.tolist(), strict=True):
                moved = below.inside[at, : self.levels - cells] + price
                inside[at, cells:] = np.minimum(inside[at, cells:], moved)
                inside[at, -1] = np.minimum(inside[at, -1], below.inside[at, -1] + price)
        self._note(below.states, inside, rungs)

    def returns(self, one: int, more: Floats) -> None:
        """Return pipe of at least so much is laid under every state."""
        below = self.at[one]
        self._note(below.states, below.inside + more[:, np.newaxis], None, more)

    def back(
        self, least: Callable[[int], list[tuple[float, float]]], tick: Callable[[], None]
    ) -> float:
        """Work out all outside bounds.

        Args:
            least: for a state of the whole site (head at the pump, cost of the rest) pairs.
            tick: called before every step; it may raise to end the search.

        Returns:
            The least cost of any design.
        """
        last = self.at[-1]
        last.outside = np.full((len(last.states), self.levels), np.inf)
        for row, state in enumerate(last.states.tolist()):
            pairs = least(state)
            if pairs:
                heads, cents = (np.array(v) for v in zip(*pairs, strict=True))
                cells = np.minimum(self.cells(heads) + 1, self.levels - 1)
                np.minimum.at(last.outside[row], cells, cents)
        last.outside = _or_higher(last.outside)
        for place in reversed(range(len(self.steps))):
            tick()
            self._back(place)
        whole = last.inside + last.outside
        return float(whole.min()) if whole.size else np.inf

    def _back(self, place: int) -> None:
        step, here = self.steps[place], self.at[place]
        if step.one is None:
            return
        if step.two is not None:
            self.at[step.one].outside = _outside(self.at[step.one], self.at[step.two], here)
            self.at[step.two].outside = _outside(self.at[step.two], self.at[step.one], here)
        elif step.stretch is not None:
            self.at[step.one].outside = _outside_of_stretch(here)
        elif step.returns and len(here.more):
            self.at[step.one].outside = here.outside + here.more[:, np.newaxis]
        else:
            self.at[step.one].outside = here.outside

    def keeps(self, place: int, raw: Raw, limit: float) -> Bools:
        """Which points after a step may still be part of a design below a limit."""
        here = self.at[place]
        rows = np.searchsorted(here.states, raw.states)
        rows = np.minimum(rows, max(0, len(here.states) - 1))
        if not len(here.states):
            return np.zeros(len(raw.states), dtype=np.bool_)
        known = here.states[rows] == raw.states
        cells = self.cells(raw.need_m)
        kept: Bools = known & (raw.cents + here.outside[rows, cells] < limit)
        return kept


def _places(states: Whole, wanted: Whole) -> tuple[Whole, Whole]:
    """Which of the wanted states there are, and where."""
    at = np.minimum(np.searchsorted(states, wanted), max(0, len(states) - 1))
    mine = np.flatnonzero(states[at] == wanted) if len(states) else np.zeros(0, dtype=np.int64)
    return mine.astype(np.int64), at[mine].astype(np.int64)


def _or_higher(costs: Floats) -> Floats:
    """Least cost at a cell or any higher one."""
    return np.minimum.accumulate(costs[:, ::-1], axis=1)[:, ::-1]


def _outside(part: Coarse, other: Coarse, both: Coarse) -> Floats:
    outside = np.full_like(part.inside, np.inf)
    for row, state in enumerate(other.states.tolist()):
        mine, at = _places(both.states, part.states + state)
        rest = _or_higher(other.inside[row] + both.outside[at])
        outside[mine] = np.minimum(outside[mine], rest)
    return outside


def _outside_of_stretch(here: Coarse) -> Floats:
    outside = np.full_like(here.inside, np.inf)
    levels = np.arange(outside.shape[1])
    for at, lost, cents in here.rungs:
        for cells, price in zip(lost, cents.tolist(), strict=True):
            reached = np.minimum(levels + cells, len(levels) - 1)
            moved = here.outside[at[:, np.newaxis], reached[np.newaxis, :]] + price
            outside[at] = np.minimum(outside[at], moved)
    return outside
