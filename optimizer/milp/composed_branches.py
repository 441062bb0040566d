"""The front of one branch under one plan, and the ladders of its stretches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.milp.composed_labels import NOTHING_NEEDED, Ladder, Limits
from optimizer.milp.composed_parts import Part, Workshop
from optimizer.milp.composed_read import Reading
from optimizer.records.problem import BranchPlan, DrainTable, StretchTable

TINY = 1e-9  # metres, m3 and m3/s: what sums of decimals may round by


@dataclass(frozen=True)
class Setting:
    """What is held while fronts are built.

    Attributes:
        options: the bed options that may be used, one for each bed type.
        shut_off_m: every pipe bears this head.
        authority: least head at a take-off over its outlet, for each metre that the outlet lies
            above the lowest.
        supply: whether supply pipe (with plans) is counted.
        returns: whether return pipe is counted.
        most: limits on every point.
        count_volume: whether the pipes' water is carried along.
    """

    options: frozenset[str]
    shut_off_m: float
    authority: float
    supply: bool
    returns: bool
    most: Limits
    count_volume: bool


class Branches:
    """Fronts of branches and ladders of stretches under one setting.

    Args:
        reading: the problem.
        setting: what is held.
        workshop: where parts are made.
    """

    def __init__(self, reading: Reading, setting: Setting, workshop: Workshop) -> None:
        self.reading = reading
        self.setting = setting
        self.workshop = workshop
        self._ladders: dict[tuple[str, tuple[str, ...]], Ladder] = {}
        self._nodes = set(reading.tables.nodes)

    def part(self, plan: BranchPlan) -> Part:
        """The front of a branch built to a plan, at the node it hangs on."""
        workshop, setting = self.workshop, self.setting
        cost = float(plan.cost_cents) if setting.supply else 0.0
        made = workshop.start(cost, NOTHING_NEEDED, plan.id)
        if setting.supply:
            made = self._with(made, self._supply(plan))
        if setting.returns:
            made = self._with(made, self._returns(plan))
        return made

    def _with(self, made: Part, more: Part | None) -> Part:
        return made if more is None else self.workshop.join(made, more)

    def _supply(self, plan: BranchPlan) -> Part | None:
        at: dict[str, Part] = {}
        for stretch in reversed(self.reading.of_branch[plan.branch]):
            duty = plan.duties.get(stretch.id)
            if duty is None:
                continue
            below = at.get(stretch.head) or self.required(stretch.head)
            made = self.workshop.lay(self.ladder(stretch, (duty,)), below)
            at[stretch.tail] = self._with(made, at.get(stretch.tail))
        return at.get(min(self.reading.hangs_on.get(plan.branch, set()), default=""))

    def required(self, node: str) -> Part:
        """What a node itself needs: its head is 0 or more."""
        return self.workshop.start(0.0, 0.0 if node in self._nodes else NOTHING_NEEDED)

    def ladder(self, stretch: StretchTable, duties: tuple[str, ...]) -> Ladder:
        """Every way to build a stretch under any of some duties (of equal flow)."""
        key = (stretch.id, duties)
        if key not in self._ladders:
            self._ladders[key] = self._read(stretch, duties)
        return self._ladders[key]

    def _read(self, stretch: StretchTable, duties: tuple[str, ...]) -> Ladder:
        ways = [
            (u, j)
            for u in duties
            for j in stretch.builds
            if (u, j) in stretch.table and stretch.rating_head_m[j] >= self.setting.shut_off_m
        ]
        builds = [stretch.table[way] for way in ways]
        levels = {u: self.reading.tables.duty[stretch.id, u].outlet_level_m for u in duties}
        drop = stretch.id in self.reading.drop_ids
        loss, base = [], []
        for (u, _), build in zip(ways, builds, strict=True):
            level = levels[u] or 0.0
            loss.append(build.loss_m)
            held = level + self.reading.tables.rise_m(stretch.id, u) * self.setting.authority
            base.append(max(level, held - build.loss_m) if drop else NOTHING_NEEDED)
        share = self.reading.problem.requirements.drain_back_share
        share = share if self.setting.count_volume else 0.0
        return Ladder(
            stretch.id,
            tuple(ways),
            False,
            np.array(loss),
            np.array(base),
            np.array([share * b.volume_m3 for b in builds]),
            np.array([float(b.cost_cents) for b in builds]),
        )

    def _returns(self, plan: BranchPlan) -> Part | None:
        at: dict[str, Part] = {}
        last: str | None = None
        for drain in reversed(self.reading.drains_of_branch.get(plan.branch, [])):
            burst = drain.bursts_m3_s.get(plan.id, 0.0)
            if burst <= 0.0:
                continue
            below = at.get(drain.upper) or self.workshop.start(0.0, NOTHING_NEEDED)
            bed = plan.drain_levels_m.get(drain.upper)
            made = self.workshop.lay(drain_ladder(drain, burst, bed), below)
            at[drain.lower] = self._with(made, at.get(drain.lower))
            last = drain.lower
        return None if last is None else at[last]


def drain_ladder(drain: DrainTable, burst_m3_s: float, bed_level_m: float | None = None) -> Ladder:
    """Every way to lay a return stretch that carries a burst, under a bed or not."""
    builds = [b for b in drain.builds if b.capacity_m3_s >= burst_m3_s - TINY]
    none = NOTHING_NEEDED if bed_level_m is None else 0.0
    return Ladder(
        drain.id,
        tuple(("", b.id) for b in builds),
        True,
        np.array([b.fall_m for b in builds]),
        np.array([b.crown_m - (bed_level_m or 0.0) + none for b in builds]),
        np.zeros(len(builds)),
        np.array([float(b.cost_cents) for b in builds]),
    )
