"""Bed counts as state: the fronts of every state of every subtree of shared pipe."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from optimizer.milp.composed_branches import Branches, drain_ladder
from optimizer.milp.composed_labels import NOTHING_NEEDED
from optimizer.milp.composed_parts import Part, as_it_is
from optimizer.milp.composed_read import Kind, Reading
from optimizer.milp.tables import PUMP_NODE
from optimizer.records.problem import BranchPlan, StretchTable

State = int
Table = dict[State, Part]
SLACK = 1e-9  # m2 and m3: what sums of decimals may round by


@dataclass(frozen=True)
class Totals:
    """What a state adds up to."""

    beds: int
    flow_steps: int
    area_m2: float
    held_m3: float
    burst_m3_s: float


class States:
    """States as whole numbers that add up like the counts they stand for.

    Args:
        reading: the problem.
        plans: the plans that may be chosen, by branch.
    """

    def __init__(self, reading: Reading, plans: dict[str, list[BranchPlan]]) -> None:
        self.plans = plans
        self.limits = reading.problem.requirements
        self.working_most_m3 = max((k.working_m3 for k in reading.problem.sumps), default=0.0)
        most: dict[Kind, int] = {}
        for found in plans.values():
            counts: dict[Kind, int] = {}
            for p in found:
                if p.id in reading.kind_of_plan:
                    kind, count = reading.kind_of_plan[p.id]
                    counts[kind] = max(counts.get(kind, 0), count)
            for kind, count in counts.items():
                most[kind] = most.get(kind, 0) + count
        self.kinds = list(most)
        self.strides: list[int] = []
        stride = 1
        for kind in self.kinds:
            self.strides.append(stride)
            stride *= most[kind] + 1
        self._strides = dict(zip(self.kinds, self.strides, strict=True))
        self._of_plan = {
            p: self._strides[kind] * count
            for p, (kind, count) in reading.kind_of_plan.items()
            if kind in self._strides
        }
        self._room = {
            b: (max(p.beds for p in found), max(p.area_m2 for p in found))
            for b, found in plans.items()
        }
        self._totals: dict[State, Totals] = {}

    def of_plan(self, plan: BranchPlan) -> State:
        """The state of a branch built to a plan."""
        return self._of_plan.get(plan.id, 0)

    def totals(self, state: State) -> Totals:
        """What a state adds up to."""
        if state not in self._totals:
            self._totals[state] = self._add_up(state)
        return self._totals[state]

    def _add_up(self, state: State) -> Totals:
        counts = []
        for stride in reversed(self.strides):
            count, state = divmod(state, stride)
            counts.append(count)
        pairs = list(zip(self.kinds, reversed(counts), strict=True))
        return Totals(
            sum(k.beds * n for k, n in pairs),
            sum(k.flow_steps * n for k, n in pairs),
            sum(k.area_m2 * n for k, n in pairs),
            sum(k.held_m3 * n for k, n in pairs),
            sum(k.burst_m3_s * n for k, n in pairs),
        )

    def may_do(self, state: State, branches: Iterable[str]) -> bool:
        """Whether the rest of the site could still make up what the site is asked for."""
        totals, inside = self.totals(state), set(branches)
        beds = sum(room[0] for b, room in self._room.items() if b not in inside)
        area = sum(room[1] for b, room in self._room.items() if b not in inside)
        return (
            totals.beds + beds >= self.limits.beds_least
            and totals.area_m2 + area >= self.limits.area_least_m2 - SLACK
            and totals.held_m3 <= self.working_most_m3 + SLACK
        )


class Tree:
    """Walks the shared pipe from its ends to the pump.

    Args:
        branches: fronts of branches under one setting.
        states: states.
    """

    def __init__(self, branches: Branches, states: States) -> None:
        self.branches = branches
        self.states = states
        self.reading = branches.reading
        self.workshop = branches.workshop

    def root(self) -> Table:
        """State of the whole site to its front at the pump."""
        below: dict[str, Table] = {}
        laid: set[frozenset[str]] = set()
        for stretch in reversed(self.reading.tables.shared):
            fed = frozenset(self.reading.tables.branches_below[stretch.id])
            table = self._at_node(stretch.head, below, fed)
            if fed not in laid:
                table = self._drained(table, fed)
                laid.add(fed)
            below[stretch.id] = self._supplied(table, stretch)
        every = frozenset(self.states.plans)
        table = self._at_node(PUMP_NODE, below, every)
        return table if every in laid else self._drained(table, every)

    def _at_node(self, node: str, below: dict[str, Table], fed: frozenset[str]) -> Table:
        """Merge everything that hangs on a node."""
        parts = [below.pop(s.id) for s in self.reading.below_node.get(node, []) if s.branch is None]
        parts += [self._of_branch(b) for b in self.reading.branches_at.get(node, [])]
        if not parts:
            return {0: self.branches.required(node)}
        merged = parts[0]
        for other in parts[1:]:
            merged = self._merged(merged, other)
        return {s: part for s, part in merged.items() if self.states.may_do(s, fed)}

    def _of_branch(self, branch: str) -> Table:
        made: dict[State, list[Part]] = defaultdict(list)
        if branch not in self.states.plans:
            return {0: self.workshop.start(0.0, NOTHING_NEEDED)}
        for plan in self.states.plans[branch]:
            part = self.branches.part(plan)
            if len(part.points):
                made[self.states.of_plan(plan)].append(part)
        return {state: self.workshop.best(parts) for state, parts in made.items()}

    def _merged(self, one: Table, two: Table) -> Table:
        made: dict[State, list[Part]] = defaultdict(list)
        for first, left in one.items():
            for second, right in two.items():
                part = self.workshop.join(left, right)
                if len(part.points):
                    made[first + second].append(part)
        return {state: self.workshop.best(parts) for state, parts in made.items()}

    def _supplied(self, table: Table, stretch: StretchTable) -> Table:
        """Put a shared stretch in front of every state, at the state's flow."""
        if not self.branches.setting.supply:
            return table
        duties: dict[int, list[str]] = defaultdict(list)
        for u in stretch.duties:
            duties[u.flow_steps].append(u.id)
        is_root = stretch.tail == PUMP_NODE
        made: Table = {}
        for state, part in table.items():
            flow = self.states.totals(state).flow_steps
            if flow == 0 and not is_root:
                ladder = as_it_is(0.0)
            else:
                ladder = self.branches.ladder(stretch, tuple(duties.get(flow, ())))
            needed = self.workshop.lay(as_it_is(0.0), part)
            laid = self.workshop.lay(ladder, needed)
            if len(laid.points):
                made[state] = laid
        return made

    def _drained(self, table: Table, fed: frozenset[str]) -> Table:
        """Lay the return pipe that these branches share under every state."""
        if not self.branches.setting.returns:
            return table
        made = dict(table)
        for drain in reversed(self.reading.shared_drains.get(fed, [])):
            for state, part in list(made.items()):
                burst = self.states.totals(state).burst_m3_s
                if burst > 0.0:
                    laid = self.workshop.lay(drain_ladder(drain, burst), part)
                    made[state] = laid
                    if not len(laid.points):
                        del made[state]
        return made
