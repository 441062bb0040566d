"""Lookups prepared once from a DesignProblem, so that every row is written without a search."""

from __future__ import annotations

from collections import defaultdict
from functools import cached_property

from optimizer.records.mixes import Mix
from optimizer.records.problem import (
    BranchPlan,
    Build,
    DesignProblem,
    Duty,
    PumpDuty,
    StretchTable,
    ZoneTable,
)
from optimizer.records.problem_drains import DrainTable

PUMP_NODE = "pump"
SUMP_NODE = "sump"


class Tables:
    """Every index set and lookup the families need.

    Args:
        problem: the decision problem.

    Raises:
        ValueError: where the problem's own ids do not fit together.
    """

    def __init__(self, problem: DesignProblem) -> None:
        self.problem = problem
        self.stretch = {s.id: s for s in problem.stretches}
        _refuse_loose_ids(self)

    @cached_property
    def plans_of_branch(self) -> dict[str, list[BranchPlan]]:
        """Branch to its plans."""
        found: dict[str, list[BranchPlan]] = defaultdict(list)
        for plan in self.problem.plans:
            found[plan.branch].append(plan)
        return dict(found)

    @cached_property
    def plans_of_option(self) -> dict[tuple[str, str], list[str]]:
        """(Branch, bed option) to the plans of the branch that build this option."""
        found: dict[tuple[str, str], list[str]] = defaultdict(list)
        for plan in self.problem.plans:
            if plan.option is not None:
                found[plan.branch, plan.option].append(plan.id)
        return dict(found)

    @cached_property
    def options_of_type(self) -> dict[str, list[str]]:
        """Bed type to its options."""
        found: dict[str, list[str]] = defaultdict(list)
        for option in self.problem.options:
            found[option.bed_type].append(option.id)
        return dict(found)

    @cached_property
    def root(self) -> StretchTable:
        """The stretch that leaves the pump."""
        roots = [s for s in self.problem.stretches if s.tail == PUMP_NODE]
        if len(roots) != 1:
            raise ValueError(f"one stretch must leave the pump, found {len(roots)}")
        return roots[0]

    @cached_property
    def duty(self) -> dict[tuple[str, str], Duty]:
        """(Stretch, duty id) to the duty."""
        return {(s.id, u.id): u for s in self.problem.stretches for u in s.duties}

    @cached_property
    def build(self) -> dict[tuple[str, str, str], Build]:
        """Allowed (stretch, duty, build) to what it costs, loses and holds."""
        return {
            (s.id, u.id, j): s.table[u.id, j]
            for s in self.problem.stretches
            for u in s.duties
            for j in s.builds
            if (u.id, j) in s.table
        }

    @cached_property
    def stretch_builds(self) -> list[tuple[str, str]]:
        """Every (stretch, build)."""
        return [(s.id, j) for s in self.problem.stretches for j in s.builds]

    @cached_property
    def pipe_of_build(self) -> dict[tuple[str, str], str]:
        """(Stretch, build) to the size of pipe it is bought in; empty where it is laid already."""
        return {(s, j): made.pipe for (s, _, j), made in self.build.items()}

    @cached_property
    def sizes(self) -> list[str]:
        """Every size of pipe that may be laid anew, where their number is limited; else none."""
        if self.problem.requirements.pipe_sizes_most is None:
            return []
        supply = [b.pipe for b in self.build.values()]
        returns = [b.pipe for s in self.problem.drains for b in s.builds]
        lifts = [size for p in self.problem.pumps for size in p.pipe_cents]
        return [size for size in dict.fromkeys([*supply, *returns, *lifts]) if size]

    @cached_property
    def builds_of_duty(self) -> dict[tuple[str, str], list[str]]:
        """(Stretch, duty) to the builds allowed under it."""
        found: dict[tuple[str, str], list[str]] = {key: [] for key in self.duty}
        for s, u, j in self.build:
            found[s, u].append(j)
        return found

    @cached_property
    def duties_of_build(self) -> dict[tuple[str, str], list[str]]:
        """(Stretch, build) to the duties it may carry."""
        found: dict[tuple[str, str], list[str]] = {key: [] for key in self.stretch_builds}
        for s, u, j in self.build:
            found[s, j].append(u)
        return found

    @cached_property
    def triples_of_stretch(self) -> dict[str, list[tuple[str, str, str]]]:
        """Stretch to its allowed (stretch, duty, build) triples."""
        found: dict[str, list[tuple[str, str, str]]] = {s: [] for s in self.stretch}
        for key in self.build:
            found[key[0]].append(key)
        return found

    @cached_property
    def mix(self) -> dict[tuple[str, str, str], Mix]:
        """(Stretch, duty, build) to how part of it may be laid wider."""
        return {(s.id, *key): mix for s in self.problem.stretches for key, mix in s.mixes.items()}

    @cached_property
    def next_build(self) -> dict[tuple[str, str], str]:
        """(Stretch, build) to the next dearer build; the dearest has none."""
        return {
            (s.id, j): dearer
            for s in self.problem.stretches
            for j, dearer in zip(s.builds, s.builds[1:], strict=False)
        }

    @cached_property
    def plans_with_duty(self) -> dict[tuple[str, str], list[str]]:
        """(Stretch, duty) to the plans that put this duty on the stretch."""
        found: dict[tuple[str, str], list[str]] = {key: [] for key in self.duty}
        for plan in self.problem.plans:
            for key in plan.duties.items():
                found[key].append(plan.id)
        return found

    @cached_property
    def shared(self) -> list[StretchTable]:
        """Stretches that several branches share."""
        return [s for s in self.problem.stretches if s.branch is None]

    @cached_property
    def children(self) -> dict[str, list[str]]:
        """Stretch to the stretches that leave its downstream end."""
        leaving: dict[str, list[str]] = defaultdict(list)
        for s in self.problem.stretches:
            leaving[s.tail].append(s.id)
        return {s.id: leaving[s.head] for s in self.problem.stretches}

    @cached_property
    def branches_below(self) -> dict[str, dict[str, None]]:
        """Stretch to the branches it feeds, in reading order."""
        below: dict[str, dict[str, None]] = {}
        for s in reversed(self.problem.stretches):
            below[s.id] = {} if s.branch is None else {s.branch: None}
            for child in self.children[s.id]:
                below[s.id].update(below[child])
        return below

    @cached_property
    def zone(self) -> dict[str, ZoneTable]:
        """Zone by id."""
        return {z.id: z for z in self.problem.zones}

    def branches_of_zone_below(self, stretch: str, zone: str) -> list[str]:
        """The branches of a zone that a stretch feeds, in reading order."""
        mine = set(self.zone[zone].branches)
        return [branch for branch in self.branches_below[stretch] if branch in mine]

    @cached_property
    def zones_sharing(self) -> list[tuple[str, str]]:
        """(Shared stretch, zone) where branches of more than one zone hang on the stretch."""
        found: list[tuple[str, str]] = []
        for s in self.shared:
            below = [z for z in self.zone if self.branches_of_zone_below(s.id, z)]
            found += [(s.id, z) for z in below] if len(below) > 1 else []
        return found

    @cached_property
    def at_one_time(self) -> list[StretchTable]:
        """Shared stretches whose branches all have water at one time."""
        apart = {stretch for stretch, _ in self.zones_sharing}
        return [s for s in self.shared if s.id not in apart]

    @cached_property
    def greatest_shut_off_m(self) -> float:
        """The greatest head of any pump at no flow, above the sump's floor."""
        heads = [p.shut_off_m for p in self.problem.pumps]
        middles = [(w.low_m + w.high_m) / 2.0 for w in self.problem.bands]
        return max(heads, default=0.0) + max(middles, default=0.0)

    @cached_property
    def drops(self) -> list[str]:
        """Stretches that end at a bed."""
        return [s.id for s in self.problem.stretches if any(_is_drop(u) for u in s.duties)]

    @cached_property
    def nodes(self) -> list[str]:
        """The pump and every node whose head matters: all but the ends of drops."""
        drops = set(self.drops)
        kept = {s.tail: None for s in self.problem.stretches}
        kept.update({s.head: None for s in self.problem.stretches if s.id not in drops})
        return list(kept)

    @cached_property
    def root_flows(self) -> dict[int, list[str]]:
        """Total flow, in steps, to the duties of the first stretch that carry it."""
        found: dict[int, list[str]] = defaultdict(list)
        for u in self.root.duties:
            found[u.flow_steps].append(u.id)
        return dict(found)

    @cached_property
    def pump_duty(self) -> dict[tuple[str, str, int], PumpDuty]:
        """(Pump option, band, total flow) to the duty, at flows the first stretch may carry."""
        return {
            (d.pump, d.band, d.flow_steps): d
            for d in self.problem.pump_duties
            if d.flow_steps in self.root_flows
        }

    @cached_property
    def greatest_authority(self) -> float:
        """The greatest authority any pump duty asks for."""
        return max((d.authority for d in self.pump_duty.values()), default=0.0)

    def most_head_m(self, stretch: str, duty: str, build: str) -> float:
        """The greatest head at the pump that a build's nearly shut valve can take up."""
        made = self.build[stretch, duty, build]
        return (self.duty[stretch, duty].outlet_level_m or 0.0) + made.loss_m + made.throttle_m

    @cached_property
    def drain(self) -> dict[str, DrainTable]:
        """Return stretch by id."""
        return {s.id: s for s in self.problem.drains}

    @cached_property
    def drain_from(self) -> dict[str, DrainTable]:
        """Node to the return stretch that leaves it."""
        return {s.upper: s for s in self.problem.drains}

    @cached_property
    def drain_levels(self) -> dict[str, dict[str, float]]:
        """Node under a bed to the plans that build the bed, each with its highest crown."""
        found: dict[str, dict[str, float]] = defaultdict(dict)
        for plan in self.problem.plans:
            for node, level in plan.drain_levels_m.items():
                if node in self.drain_from:
                    found[node][plan.id] = level
        return dict(found)

    @cached_property
    def highest_drain_m(self) -> float:
        """The highest level any plan lets a crown have, and the greatest crown, added."""
        levels = [level for found in self.drain_levels.values() for level in found.values()]
        crowns = [b.crown_m for s in self.problem.drains for b in s.builds]
        return max(levels, default=0.0) + max(crowns, default=0.0)

    @cached_property
    def greatest_head_m(self) -> float:
        """The greatest head any pump duty gives."""
        return max((d.head_m for d in self.pump_duty.values()), default=0.0)

    def rise_m(self, stretch: str, duty: str) -> float:
        """How far a drop's outlet lies above the lowest outlet; 0 for other stretches."""
        level = self.duty[stretch, duty].outlet_level_m
        return 0.0 if level is None else max(0.0, level - self.problem.lowest_outlet_m)


def _is_drop(duty: Duty) -> bool:
    return duty.outlet_level_m is not None


def _refuse_loose_ids(tables: Tables) -> None:
    for plan in tables.problem.plans:
        for stretch, duty in plan.duties.items():
            if (stretch, duty) not in tables.duty:
                raise ValueError(f"plan {plan.id} puts unknown duty {duty} on stretch {stretch}")
            if tables.stretch[stretch].branch != plan.branch:
                raise ValueError(f"plan {plan.id} puts a duty on {stretch} of another branch")
