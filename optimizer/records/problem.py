"""The decision problem as index sets and tables of numbers: all that the program sees.

Money is in whole cents, flow in whole steps of ``flow_step_m3_s``, heads and levels in metres
above the sump's floor. Ids are plain text.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from optimizer.records.mixes import Mix
from optimizer.records.problem_drains import DrainTable
from optimizer.records.requirements import PipeStock, Requirements


@dataclass(frozen=True)
class BedOption:
    """A bed type with one siphon kit and one inflow.

    Attributes:
        id: option id.
        bed_type: the bed type; all built beds of one type share one option.
        kit: the siphon kit.
        inflow_steps: inflow in flow steps.
    """

    id: str
    bed_type: str
    kit: str
    inflow_steps: int


@dataclass(frozen=True)
class BranchPlan:
    """One way to build a branch (a row, or a named position): so many beds of one option.

    Attributes:
        id: plan id.
        branch: the branch; exactly one plan of each branch is chosen.
        option: bed option id, or None for an empty branch.
        beds: beds built, from the branch's start.
        flow_steps: total inflow.
        cost_cents: everything at the beds, without drop pipe and valve.
        area_m2: growing area.
        held_m3: water in the beds when all are full, above what stays after draining.
        duties: the duty each stretch of this branch carries under this plan (absent: none).
        lost_m3: water lost between two top-ups.
        drain_levels_m: drain node to the level its siphon outlet leaves at, one for each bed.
    """

    id: str
    branch: str
    option: str | None
    beds: int
    flow_steps: int
    cost_cents: int
    area_m2: float
    held_m3: float
    duties: Mapping[str, str]
    lost_m3: float = 0.0
    drain_levels_m: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Duty:
    """One thing a stretch may be asked to carry.

    Attributes:
        id: unique within the stretch.
        flow_steps: the flow.
        outlet_level_m: for a drop, the level its water leaves at; None for other stretches.
    """

    id: str
    flow_steps: int
    outlet_level_m: float | None = None


@dataclass(frozen=True)
class Build:
    """One way to build a stretch under a duty: a pipe size, with a valve at a drop.

    Attributes:
        id: build id; builds of a stretch are listed so that price rises.
        cost_cents: pipe and fittings.
        loss_m: head lost at the duty's flow, valve fully open.
        volume_m3: water the pipe holds.
        throttle_m: further head its valve can take up at that flow; infinite where no valve stands.
        pipe: the size of pipe it is bought in; empty where the pipe is laid already.
        pipe_cents: the part of its cost that is pipe by the metre.
        later_cents: the part of its cost that is running cost, no money to spend at first.
    """

    id: str
    cost_cents: int
    loss_m: float
    volume_m3: float
    throttle_m: float = math.inf
    pipe: str = ""
    pipe_cents: int = 0
    later_cents: int = 0


@dataclass(frozen=True)
class StretchTable:
    """A stretch with its duties and, for each duty, the builds allowed.

    Attributes:
        id: stretch id.
        tail: upstream node; ``"pump"`` for the first stretch.
        head: downstream node.
        branch: the branch it serves alone, or None where several branches share it.
        duties: every duty it may carry.
        builds: build ids in order of rising price.
        table: (duty id, build id) to Build; a missing pair is not allowed.
        rating_head_m: build id to the head its pipe is rated for.
        mixes: (duty id, build id) to how part of the stretch may be laid wider; empty where a
            stretch has one size.
    """

    id: str
    tail: str
    head: str
    branch: str | None
    duties: tuple[Duty, ...]
    builds: tuple[str, ...]
    table: Mapping[tuple[str, str], Build]
    rating_head_m: Mapping[str, float]
    mixes: Mapping[tuple[str, str], Mix] = field(default_factory=dict)


@dataclass(frozen=True)
class LevelBand:
    """A band of sump levels the pump runs in: from ``low_m`` to ``high_m`` above the floor."""

    id: str
    low_m: float
    high_m: float


@dataclass(frozen=True)
class PumpDuty:
    """A pump option and a level band at one total flow.

    Attributes:
        pump: the pump option.
        band: the level band.
        flow_steps: the flow, in flow steps.
        head_m: head at the pump outlet above the sump floor, sump at the middle of the band.
        running_cents: present worth of energy.
        authority: least head at a take-off above its bed's outlet, per metre that the outlet lies
            above the lowest outlet; holds the inflow's drift with the sump level in its allowance.
    """

    pump: str
    band: str
    flow_steps: int
    head_m: float
    running_cents: int
    authority: float


@dataclass(frozen=True)
class PumpOption:
    """A pump and how many run in parallel; where a tank feeds the beds, with riser and overflow.

    Attributes:
        id: option id.
        pump: the pump, by catalog id.
        count: how many run.
        cost_cents: its price and the present worth of replacing it.
        shut_off_m: the head at no flow.
        later_cents: the part of the cost that is replacement, no money to spend at first.
        pipe_cents: size of pipe to cents of pipe by the metre laid anew with it: a tank's riser and
            overflow.
        loud_hours: hours a day it runs louder than the site's limit on noise; 0 without one.
    """

    id: str
    pump: str
    count: int
    cost_cents: int
    shut_off_m: float
    later_cents: int = 0
    pipe_cents: Mapping[str, int] = field(default_factory=dict)
    loud_hours: float = 0.0


@dataclass(frozen=True)
class SumpOption:
    """A sump tank, a number of them, and a level band.

    Attributes:
        id: option id.
        sump: the tank, by catalog id.
        count: how many of them.
        band: the level band.
        cost_cents: their price.
        working_m3: volume between the band's low and high level.
        spare_m3: volume between the band's high level and the freeboard, less what a tank gives
            back in a power cut; may be below 0.
        top_m: level of the freeboard's foot, which no drain may end below.
    """

    id: str
    sump: str
    count: int
    band: str
    cost_cents: int
    working_m3: float
    spare_m3: float
    top_m: float = 0.0


@dataclass(frozen=True)
class ZoneTable:
    """Branches that have water together, while those of other zones have none.

    Attributes:
        id: zone id.
        branches: its branches.
        flow_least_steps: least flow in its turn.
    """

    id: str
    branches: tuple[str, ...]
    flow_least_steps: int = 1


@dataclass(frozen=True)
class DesignProblem:
    """Everything the program decides on, as tables.

    Attributes:
        flow_step_m3_s: the flow of one step.
        options: bed options.
        plans: plans of every branch.
        stretches: the supply tree, each stretch after its parent.
        bands: sump level bands.
        pumps: pump options.
        pump_duties: allowed (pump option, band, total flow) triples.
        sumps: sump options.
        requirements: limits over the whole site.
        lowest_outlet_m: lowest outlet level of any option.
        fixed_cents: cost that no decision moves.
        drains: the return tree; empty where return pipes are not designed.
        stock: pipe lying ready.
        zones: groups of branches that have water in turn; empty where all have it at all times.
            Shared stretches, and the pump, are then counted at the flow of the greatest zone.
    """

    flow_step_m3_s: float
    options: tuple[BedOption, ...]
    plans: tuple[BranchPlan, ...]
    stretches: tuple[StretchTable, ...]
    bands: tuple[LevelBand, ...]
    pumps: tuple[PumpOption, ...]
    pump_duties: tuple[PumpDuty, ...]
    sumps: tuple[SumpOption, ...]
    requirements: Requirements
    lowest_outlet_m: float
    fixed_cents: int = 0
    drains: tuple[DrainTable, ...] = ()
    stock: tuple[PipeStock, ...] = ()
    zones: tuple[ZoneTable, ...] = ()
