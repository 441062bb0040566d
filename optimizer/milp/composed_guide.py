"""A quick bound on everything outside a part of the site: the guide that keeps fronts short.

The same steps as for the fronts are taken on a coarse grid of heads, every head rounded down, which
makes all costs bounds. A second pass from the pump back to the rows gives, for each step, state and
head, what the rest of the site costs at least. A point whose own cost and that rest reach the cost
of a known design is dropped. A guide on a finer grid looks only at the states and cells that a
coarser one left alive.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from optimizer.milp.composed_flat import Flat, Raw, Rungs
from optimizer.milp.composed_grid import Grid, Reader, Span, or_higher
from optimizer.milp.composed_steps import Step
from optimizer.milp.fronts import Bools, Floats, Whole


class End(NamedTuple):
    """What may stand at the end of some states: any of some pump duties, and the rest.

    Attributes:
        rows: the places of the states.
        heads_m: heads of the pump duties.
        cents: what each pump duty costs.
        more: what all else costs at least, by state.
    """

    rows: Whole
    heads_m: Floats
    cents: Floats
    more: Floats


@dataclass
class Coarse:
    """Costs on the grid after one step.

    Attributes:
        states: the states, rising.
        window: the cells looked at.
        inside: least cost by state and cell; cells count the head needed at most.
        outside: least cost of all else by state and cell; cells count the head needed at least.
        lost: for a step with a stretch, cells that each build surely takes, by state and build.
        cents: for a step with a stretch, what each build costs.
        more: for a step with return pipe, its least cost by state.
    """

    states: Whole
    window: Span
    inside: Floats
    lost: Whole | None = None
    cents: Floats = field(default_factory=lambda: np.zeros((0, 1)))
    more: Floats | None = None
    outside: Floats = field(default_factory=lambda: np.zeros((0, 1)))

    def blank(self, states: Whole | None = None) -> Floats:
        """No way yet, by state and cell."""
        count = len(self.states if states is None else states)
        return np.full((count, self.window.end - self.window.first), np.inf)


class Guide:
    """Bounds of every step.

    Args:
        steps: the steps.
        grid: cells of head.
        coarser: a finished guide; what cannot cost less than ``below`` there is left out here.
        below: the cost of a design that is known or supposed; this guide holds for designs below.
    """

    def __init__(
        self, steps: list[Step], grid: Grid, coarser: Guide | None = None, below: float = np.inf
    ) -> None:
        self.steps = steps
        self.grid = grid
        self.at: list[Coarse] = []
        self.least = np.inf
        self._coarser = coarser
        self._below = below

    def alive(self, place: int, below: float, grid: Grid) -> tuple[Whole, Span]:
        """The states after a step that may be part of a design below a limit, and their cells."""
        here = self.at[place]
        alive = here.inside + here.outside < below
        cells = np.flatnonzero(alive.any(axis=0)) + here.window.first
        some = Span(int(cells[0]), int(cells[-1]) + 1) if len(cells) else Span(0, 1)
        return here.states[alive.any(axis=1)], self.grid.finer(some, grid)

    def size(self, below: float) -> int:
        """How many states and cells may be part of a design below a limit, over all steps."""
        return sum(int(np.count_nonzero(c.inside + c.outside < below)) for c in self.at)

    def _next(self, states: Whole) -> tuple[Whole, Span]:
        """Which of some states the next step keeps, and the cells it looks at."""
        if self._coarser is None:
            return states, self.grid.whole
        alive, window = self._coarser.alive(len(self.at), self._below, self.grid)
        return np.intersect1d(states, alive, assume_unique=True), window

    def branch(self, flat: Flat) -> None:
        """Note a branch from its exact table."""
        states, window = self._next(flat.states)
        rows = np.searchsorted(flat.states, states)[:, np.newaxis]
        keys = flat.places * self.grid.cells + self.grid.at(flat.need_m)
        wanted = rows * self.grid.cells + window.cells
        found = np.searchsorted(keys, wanted, side="right") - 1
        inside = np.where(found >= flat.starts[rows], flat.cents[found], np.inf)
        self.at.append(Coarse(states, window, inside))

    def meet(self, one: int, two: int, able: Callable[[Whole], Bools]) -> None:
        """Two parts meet at a node.

        Args:
            one: the step of one part.
            two: the step of the other.
            able: which states the rest of the site could make up for.
        """
        left, right = self.at[one], self.at[two]
        every = np.unique(left.states[:, np.newaxis] + right.states[np.newaxis, :])
        states, window = self._next(every)
        here = Coarse(states[able(states)], window, np.zeros((0, 1)))
        here.inside = here.blank()
        few, many = (left, right) if len(left.states) < len(right.states) else (right, left)
        some, others = _inside_of(few, window), _inside_of(many, window)
        for row, state in enumerate(few.states.tolist()):
            mine, at = _places(here.states, many.states + state)
            here.inside[at] = np.minimum(here.inside[at], others[mine] + some[row])
        self.at.append(here)

    def _above(self, one: int) -> tuple[Coarse, Whole]:
        """The costs after a step that changes no state, as those below, and their rows there."""
        below = self.at[one]
        states, window = self._next(below.states)
        rows = np.searchsorted(below.states, states)
        return Coarse(states, window, _inside_of(below, window)[rows]), rows

    def same(self, one: int) -> None:
        """Nothing changes."""
        self.at.append(self._above(one)[0])

    def stretch(self, one: int, rungs: Rungs) -> None:
        """A stretch is put in front of every state.

        Args:
            one: the step below.
            rungs: ways to build it, by state of that step.
        """
        below = self.at[one]
        states, window = self._next(below.states)
        rows = np.searchsorted(below.states, states)
        loss_m, costs = rungs.by_state()
        lost, cents = self.grid.lost(loss_m[rows]), costs[rows]
        here = Coarse(states, window, np.zeros((0, 1)), lost, cents)
        here.inside, last = here.blank(), self.grid.cells - 1
        reader = Reader(below.inside[rows], below.window, inside=True)
        higher = np.where(window.cells == last, 2 * last, window.cells)
        for build in range(lost.shape[1]):
            found = reader.at(higher - lost[:, build : build + 1])
            found += cents[:, build : build + 1]
            np.minimum(here.inside, found, out=here.inside)
        self.at.append(here)

    def returns(self, one: int, more: Floats) -> None:
        """Return pipe of at least so much is laid under every state of a step."""
        here, rows = self._above(one)
        here.more = more[rows]
        here.inside = here.inside + here.more[:, np.newaxis]
        self.at.append(here)

    def back(self, ends: Callable[[Whole], Iterable[End]], tick: Callable[[], None]) -> float:
        """Work out all outside bounds.

        Args:
            ends: for states of the whole site what may stand at their end.
            tick: called before every step; it may raise to end the search.

        Returns:
            The least cost of any design, or ``below`` where that is less.
        """
        last = self.at[-1]
        last.outside = last.blank()
        for rows, heads_m, cents, more in ends(last.states):
            found = np.full(last.outside.shape[1], np.inf)
            cells = np.minimum(self.grid.at(heads_m) + 1, last.window.end - 1) - last.window.first
            np.minimum.at(found, cells[cells >= 0], cents[cells >= 0])
            last.outside[rows] = np.minimum(last.outside[rows], found + more[:, np.newaxis])
        last.outside = or_higher(last.outside)
        for place in reversed(range(len(self.steps))):
            tick()
            self._back(place)
        self.least = min(self._below, float(np.min(last.inside + last.outside, initial=np.inf)))
        return self.least

    def _back(self, place: int) -> None:
        step, here = self.steps[place], self.at[place]
        if step.one is None:
            return
        below = self.at[step.one]
        if step.two is not None:
            below.outside = _outside_of(below, self.at[step.two], here)
            self.at[step.two].outside = _outside_of(self.at[step.two], below, here)
            return
        below.outside = below.blank()
        rows = np.searchsorted(below.states, here.states)
        below.outside[rows] = self._outside_below(below, here)

    def _outside_below(self, below: Coarse, here: Coarse) -> Floats:
        """Outside costs below a step that changes no state, for the states that are left."""
        wanted, reader = below.window.cells, Reader(here.outside, here.window, inside=False)
        if here.lost is None:
            found = reader.at(wanted)
            return found if here.more is None else found + here.more[:, np.newaxis]
        found, last = below.blank(here.states), self.grid.cells - 1
        for build in range(here.lost.shape[1]):
            more = reader.at(np.minimum(wanted + here.lost[:, build : build + 1], last))
            more += here.cents[:, build : build + 1]
            np.minimum(found, more, out=found)
        return found

    def keeps(self, place: int, raw: Raw, limit: float) -> Bools:
        """Which points after a step may still be part of a design below a limit."""
        here = self.at[place]
        if not len(here.states):
            return np.zeros(len(raw.states), dtype=np.bool_)
        rows = np.minimum(np.searchsorted(here.states, raw.states), len(here.states) - 1)
        cells = self.grid.at(raw.need_m)
        near = np.minimum(np.maximum(cells, here.window.first), here.window.end - 1)
        kept: Bools = (here.states[rows] == raw.states) & (cells < here.window.end)
        kept &= raw.cents + here.outside[rows, near - here.window.first] < limit
        return kept


def _places(states: Whole, wanted: Whole) -> tuple[Whole, Whole]:
    """Which of the wanted states there are, and where."""
    at = np.minimum(np.searchsorted(states, wanted), max(0, len(states) - 1))
    mine = np.flatnonzero(states[at] == wanted) if len(states) else np.zeros(0, dtype=np.int64)
    return mine.astype(np.int64), at[mine].astype(np.int64)


def _inside_of(part: Coarse, window: Span) -> Floats:
    """Inside costs of a part on the cells of another step."""
    if part.window == window:
        return part.inside
    return Reader(part.inside, part.window, inside=True).at(window.cells)


def _outside_of(part: Coarse, other: Coarse, both: Coarse) -> Floats:
    """Outside costs of one of two parts that meet."""
    beside = _inside_of(other, both.window)
    found = np.full((len(part.states), both.outside.shape[1]), np.inf)
    if len(part.states) < len(other.states):
        for row, state in enumerate(part.states.tolist()):
            mine, at = _places(both.states, other.states + state)
            found[row] = np.min(beside[mine] + both.outside[at], axis=0, initial=np.inf)
    else:
        for row, state in enumerate(other.states.tolist()):
            mine, at = _places(both.states, part.states + state)
            found[mine] = np.minimum(found[mine], beside[row] + both.outside[at])
    return Reader(or_higher(found), both.window, inside=False).at(part.window.cells)
