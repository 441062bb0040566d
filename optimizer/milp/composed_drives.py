"""Pump duties with the sumps they may run in, and what a finished set of pipes allows."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from optimizer.milp.composed_branches import TINY
from optimizer.milp.composed_parts import Walk
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_returns import Laid
from optimizer.milp.fronts import Floats, Whole
from optimizer.milp.tables import PUMP_NODE
from optimizer.records.problem import BranchPlan, DesignProblem, PumpDuty, PumpOption, SumpOption


class Drive(NamedTuple):
    """A pump duty, its pump and the sumps of its band, cheapest first.

    Attributes:
        asks_m: authority asked for; 0 where no bed lies above the lowest.
        throttles: how many builds of drops its head is too great for, counted by their limits.
        cents: cost of the pump and of running it.
    """

    duty: PumpDuty
    pump: PumpOption
    sumps: tuple[SumpOption, ...]
    asks_m: float
    throttles: int
    cents: int


def drives(reading: Reading) -> list[Drive]:
    """Every duty of a pump that may run, that the first stretch may carry, and that fits a sump."""
    pumps = {p.id: p for p in reading.problem.pumps if _may_be_heard(p, reading.problem)}
    bands = {w.id for w in reading.problem.bands}
    sumps: dict[str, list[SumpOption]] = defaultdict(list)
    for sump in sorted(reading.problem.sumps, key=lambda k: (k.cost_cents, k.id)):
        sumps[sump.band].append(sump)
    limits = reading.throttle_limits_m
    return [
        Drive(
            duty,
            pumps[duty.pump],
            tuple(sumps[duty.band]),
            duty.authority if reading.raised else 0.0,
            bisect_left(limits, duty.head_m),
            pumps[duty.pump].cost_cents + duty.running_cents,
        )
        for duty in reading.tables.pump_duty.values()
        if duty.pump in pumps and duty.band in bands and sumps[duty.band]
    ]


def _may_be_heard(pump: PumpOption, problem: DesignProblem) -> bool:
    """Whether a pump is loud for no more hours a day than the site allows."""
    most = problem.requirements.loud_hours_most
    return most is None or pump.loud_hours <= most


class Shelf:
    """Sumps by band, and which of them are worth having.

    Args:
        reading: the problem.
        found: pump duties with the sumps of their bands.
    """

    def __init__(self, reading: Reading, found: Iterable[Drive]) -> None:
        self._room = reading.problem.requirements.drain_back_share > 0.0
        self._level = bool(reading.problem.drains)
        self.most_head_m = max((d.duty.head_m for d in found), default=0.0)
        self._sumps = {d.duty.band: d.sumps for d in found}
        self._working = {w: sorted(k.working_m3 for k in s) for w, s in self._sumps.items()}
        self._known: dict[tuple[str, int], list[tuple[int, SumpOption]]] = {}

    def worth_having(self, band: str, held_m3: float) -> list[tuple[int, SumpOption]]:
        """The sumps that hold some water and that no cheaper one beats in room and in level.

        Args:
            band: the level band.
            held_m3: water held by all beds, and lost.

        Returns:
            Each sump with its place among the band's, cheapest first.
        """
        return self.of_rank(band, bisect_left(self._working[band], held_m3 - TINY))

    def ranks(self, band: str, held_m3: Floats) -> Whole:
        """How many of a band's sumps are too small for each of some amounts of water."""
        return np.searchsorted(self._working[band], held_m3 - TINY).astype(np.int64)

    def of_rank(self, band: str, rank: int) -> list[tuple[int, SumpOption]]:
        """As :meth:`worth_having`, for water that so many sumps of the band are too small for."""
        if (band, rank) not in self._known:
            working = self._working[band]
            self._known[band, rank] = (
                self._unbeaten(band, working[rank]) if rank < len(working) else []
            )
        return self._known[band, rank]

    def _unbeaten(self, band: str, least_m3: float) -> list[tuple[int, SumpOption]]:
        kept: list[tuple[int, SumpOption]] = []
        for place, sump in enumerate(self._sumps[band]):
            if sump.working_m3 >= least_m3 and not any(
                (not self._room or k.spare_m3 >= sump.spare_m3)
                and (not self._level or k.top_m <= sump.top_m)
                for _, k in kept
            ):
                kept.append((place, sump))
        return kept


def by_bearing(reading: Reading, found: Iterable[Drive]) -> list[tuple[float, list[Drive]]]:
    """Drives in classes that the same pipes bear, with the greatest shut-off head of each."""
    ratings = {r for s in reading.problem.stretches for r in s.rating_head_m.values()}
    classes: dict[int, list[Drive]] = defaultdict(list)
    for drive in found:
        classes[sum(1 for r in ratings if r < drive.pump.shut_off_m)].append(drive)
    return [(max(d.pump.shut_off_m for d in c), c) for _, c in sorted(classes.items())]


