"""Which state, point, pump duty and sump go together at least cost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.milp.composed_branches import TINY
from optimizer.milp.composed_labels import Points
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_states import State, States, Table
from optimizer.records.problem import PumpDuty, PumpOption, SumpOption


@dataclass(frozen=True)
class Combination:
    """A whole design as indices into fronts.

    Attributes:
        cents: its cost.
        state: the bed counts.
        point: index in the state's front.
        duty: the pump duty.
        sump: the sump.
    """

    cents: float
    state: State
    point: int
    duty: PumpDuty
    sump: SumpOption


@dataclass(frozen=True)
class Drive:
    """A pump duty with the pump it belongs to and the sumps of its band, cheapest first."""

    duty: PumpDuty
    pump: PumpOption
    sumps: tuple[SumpOption, ...]

    @property
    def cents(self) -> int:
        """Cost of the pump and of running it."""
        return self.pump.cost_cents + self.duty.running_cents


def drives(reading: Reading) -> list[Drive]:
    """Every pump duty that the first stretch may carry and some sump shares the band of."""
    pumps = {p.id: p for p in reading.problem.pumps}
    bands = {w.id for w in reading.problem.bands}
    sumps: dict[str, list[SumpOption]] = defaultdict(list)
    for sump in sorted(reading.problem.sumps, key=lambda k: (k.cost_cents, k.id)):
        sumps[sump.band].append(sump)
    return [
        Drive(duty, pumps[duty.pump], tuple(sumps[duty.band]))
        for duty in reading.tables.pump_duty.values()
        if duty.pump in pumps and duty.band in bands and sumps[duty.band]
    ]


def combinations(
    table: Table, states: States, found: Iterable[Drive], fixed_cents: int
) -> Iterator[Combination]:
    """The cheapest combination of every (state, pump duty) that has one.

    Args:
        table: fronts at the pump by state.
        states: states.
        found: the pump duties to try.
        fixed_cents: cost that no decision moves.
    """
    by_flow: dict[int, list[Drive]] = defaultdict(list)
    for drive in found:
        by_flow[drive.duty.flow_steps].append(drive)
    for state, part in table.items():
        totals = states.totals(state)
        for drive in by_flow.get(totals.flow_steps, ()):
            best = _cheapest(part.points, drive, totals.held_m3)
            if best is not None:
                cents, point, sump = best
                yield Combination(cents + drive.cents + fixed_cents, state, point, drive.duty, sump)


def _cheapest(points: Points, drive: Drive, held_m3: float) -> tuple[float, int, SumpOption] | None:
    """The cheapest (point, sump) under a pump duty: cost of both, point and sump."""
    reached = points.need_m <= drive.duty.head_m + TINY
    best: tuple[float, int, SumpOption] | None = None
    for sump in drive.sumps:
        if best is not None and sump.cost_cents >= best[0]:
            break
        if sump.working_m3 < held_m3 - TINY:
            continue
        fits = (
            reached
            & (points.fall_m <= TINY - sump.top_m)
            & (points.volume_m3 <= sump.spare_m3 + TINY)
        )
        if fits.any():
            cents = np.where(fits, points.cents, np.inf)
            point = int(np.argmin(cents))
            if best is None or cents[point] + sump.cost_cents < best[0]:
                best = (float(cents[point]) + sump.cost_cents, point, sump)
    return best
