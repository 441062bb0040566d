"""From the ends of the shared pipe to the pump: the fronts of every state of the whole site."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from optimizer.milp.composed_branches import Branches, RowFront
from optimizer.milp.composed_flat import (
    Flat,
    Raw,
    Rungs,
    merged,
    of_plans,
    put_in_front,
    sifted,
)
from optimizer.milp.composed_grid import Grid
from optimizer.milp.composed_guide import Guide
from optimizer.milp.composed_parts import Walk
from optimizer.milp.composed_returns import least_cents
from optimizer.milp.composed_states import States
from optimizer.milp.composed_steps import Step
from optimizer.milp.fronts import Bools, Floats, Whole
from optimizer.milp.tables import PUMP_NODE
from optimizer.records.problem import BranchPlan, StretchTable

SPAN_M = 2.5  # heads above the least by more than this share one cell of a guide


class Table:
    """Builds the table of a site under one setting.

    Args:
        branches: fronts of branches.
        states: the states, and the plans that may be chosen.
        plan: the steps, in order.
        least_returns: whether the least cost of return pipe, whatever its fall, is added.
        tick: called before every step; it may raise to end the search.
    """

    def __init__(
        self,
        branches: Branches,
        states: States,
        plan: list[Step],
        *,
        least_returns: bool,
        tick: Callable[[], None],
    ) -> None:
        self.branches = branches
        self.states = states
        self.plan = plan
        self.least_returns = least_returns
        self.tick = tick
        self.reading = branches.reading
        self.rows = {
            place: self._of_branch(step) for place, step in enumerate(plan) if step.one is None
        }

    def guide(self, cells: int, coarser: Guide | None = None, below: float = np.inf) -> Guide:
        """The inner half of a guide for these fronts.

        Args:
            cells: how many cells of head its grid has.
            coarser: a guide whose states and cells are left out where they cannot cost less than
                a limit.
            below: that limit.
        """
        guide = Guide(self.plan, self._grid(cells), coarser, below)
        for place, step in enumerate(self.plan):
            self.tick()
            if step.one is None:
                guide.branch(self.rows[place])
            elif step.two is not None:
                guide.meet(step.one, step.two, self._able(step))
            elif step.stretch is not None:
                guide.stretch(step.one, self._rungs(guide.at[step.one].states, step.stretch))
            elif step.returns and self.least_returns:
                guide.returns(step.one, self._least_returns(guide.at[step.one].states, step))
            else:
                guide.same(step.one)
        return guide

    def _grid(self, cells: int) -> Grid:
        low_m = self._low_m()
        span_m = min(self.branches.setting.limits.need_m - low_m, SPAN_M)
        return Grid(low_m, max(span_m, 1e-6) / (cells - 1), cells)

    def _low_m(self) -> float:
        """The least head that a branch with beds needs; 0 where the site may stay empty."""
        if self.states.limits.beds_least < 1:
            return 0.0
        needs = [
            float(np.min(rows.need_m[rows.by_point != 0], initial=np.inf))
            for rows in self.rows.values()
        ]
        least = min(needs, default=np.inf)
        return least if np.isfinite(least) else 0.0

    def root(self, guide: Guide, limit: float, thin_cents: float) -> Flat:
        """The table at the pump.

        Args:
            guide: bounds outside each step.
            limit: points that cannot be part of a design below it are dropped.
            thin_cents: what each step may thin a front by.
        """
        made: list[Flat] = []

        def kept(raw: Raw) -> Flat:
            within = raw.only(guide.keeps(len(made), raw, limit))
            return sifted(within, thin_cents)

        for place, step in enumerate(self.plan):
            self.tick()
            if step.one is None:
                rows = self.rows[place]
                points = Raw(rows.by_point, rows.need_m, rows.cents, rows.first, rows.second)
                made.append(replace(kept(points), plans=rows.plans))
                continue
            one = made[step.one]
            if step.two is not None:
                two = made[step.two]
                made.append(replace(kept(merged(one, two)), left=one, right=two))
            elif step.stretch is not None:
                rungs = self._rungs(one.states, step.stretch)
                made.append(replace(kept(put_in_front(one, rungs)), left=one, rungs=rungs))
            elif step.returns and self.least_returns:
                more = self._least_returns(one.states, step)
                made.append(replace(one, cents=one.cents + more[one.places]))
            else:
                made.append(one)
        return made[-1]

    def _able(self, step: Step) -> Callable[[Whole], Bools]:
        return lambda states: self.states.which_may(states, step.fed)

    def _of_branch(self, step: Step) -> Flat:
        """The exact table of one branch."""
        self.tick()
        branch = min(step.fed, default="")
        if branch not in self.states.plans:
            nothing = self.branches.workshop.start(0.0, 0.0).points
            return of_plans([(0, RowFront(nothing, None, self.branches))])
        found = [(self.states.of_plan(p), self._of_plan(p)) for p in self.states.plans[branch]]
        some = [(state, front) for state, front in found if len(front.points)]
        return of_plans(some) if some else NOTHING

    def _of_plan(self, plan: BranchPlan) -> RowFront:
        points = self.branches.points(plan)
        if self.least_returns:
            more = sum(
                least_cents(d, d.loads(plan.id))
                for d in self.reading.drains_of_branch.get(plan.branch, [])
            )
            points = replace(points, cents=points.cents + more)
            points = points.at(np.flatnonzero(np.isfinite(points.cents)))
        return RowFront(points, plan, self.branches)

    def _rungs(self, states: Whole, stretch: StretchTable) -> Rungs:
        """The ladder of a shared stretch under every state, none where it stays dry."""
        duties: dict[int, list[str]] = defaultdict(list)
        for u in stretch.duties:
            duties[u.flow_steps].append(u.id)
        flows, which = np.unique(self.states.flows(states), return_inverse=True)
        ladders = tuple(
            None
            if flow == 0 and stretch.tail != PUMP_NODE
            else self.branches.ladder(stretch, tuple(duties.get(flow, ())))
            for flow in flows.tolist()
        )
        return Rungs(ladders, which.astype(np.int64))

    def _least_returns(self, states: Whole, step: Step) -> Floats:
        """The least cost of the return pipe that a step's branches share."""
        drains = self.reading.shared_drains.get(step.fed, [])
        loads = [self.states.totals(s).loads for s in states.tolist()]
        return np.array([sum(least_cents(d, load) for d in drains) for load in loads])


_NONE = np.zeros(0, dtype=np.int64)
_NO_FIGURES = np.zeros(0, dtype=np.float64)
NOTHING = Flat(_NONE, np.zeros(1, dtype=np.int64), _NO_FIGURES, _NO_FIGURES, _NONE, _NONE)


def traced(flat: Flat, point: int) -> Walk:
    """Follow a point of a table down to its plans and builds."""
    found = Walk()
    stack = [(flat, point)]
    while stack:
        at, index = stack.pop()
        first, second = int(at.first[index]), int(at.second[index])
        if at.left is None:
            at.plans[first].walk(second, found)
        elif at.right is not None:
            stack += [(at.left, first), (at.right, second)]
        else:
            place = int(np.searchsorted(at.left.starts, second, side="right")) - 1
            ladder = None if at.rungs is None else at.rungs.of(place)
            if ladder is not None:
                found.builds[ladder.stretch] = ladder.ways[first]
            stack.append((at.left, second))
    return found
