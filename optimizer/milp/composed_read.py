"""A DesignProblem seen as a tree of shared pipe with whole branches hanging on it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import TypeAlias

from optimizer.milp.tables import PUMP_NODE, Tables
from optimizer.records.problem import BranchPlan, DesignProblem, StretchTable
from optimizer.records.problem_drains import DrainTable

Loads: TypeAlias = tuple[float, ...]  # of a return stretch, by each way to count bursts
DIGITS = 12  # figures of one bed that agree to so many digits are the same


@dataclass(frozen=True)
class Kind:
    """What one bed adds to every total of the site.

    Attributes:
        option: the bed option.
        beds: 1, or more where a plan's figures are no multiple of one bed's.
        flow_steps: inflow.
        area_m2: growing area.
        held_m3: water held and lost.
        loads: what it loads return pipe with that branches share, by each way to count.
    """

    option: str
    beds: int
    flow_steps: int
    area_m2: float
    held_m3: float
    loads: Loads


class Reading:
    """Lookups of the composed program, and whether it may be used at all.

    Args:
        problem: the decision problem.

    Raises:
        ValueError: where the problem's ids do not fit together.
    """

    def __init__(self, problem: DesignProblem) -> None:
        self.problem = problem
        self.tables = Tables(problem)

    @cached_property
    def below_node(self) -> dict[str, list[StretchTable]]:
        """Node to the stretches that leave it."""
        found: dict[str, list[StretchTable]] = defaultdict(list)
        for stretch in self.problem.stretches:
            found[stretch.tail].append(stretch)
        return found

    @cached_property
    def drop_ids(self) -> set[str]:
        """Stretches that end at a bed."""
        return set(self.tables.drops)

    def most_head_m(self, stretch: StretchTable, duty: str, build: str) -> float:
        """The greatest head at the pump that a build's nearly shut valve can take up."""
        made = stretch.table[duty, build]
        if math.isinf(made.throttle_m):
            return math.inf
        level = self.tables.duty[stretch.id, duty].outlet_level_m or 0.0
        return level + made.loss_m + made.throttle_m

    @cached_property
    def throttle_limits_m(self) -> list[float]:
        """The greatest heads at the pump that drops' valves can take up, rising."""
        drops = {
            (id(s.duties), id(s.table)): s for s in self.problem.stretches if s.id in self.drop_ids
        }
        limits = {self.most_head_m(s, u, j) for s in drops.values() for u, j in s.table}
        return sorted(limit for limit in limits if math.isfinite(limit))

    @cached_property
    def raised(self) -> bool:
        """Whether some outlet lies above the lowest."""
        return any(self.tables.rise_m(s, u) > 0 for s, u in self.tables.duty)

    @cached_property
    def hangs_on(self) -> dict[str, set[str]]:
        """Branch to the nodes, not its own, that its stretches leave from."""
        own = {b: {s.head for s in self.of_branch[b]} for b in self.of_branch}
        return {b: {s.tail for s in found} - own[b] for b, found in self.of_branch.items()}

    @cached_property
    def of_branch(self) -> dict[str, list[StretchTable]]:
        """Branch to its own stretches, parents first."""
        found: dict[str, list[StretchTable]] = {b: [] for b in self.tables.plans_of_branch}
        for stretch in self.problem.stretches:
            if stretch.branch is not None:
                found.setdefault(stretch.branch, []).append(stretch)
        return found

    @cached_property
    def branches_at(self) -> dict[str, list[str]]:
        """Node to the branches that hang on it; a branch without pipe hangs on the pump."""
        found: dict[str, list[str]] = defaultdict(list)
        for branch, nodes in self.hangs_on.items():
            found[min(nodes, default=PUMP_NODE)].append(branch)
        return found

    @cached_property
    def branches_of_drain(self) -> dict[str, frozenset[str]]:
        """Return stretch to the branches that drain through it."""
        branch = {p.id: p.branch for p in self.problem.plans}
        return {
            d.id: frozenset(branch[p] for p in d.bursts_m3_s if p in branch)
            for d in self.problem.drains
        }

    @cached_property
    def drains_of_branch(self) -> dict[str, list[DrainTable]]:
        """Branch to the return stretches it has alone, each after the one it runs into."""
        found: dict[str, list[DrainTable]] = defaultdict(list)
        for drain in self.problem.drains:
            branches = self.branches_of_drain[drain.id]
            if len(branches) == 1:
                found[min(branches)].append(drain)
        return found

    @cached_property
    def shared_drains(self) -> dict[frozenset[str], list[DrainTable]]:
        """Branches to the return stretches they share, each after the one it runs into."""
        found: dict[frozenset[str], list[DrainTable]] = defaultdict(list)
        for drain in self.problem.drains:
            if len(self.branches_of_drain[drain.id]) > 1:
                found[self.branches_of_drain[drain.id]].append(drain)
        return found

    @cached_property
    def kind_of_plan(self) -> dict[str, tuple[Kind, int]]:
        """Plan that builds something to its kind of bed and how many of it."""
        return {p.id: _kind(p, self._loads(p)) for p in self.problem.plans if p.beds or p.option}

    def _loads(self, plan: BranchPlan) -> Loads:
        shared = [d for found in self.shared_drains.values() for d in found]
        return max((d.loads(plan.id) for d in shared), default=())

    def picks(self) -> Iterator[frozenset[str]]:
        """Every way to pick one option for each bed type."""
        return (frozenset(pick) for pick in product(*self.tables.options_of_type.values()))

    def why_not(self) -> str:
        """Why this problem cannot be composed; empty where it can."""
        checks = (
            self._zones,
            self._tied_together,
            self._two_sizes,
            self._split_branches,
            self._flows_apart,
            self._drains_elsewhere,
            self._bursts_apart,
            self._beds_on_shared_drains,
        )
        return next((reason for check in checks if (reason := check())), "")

    def _zones(self) -> str:
        return "zones that flood in turn share pipe" if self.problem.zones else ""

    def _tied_together(self) -> str:
        asked = self.problem.requirements
        reasons = {
            "the money to buy with is limited": asked.budget_cents is not None,
            "the number of pipe sizes is limited": asked.pipe_sizes_most is not None,
            "pipe lies in stock": bool(self.problem.stock),
            "it must differ from an earlier answer": bool(asked.unlike),
        }
        return next((reason for reason, holds in reasons.items() if holds), "")

    def _two_sizes(self) -> str:
        mixed = [s.id for s in self.problem.stretches if s.mixes]
        return f"two sizes may stand on stretch {mixed[0]}" if mixed else ""

    def _split_branches(self) -> str:
        split = [b for b, nodes in self.hangs_on.items() if len(nodes) > 1]
        return f"row {split[0]} is fed from more than one place" if split else ""

    def _flows_apart(self) -> str:
        dry = {b for b, found in self.of_branch.items() if not found}
        for plan in self.problem.plans:
            if plan.flow_steps and plan.branch in dry:
                return f"row {plan.branch} asks for water and has no pipe"
            if plan.option is None and (plan.flow_steps or plan.area_m2 or plan.held_m3):
                return f"plan {plan.id} builds no bed and has figures of one"
        return ""

    def _drains_elsewhere(self) -> str:
        known = {frozenset(found) for found in self.tables.branches_below.values()}
        for branches, drains in self.shared_drains.items():
            if branches not in known:
                return f"return pipe {drains[0].id} joins rows that no supply pipe joins"
        for drain in self.problem.drains:
            after = self.tables.drain_from.get(drain.lower)
            mine = self.branches_of_drain[drain.id]
            if after is not None and not mine <= self.branches_of_drain[after.id]:
                return f"return pipe {after.id} carries less than what runs into it"
        return self._two_ways_down()

    def _two_ways_down(self) -> str:
        """Whether two return stretches of the same rows lie beside each other."""
        for branches, drains in self.shared_drains.items():
            for upper, lower in zip(drains[1:], drains, strict=False):
                if upper.lower != lower.upper:
                    return f"return pipes {lower.id} and {upper.id} lie beside each other"
            larger = [b for b in self.shared_drains if branches < b]
            after = self.tables.drain_from.get(drains[0].lower)
            if larger and (after is None or self.branches_of_drain[after.id] not in larger):
                return f"return pipe {drains[0].id} runs past the others"
        return ""

    def _bursts_apart(self) -> str:
        for branches, drains in self.shared_drains.items():
            for plan in self.problem.plans:
                if plan.branch in branches and plan.id in self.kind_of_plan:
                    kind, count = self.kind_of_plan[plan.id]
                    if any(_apart(d.loads(plan.id), kind, count) for d in drains):
                        return f"plan {plan.id} sends different bursts through shared pipe"
        return ""

    def _beds_on_shared_drains(self) -> str:
        for plan in self.problem.plans:
            own = {d.upper: d for d in self.drains_of_branch.get(plan.branch, [])}
            for node in plan.drain_levels_m:
                if node in self.tables.drain_from and (
                    node not in own or plan.id not in own[node].bursts_m3_s
                ):
                    return f"a bed of {plan.branch} stands over shared return pipe"
        return ""


def _apart(loads: Loads, kind: Kind, count: int) -> bool:
    """Whether so many beds of a kind load a stretch otherwise than their kind says."""
    pairs = zip(loads, kind.loads, strict=True)
    return any(abs(a - count * b) > 1e-9 * max(a, 1e-9) for a, b in pairs if a != count * b)


def _kind(plan: BranchPlan, loads: Loads) -> tuple[Kind, int]:
    """A plan as a number of equal beds, or as one kind of its own where that does not divide."""
    option, count = plan.option or "", max(1, plan.beds)
    if plan.flow_steps % count:
        count = 1
    figures = (plan.area_m2, plan.held_m3 + plan.lost_m3, *loads)
    area, held, *sent = (float(f"{value / count:.{DIGITS}g}") for value in figures)
    each = plan.beds // count if count > 1 else plan.beds
    return Kind(option, each, plan.flow_steps // count, area, held, tuple(sent)), count
