"""From the ends of the shared pipe to the pump: the fronts of every state of the whole site."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import numpy as np

from optimizer.milp.composed_branches import Branches
from optimizer.milp.composed_flat import (
    Flat,
    Raw,
    merged,
    of_parts,
    put_in_front,
    sifted,
    with_states,
)
from optimizer.milp.composed_labels import Ladder
from optimizer.milp.composed_parts import Part, Walk, walked
from optimizer.milp.composed_returns import least_cents
from optimizer.milp.composed_states import States
from optimizer.milp.fronts import Floats
from optimizer.milp.tables import PUMP_NODE
from optimizer.records.problem import BranchPlan, StretchTable


class Table:
    """Builds the table of a site under one setting.

    Args:
        branches: fronts of branches.
        states: the states, and the plans that may be chosen.
        thin_cents: what each step may thin a front by.
        least_returns: whether the least cost of return pipe, whatever its fall, is added.
    """

    def __init__(
        self, branches: Branches, states: States, thin_cents: float, *, least_returns: bool
    ) -> None:
        self.branches = branches
        self.states = states
        self.thin_cents = thin_cents
        self.least_returns = least_returns
        self.reading = branches.reading

    @property
    def steps(self) -> int:
        """How many steps thin a front."""
        return 2 * len(self.states.plans) + len(self.reading.tables.shared)

    def root(self) -> Flat:
        """The table at the pump."""
        below: dict[str, Flat] = {}
        laid: set[frozenset[str]] = set()
        for stretch in reversed(self.reading.tables.shared):
            fed = frozenset(self.reading.tables.branches_below[stretch.id])
            flat = self._at_node(stretch.head, below, fed)
            if self.least_returns and fed not in laid:
                flat = self._drained(flat, fed)
            laid.add(fed)
            below[stretch.id] = self._supplied(flat, stretch)
        return self._at_node(PUMP_NODE, below, frozenset(self.states.plans))

    def _at_node(self, node: str, below: dict[str, Flat], fed: frozenset[str]) -> Flat:
        """Merge everything that hangs on a node."""
        parts = [below.pop(s.id) for s in self.reading.below_node.get(node, []) if s.branch is None]
        parts += [self._of_branch(b) for b in self.reading.branches_at.get(node, [])]
        if not parts:
            return of_parts([(0, self.branches.required(node))], 0.0)
        made = parts[0]
        for other in parts[1:]:
            raw = self._possible(merged(made, other))
            made = replace(sifted(raw, self.thin_cents), left=made, right=other)
        return self._only_possible(made, fed)

    def _only_possible(self, flat: Flat, fed: frozenset[str]) -> Flat:
        """Drop states that the rest of the site cannot make up for."""
        able = [self.states.may_do(s, fed) for s in flat.states.tolist()]
        return with_states(flat, np.array(able, dtype=np.bool_))

    def _possible(self, raw: Raw) -> Raw:
        return raw.only(raw.need_m <= self.branches.setting.limits.need_m)

    def _of_branch(self, branch: str) -> Flat:
        if branch not in self.states.plans:
            return of_parts([(0, self.branches.workshop.start(0.0, 0.0))], 0.0)
        found = [(self.states.of_plan(p), self._of_plan(p)) for p in self.states.plans[branch]]
        some = [(state, part) for state, part in found if len(part.points)]
        return of_parts(some, self.thin_cents) if some else NOTHING

    def _of_plan(self, plan: BranchPlan) -> Part:
        part = self.branches.part(plan)
        if not self.least_returns:
            return part
        more = sum(
            least_cents(d, d.bursts_m3_s.get(plan.id, 0.0))
            for d in self.reading.drains_of_branch.get(plan.branch, [])
        )
        points = replace(part.points, cents=part.points.cents + more)
        return replace(part, points=points.at(np.flatnonzero(np.isfinite(points.cents))))

    def _supplied(self, flat: Flat, stretch: StretchTable) -> Flat:
        """Put a shared stretch in front of every state, at the state's flow."""
        duties: dict[int, list[str]] = defaultdict(list)
        for u in stretch.duties:
            duties[u.flow_steps].append(u.id)
        ladders: list[Ladder | None] = []
        for state in flat.states.tolist():
            flow = self.states.totals(state).flow_steps
            dry = flow == 0 and stretch.tail != PUMP_NODE
            ladder = None if dry else self.branches.ladder(stretch, tuple(duties.get(flow, ())))
            ladders.append(ladder)
        loss, cents = _rungs(ladders)
        raw = self._possible(put_in_front(flat, loss, cents))
        return replace(sifted(raw, self.thin_cents), left=flat, ladders=tuple(ladders))

    def _drained(self, flat: Flat, fed: frozenset[str]) -> Flat:
        """Add the least cost of the return pipe that these branches share."""
        drains = self.reading.shared_drains.get(fed, [])
        if not drains or not len(flat.states):
            return flat
        bursts = [self.states.totals(s).burst_m3_s for s in flat.states.tolist()]
        more = np.array([sum(least_cents(d, burst) for d in drains) for burst in bursts])
        able = np.isfinite(more)
        kept = with_states(flat, able)
        return replace(kept, cents=kept.cents + more[able][kept.places])


def _rungs(ladders: list[Ladder | None]) -> tuple[Floats, Floats]:
    """Loss and cost by state and build; inf where there is no such build."""
    most = max((1 if g is None else len(g.ways) for g in ladders), default=1)
    loss = np.full((len(ladders), max(1, most)), np.inf)
    cents = np.zeros_like(loss)
    for row, ladder in enumerate(ladders):
        if ladder is None:
            loss[row, 0] = 0.0
        else:
            loss[row, : len(ladder.ways)] = ladder.loss_m
            cents[row, : len(ladder.ways)] = ladder.cents
    return loss, cents


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
        if at.parts:
            walked(at.parts[first], second, found)
        elif at.right is not None and at.left is not None:
            stack += [(at.left, first), (at.right, second)]
        elif at.left is not None:
            place = int(np.searchsorted(at.left.starts, second, side="right")) - 1
            ladder = at.ladders[place]
            if ladder is not None:
                found.builds[ladder.stretch] = ladder.ways[first]
            stack.append((at.left, second))
    return found