@dataclass(frozen=True)
class Settled:
    """A whole design: its cost and its parts."""

    cents: int
    walk: Walk
    drive: Drive
    sump: SumpOption
    laid: Laid


@dataclass(frozen=True)
class Pipes:
    """What given plans and supply builds ask of a pump and a sump.

    Attributes:
        flow_steps: total flow.
        cents: cost of plans and supply pipe.
        volume_m3: water that drains back.
        held_m3: water the beds hold.
        least_rating_m: the least rating of any pipe.
        throttled_m: greatest head at the pump that every valve can take up.
        reached_m: head at the pump that lifts water to every outlet and node.
        take_off_m: for each drop the same without the drop's own loss.
        rise_m: how far each outlet lies above the lowest.
    """

    flow_steps: int
    cents: int
    volume_m3: float
    held_m3: float
    least_rating_m: float
    throttled_m: float
    reached_m: float
    take_off_m: Floats
    rise_m: Floats

    def head_m(self, authority: float) -> float:
        """Head the pump must give at an authority."""
        held = self.take_off_m + self.rise_m * authority
        return max(self.reached_m, float(held.max()))

    def bear(self, drive: Drive) -> bool:
        """Whether these pipes work under a pump duty."""
        return (
            drive.duty.flow_steps == self.flow_steps
            and drive.pump.shut_off_m <= self.least_rating_m
            and drive.duty.head_m <= self.throttled_m
            and self.head_m(drive.duty.authority) <= drive.duty.head_m + TINY
        )


def pipes_of(reading: Reading, walk: Walk, plans: Iterable[BranchPlan]) -> Pipes:
    """Add up what plans and builds ask for."""
    kept, tables = list(plans), reading.tables
    lost = {PUMP_NODE: 0.0}
    cents, volume, rating, throttled = sum(p.cost_cents for p in kept), 0.0, np.inf, np.inf
    reached, take_off, rise = 0.0, [0.0], [0.0]
    for stretch in reading.problem.stretches:
        if stretch.id not in walk.builds:
            continue
        u, j = walk.builds[stretch.id]
        build = stretch.table[u, j]
        cents, volume = cents + build.cost_cents, volume + build.volume_m3
        lost[stretch.head] = lost[stretch.tail] + build.loss_m
        rating = min(rating, stretch.rating_head_m[j])
        throttled = min(throttled, reading.most_head_m(stretch, u, j))
        level = tables.duty[stretch.id, u].outlet_level_m if stretch.id in reading.drop_ids else 0.0
        reached = max(reached, lost[stretch.head] + (level or 0.0))
        if stretch.id in reading.drop_ids:
            take_off.append(lost[stretch.tail] + (level or 0.0))
            rise.append(tables.rise_m(stretch.id, u))
    return Pipes(
        tables.duty[tables.root.id, walk.builds[tables.root.id][0]].flow_steps,
        cents,
        reading.problem.requirements.drain_back_share * volume,
        sum(p.held_m3 + p.lost_m3 for p in kept),
        rating,
        throttled,
        reached,
        np.array(take_off),
        np.array(rise),
    )


def cheapest(
    shelf: Shelf, walk: Walk, pipes: Pipes, laid: Laid, found: Iterable[Drive], fixed_cents: int
) -> Settled | None:
    """The cheapest pump duty and sump for pipes that are settled, or None."""
    best: Settled | None = None
    fixed = fixed_cents + pipes.cents
    sumps: dict[str, list[tuple[float, SumpOption]]] = {}
    for drive in found:
        if not pipes.bear(drive):
            continue
        if drive.duty.band not in sumps:
            sumps[drive.duty.band] = _priced(shelf, pipes, laid, drive.duty.band)
        for more, sump in sumps[drive.duty.band][:1]:
            total = fixed + drive.cents + more
            if best is None or total < best.cents:
                best = Settled(round(total), walk, drive, sump, laid)
    return best


def _priced(shelf: Shelf, pipes: Pipes, laid: Laid, band: str) -> list[tuple[float, SumpOption]]:
    """Sumps that fit the pipes, with what they and return pipe above them cost, cheapest first."""
    found = [
        (sump.cost_cents + laid.cents(sump.top_m), sump)
        for _, sump in shelf.worth_having(band, pipes.held_m3)
        if sump.spare_m3 >= pipes.volume_m3 - TINY
    ]
    return sorted((p for p in found if np.isfinite(p[0])), key=lambda p: (p[0], p[1].id))
