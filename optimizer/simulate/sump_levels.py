"""The sump's levels, recomputed from the water in the system."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from optimizer.physics.held_volume import held_quantile_m3
from optimizer.records.design import BuiltStretch, Design
from optimizer.records.header_tank import TANK


@dataclass(frozen=True)
class SumpLevels:
    """Levels above the sump's floor.

    Attributes:
        lowest_m: as much water in the beds as the promise allows for, and water lost.
        highest_m: all beds drained, just topped up.
        power_cut_m: that, and the pipes drained back.
    """

    lowest_m: float
    highest_m: float
    power_cut_m: float


def sump_levels(design: Design) -> SumpLevels:
    """Return the levels that the fill, the beds, the pipes and the water lost give.

    Args:
        design: the design; its own levels are not read.
    """
    sump = design.sump
    area_m2 = sump.area_m2 * sump.count
    highest_m = (sump.fill_m3 - held_aloft_m3(design)) / area_m2
    return SumpLevels(
        lowest_m=highest_m - (_held_m3(design) + sump.lost_m3) / area_m2,
        highest_m=highest_m,
        power_cut_m=highest_m + drained_back_m3(design) / area_m2,
    )


def held_aloft_m3(design: Design) -> float:
    """Return the water in the full supply pipes and in a tank that feeds the beds."""
    return _pipes_m3(design) + (0.0 if design.tank is None else design.tank.water_m3)


def drained_back_m3(design: Design) -> float:
    """Return the water that runs back to the sump when the pump stops.

    The promised share of the pipes' water. Where a tank feeds the beds it is what stands over its
    outlet and the promised share of the pipes below it; its riser's non-return valve holds.
    """
    share, tank = design.promise.drain_back_share, design.tank
    if tank is None:
        return share * _pipes_m3(design)
    below = _water_m3(s for s in design.stretches if s.head != TANK)
    return share * below + tank.above_outlet_m3


def highest_water_m(design: Design) -> float:
    """Return the highest level the sump's water reaches, on the site's datum."""
    return design.sump.floor_level_m + sump_levels(design).power_cut_m


def _pipes_m3(design: Design) -> float:
    return _water_m3(design.stretches)


def _water_m3(pipes: Iterable[BuiltStretch]) -> float:
    return sum(math.pi / 4.0 * s.bore_m**2 * s.length_m for s in pipes)


def _held_m3(design: Design) -> float:
    """Return what the beds hold together: all full at once, or a quantile where that is promised.

    Where some kind of bed does not cycle at its inflow there is no quantile: all full at once.
    """
    counts, promise = Counter(bed.kind for bed in design.beds), design.promise
    kinds = [(k.siphon, k.inflow_m3_s, counts[k.id]) for k in design.kinds if counts[k.id]]
    cycling = all(siphon.floods_per_hour(inflow) > 0.0 for siphon, inflow, _ in kinds)
    if promise.held == "quantile" and kinds and cycling:
        return held_quantile_m3(kinds, promise.confidence).value_m3
    return math.fsum(count * siphon.held_m3 for siphon, _, count in kinds)
