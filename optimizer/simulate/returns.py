"""What runs through each stretch of return pipe, worked out from the design itself."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from optimizer.physics.part_full import capacity_m3_s
from optimizer.physics.simultaneity import least_simultaneous
from optimizer.records.design import Bed, BedKind, BuiltDrain, Design
from optimizer.records.promise import Promise


@dataclass(frozen=True)
class Burst:
    """What one bed sends down.

    Attributes:
        flow_m3_s: discharge of its siphon as it primes, the greatest there is.
        share_of_time: share of its time that it drains; 1 where it does not cycle.
    """

    flow_m3_s: float
    share_of_time: float


def burst_of(kind: BedKind) -> Burst:
    """Return the burst of a kind of bed at its promised inflow."""
    siphon, inflow = kind.siphon, kind.inflow_m3_s
    cycling = siphon.floods_per_hour(inflow) > 0.0
    share = siphon.drain_s(inflow) / siphon.cycle_s(inflow) if cycling else 1.0
    return Burst(siphon.discharge_m3_s(siphon.prime_level_m), share)


def beds_above(design: Design) -> dict[str, list[Bed]]:
    """Return, by return stretch, the beds whose water runs through it.

    Args:
        design: a design whose return stretches all lead to the sump.
    """
    named = {drain.id: drain for drain in design.drains}
    leaving = {drain.tail: drain for drain in design.drains}
    above: dict[str, list[Bed]] = {drain.id: [] for drain in design.drains}
    for bed in design.beds:
        drain = named.get(bed.drain)
        while drain is not None:
            above[drain.id].append(bed)
            drain = leaving.get(drain.head)
    return above


def bursts_m3_s(bursts: Sequence[Burst], promise: Promise) -> float:
    """Return the greatest flow that beds send down together, by the promised rule.

    All: every siphon fires at once. Binomial: the m greatest bursts, with Hunter's m at the
    promised confidence for as many beds, all with the greatest share of time of any.

    Args:
        bursts: the bursts of the beds above.
        promise: what the design promises.
    """
    flows = sorted((burst.flow_m3_s for burst in bursts), reverse=True)
    if promise.bursts == "all" or not bursts:
        return math.fsum(flows)
    share = max(burst.share_of_time for burst in bursts)
    return math.fsum(flows[: least_simultaneous(len(flows), share, promise.confidence)])


def fall_m(drain: BuiltDrain) -> float:
    """Return how far a stretch falls from its upper to its lower invert; below 0 if it rises."""
    return drain.upper_invert_m - drain.lower_invert_m


def slope_of(drain: BuiltDrain) -> float:
    """Return fall over length in plan; where it drops straight, the slope it states."""
    return fall_m(drain) / drain.length_m if drain.length_m > 0.0 else drain.slope


def true_capacity_m3_s(drain: BuiltDrain) -> float:
    """Return what a stretch carries at its fill limit and true slope; 0 where it does not fall."""
    slope = max(0.0, slope_of(drain))
    return float(capacity_m3_s(drain.bore_m, slope, drain.manning_n, drain.fill_limit))


def route_m(drain: BuiltDrain) -> float:
    """Return the length of a stretch's route in plan."""
    return sum(math.dist(a[:2], b[:2]) for a, b in pairwise(drain.points))
