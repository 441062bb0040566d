"""The front of one branch under one plan, and the ladders of supply stretches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.milp.composed_labels import NOTHING_NEEDED, Ladder, Limits, Points
from optimizer.milp.composed_parts import Part, Walk, Workshop, walked
from optimizer.milp.composed_read import Reading
from optimizer.records.problem import BranchPlan, Build, StretchTable

TINY = 1e-9  # metres, m3 and m3/s: what sums of decimals may round by


@dataclass(frozen=True)
class Setting:
    """What is held while fronts of supply pipe are built.

    Attributes:
        shut_off_m: every pipe bears this head.
        authority: least head at a take-off over its outlet, for each metre that the outlet lies
            above the lowest.
        throttled_m: every valve, nearly shut, can take up this head at the pump.
        limits: limits on every point.
        cents_per_m3: price put on the pipes' water that drains back.
        count_volume: whether that water is carried along as a coordinate.
    """

    shut_off_m: float
    authority: float
    throttled_m: float
    limits: Limits
    cents_per_m3: float = 0.0
    count_volume: bool = False


class Branches:
    """Fronts of branches and ladders of stretches under one setting.

    Args:
        reading: the problem.
        setting: what is held.
        workshop: makes fronts, and keeps those made before.
    """

    def __init__(
        self, reading: Reading, setting: Setting, workshop: Workshop | None = None
    ) -> None:
        self.reading = reading
        self.setting = setting
        self.workshop = workshop or Workshop(setting.limits)
        self._ladders: dict[tuple[str, tuple[str, ...]], Ladder] = {}
        self._alike: dict[tuple[object, ...], Ladder] = {}
        self._points: dict[tuple[object, ...], Points] = {}
        self._nodes = set(reading.tables.nodes)

    def points(self, plan: BranchPlan) -> Points:
        """The front of a branch built to a plan; rows of equal pipe share it."""
        key = self._signature(plan)
        if key not in self._points:
            self._points[key] = self.part(plan).points
        return self._points[key]

    def _signature(self, plan: BranchPlan) -> tuple[object, ...]:
        """All that the front of a branch depends on, whatever its stretches are called."""
        number: dict[str, int] = {}
        found: list[object] = [plan.cost_cents]
        for s in self.reading.of_branch[plan.branch]:
            duty = plan.duties.get(s.id)
            if duty is not None:
                tail = number.setdefault(s.tail, len(number))
                head = number.setdefault(s.head, len(number))
                tables = (id(s.duties), id(s.table), id(s.rating_head_m), s.builds)
                node, drop = s.head in self._nodes, s.id in self.reading.drop_ids
                found.append((tail, head, *tables, duty, node, drop))
        hung = min(self.reading.hangs_on.get(plan.branch, set()), default="")
        return (*found, number.get(hung))

    def part(self, plan: BranchPlan) -> Part:
        """The front of a branch built to a plan, at the node it hangs on."""
        made = self.workshop.start(float(plan.cost_cents), NOTHING_NEEDED, plan.id)
        pipe = self._supply(plan)
        return made if pipe is None else self.workshop.join(made, pipe)

    def _supply(self, plan: BranchPlan) -> Part | None:
        at: dict[str, Part] = {}
        for stretch in reversed(self.reading.of_branch[plan.branch]):
            duty = plan.duties.get(stretch.id)
            if duty is None:
                continue
            below = at.get(stretch.head) or self.required(stretch.head)
            made = self.workshop.lay(self.ladder(stretch, (duty,)), below)
            beside = at.get(stretch.tail)
            at[stretch.tail] = made if beside is None else self.workshop.join(made, beside)
        return at.get(min(self.reading.hangs_on.get(plan.branch, set()), default=""))

    def required(self, node: str) -> Part:
        """What a node itself needs: its head is 0 or more."""
        return self.workshop.start(0.0, 0.0 if node in self._nodes else NOTHING_NEEDED)

    def ladder(self, stretch: StretchTable, duties: tuple[str, ...]) -> Ladder:
        """Every way to build a stretch under any of some duties (of equal flow)."""
        key = (stretch.id, duties)
        if key not in self._ladders:
            self._ladders[key] = self._like(stretch, duties).named(stretch.id)
        return self._ladders[key]

    def _like(self, stretch: StretchTable, duties: tuple[str, ...]) -> Ladder:
        """The ladder of a stretch, or of one that shares its tables."""
        tables = (stretch.duties, stretch.table, stretch.rating_head_m)
        key = (*map(id, tables), duties, stretch.id in self.reading.drop_ids)
        if key not in self._alike:
            self._alike[key] = self._read(stretch, duties)
        return self._alike[key]

    def _read(self, stretch: StretchTable, duties: tuple[str, ...]) -> Ladder:
        ways = [(u, j) for u in duties for j in stretch.builds if self._allowed(stretch, u, j)]
        builds = [stretch.table[way] for way in ways]
        share = self.reading.problem.requirements.drain_back_share
        water = np.array([share * b.volume_m3 for b in builds])
        price = np.array([float(b.cost_cents) for b in builds])
        return Ladder(
            stretch.id,
            tuple(ways),
            np.array([b.loss_m for b in builds]),
            np.array([self._base_m(stretch.id, u, stretch.table[u, j]) for u, j in ways]),
            water if self.setting.count_volume else np.zeros(len(builds)),
            price + self.setting.cents_per_m3 * water,
        )

    def _allowed(self, stretch: StretchTable, duty: str, build: str) -> bool:
        if (duty, build) not in stretch.table:
            return False
        if stretch.rating_head_m[build] < self.setting.shut_off_m:
            return False
        return self.reading.most_head_m(stretch, duty, build) >= self.setting.throttled_m

    def _base_m(self, stretch: str, duty: str, build: Build) -> float:
        """Head a drop asks for, less its loss: its outlet's level, or more to hold the drift."""
        if stretch not in self.reading.drop_ids:
            return NOTHING_NEEDED
        level = self.reading.tables.duty[stretch, duty].outlet_level_m or 0.0
        rise = self.reading.tables.rise_m(stretch, duty)
        return max(level, level + rise * self.setting.authority - build.loss_m)


@dataclass(frozen=True)
class RowFront:
    """The front of a branch under one plan, or of nothing.

    Attributes:
        points: the front.
        plan: the plan; None for nothing.
        branches: what finds its pipe again.
    """

    points: Points
    plan: BranchPlan | None
    branches: Branches

    def walk(self, point: int, found: Walk) -> None:
        """Note what a point of the front is made of."""
        if self.plan is not None:
            walked(self.branches.part(self.plan), point, found)
