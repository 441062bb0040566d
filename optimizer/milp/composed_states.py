"""Bed counts as state, held in one whole number that adds up as the counts do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.milp.composed_read import Kind, Loads, Reading
from optimizer.milp.fronts import Bools, Floats, Whole
from optimizer.records.problem import BranchPlan
from optimizer.records.requirements import Requirements

State = int
SLACK = 1e-9  # m2 and m3: what sums of decimals may round by


@dataclass(frozen=True)
class Totals:
    """What a state adds up to."""

    beds: int
    flow_steps: int
    area_m2: float
    held_m3: float
    loads: Loads


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
        self._others: dict[frozenset[str], tuple[int, float]] = {}

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
        pairs = [(k, n) for k, n in zip(self.kinds, reversed(counts), strict=True) if n]
        return Totals(
            sum(k.beds * n for k, n in pairs),
            sum(k.flow_steps * n for k, n in pairs),
            sum(k.area_m2 * n for k, n in pairs),
            sum(k.held_m3 * n for k, n in pairs),
            added([tuple(load * n for load in k.loads) for k, n in pairs]),
        )

    def may_do(self, state: State, branches: frozenset[str]) -> bool:
        """Whether the rest of the site could still make up what the site is asked for."""
        totals, (beds, area) = self.totals(state), self._elsewhere(branches)
        return (
            totals.beds + beds >= self.limits.beds_least
            and totals.area_m2 + area >= self.limits.area_least_m2 - SLACK
            and totals.held_m3 <= self.working_most_m3 + SLACK
        )

    def _counts(self, states: Whole) -> list[Whole]:
        """How many beds of each kind some states have."""
        counts: list[Whole] = []
        for stride in reversed(self.strides):
            count, states = np.divmod(states, stride)
            counts.append(count)
        return counts[::-1]

    def flows(self, states: Whole) -> Whole:
        """Inflow of some states, in steps."""
        found = np.zeros(len(states), dtype=np.int64)
        for kind, count in zip(self.kinds, self._counts(states), strict=True):
            found += kind.flow_steps * count
        return found

    def held_m3(self, states: Whole) -> Floats:
        """Water that the beds of some states hold or lose."""
        found = np.zeros(len(states))
        for kind, count in zip(self.kinds, self._counts(states), strict=True):
            found += kind.held_m3 * count
        return found

    def which_may(self, states: Whole, branches: frozenset[str]) -> Bools:
        """Which states the rest of the site could still make up, as for :meth:`may_do`."""
        beds, area = np.zeros(len(states)), np.zeros(len(states))
        for kind, count in zip(self.kinds, self._counts(states), strict=True):
            beds += kind.beds * count
            area += kind.area_m2 * count
        more_beds, more_area = self._elsewhere(branches)
        able: Bools = (
            (beds + more_beds >= self.limits.beds_least)
            & (area + more_area >= self.limits.area_least_m2 - SLACK)
            & (self.held_m3(states) <= self.working_most_m3 + SLACK)
        )
        return able

    def _elsewhere(self, branches: frozenset[str]) -> tuple[int, float]:
        """The most beds and area that other branches can have."""
        if branches not in self._others:
            rooms = [room for b, room in self._room.items() if b not in branches]
            self._others[branches] = (sum(r[0] for r in rooms), sum(r[1] for r in rooms))
        return self._others[branches]

    def settled(self) -> bool:
        """Whether every state has only one way to come about."""
        ways, inside = {0: 1}, frozenset[str]()
        for branch, found in self.plans.items():
            more: dict[State, int] = {}
            inside = inside | {branch}
            for state, count in ways.items():
                for plan in found:
                    key = state + self.of_plan(plan)
                    if self.may_do(key, inside):
                        more[key] = more.get(key, 0) + count
                        if more[key] > 1:
                            return False
            ways = more
        return True


def added(loads: Sequence[Loads]) -> Loads:
    """What loads come to together, by each way to count; empty for none."""
    return tuple(map(sum, zip(*loads, strict=True)))


def able(plans: dict[str, list[BranchPlan]], limits: Requirements) -> dict[str, list[BranchPlan]]:
    """The plans that leave the rest of the site able to make up what is asked for."""
    beds = {b: max((p.beds for p in found), default=0) for b, found in plans.items()}
    area = {b: max((p.area_m2 for p in found), default=0.0) for b, found in plans.items()}
    spare_beds = sum(beds.values()) - limits.beds_least
    spare_area = sum(area.values()) - limits.area_least_m2 + SLACK
    return {
        b: [
            p for p in found if beds[b] - p.beds <= spare_beds and area[b] - p.area_m2 <= spare_area
        ]
        for b, found in plans.items()
    }
