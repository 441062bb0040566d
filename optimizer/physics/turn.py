"""A bed that is given water in turns: what inflows complete its floods in every turn.

A timed valve lets water to a bed for ``open_s`` once in every ``rotation_s``. Let a flood take
``T(q)`` and let the bed be empty down to its floor when its turn begins: it needs ``S h0 / q`` to
reach the drain level, then ``n T(q)`` for ``n`` floods. From any other level it needs no longer, so
whatever was left in the bed, at least ``n`` siphons start in every turn in which

    S h0 / q + n T(q) <= open_s,

and all of them but a last one that is still running end in it too. A siphon that runs when the
valve shuts drains the bed without inflow, sooner than with it. ``T`` is convex and ``1/q`` is
convex, so the inflows that keep the rule are one interval.

No more floods than ``(open_s + D(q)) / T(q)`` can fall to a turn in the long run, where ``D`` is
the time to drain: a bed's place in its cycle moves on by no more than ``open_s`` while it has
water, and afterwards by no more than the rest of one draining.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.physics.roots import least_between, root_between
from optimizer.physics.window import MOST_SHARE

WHOLE = 1e-9
"""Share of a flood by which a turn may miss it: rounding."""

SLOW_SHARES = {"nominal": None, "most": MOST_SHARE, "whole": 1.0}
"""Robustness to how far up its band each coefficient that slows a bed down is taken."""


@dataclass(frozen=True)
class Turn:
    """When a bed has water: for ``open_s`` once in every ``rotation_s``, for ``floods`` floods.

    Raises:
        ValueError: unless 0 < open_s <= rotation_s and floods is 1 or more.
    """

    open_s: float
    rotation_s: float
    floods: int = 1

    def __post_init__(self) -> None:
        if not 0.0 < self.open_s <= self.rotation_s < math.inf or self.floods < 1:
            raise ValueError("a turn needs time, no more of it than the rotation, and a flood")


def turn_of(floods_per_hour: float, floods: int, zones: int, change_s: float) -> Turn | None:
    """Return the turn of equal zones that floods as often as asked; None where none is left.

    Args:
        floods_per_hour: floods an hour that every bed must have over the whole rotation.
        floods: whole floods in one turn.
        zones: number of zones.
        change_s: time at the beginning of a turn while valves move, which is not counted on.
    """
    rotation_s = 3600.0 * floods / floods_per_hour
    open_s = rotation_s / zones - change_s
    return Turn(open_s, rotation_s, floods) if open_s > 0.0 else None


def floods_time_s(bed: SiphonBed, inflow: float, floods: int) -> float:
    """Return how long a bed that is empty to its floor needs for whole floods, in seconds.

    Args:
        bed: the bed.
        inflow: m3/s, above 0; infinite where the siphon does not start or does not break.
        floods: number of floods, 1 or more.
    """
    if inflow > bed.stop_flow_m3_s:
        return math.inf
    return bed.store_m2 * bed.drain_level_m / inflow + floods * bed.cycle_s(inflow)


def floods_in_a_turn(bed: SiphonBed, inflow: float, turn: Turn) -> int:
    """Return the whole floods that a bed surely has in a turn, empty to its floor before it."""
    first_s = floods_time_s(bed, inflow, 1)
    if first_s > turn.open_s * (1.0 + WHOLE):
        return 0
    spare = (turn.open_s - first_s) / bed.cycle_s(inflow)
    return 1 + math.floor(spare + WHOLE)


def floods_per_hour_surely(bed: SiphonBed, inflow: float, turn: Turn) -> float:
    """Return floods an hour over the whole rotation, counting whole floods in every turn."""
    return 3600.0 * floods_in_a_turn(bed, inflow, turn) / turn.rotation_s


def floods_per_hour_at_most(bed: SiphonBed, inflow: float, turn: Turn) -> float:
    """Return what floods an hour over the whole rotation stay below in the long run."""
    if inflow > bed.stop_flow_m3_s or not bed.floods_per_hour(inflow) > 0.0:
        return 0.0
    turns = (turn.open_s + bed.drain_s(inflow)) / bed.cycle_s(inflow)
    return 3600.0 * turns / turn.rotation_s


def greatest_floods_in_turns(
    bed: SiphonBed, floods: int, zones: int, change_s: float
) -> tuple[float, float]:
    """Return the inflow at which equal zones turn fastest, and floods an hour then; 0 for none."""
    found = _quickest(bed, floods)
    if found is None:
        return bed.start_flow_m3_s, 0.0
    inflow, least_s = found
    return inflow, 3600.0 * floods / (zones * (least_s + change_s))


def inflows_of_a_turn(
    bed: SiphonBed, turn: Turn, floods_most: float | None = None
) -> tuple[float, float] | None:
    """Return the inflows at which a bed completes its floods in every turn, and not too many.

    Args:
        bed: the bed; for a promise over bands the slowest it may be, see :func:`slowest_bed`.
        turn: its turn.
        floods_most: most floods an hour over the rotation, or None. Where it cuts, the inflows are
            those below the one at which the bed is quickest: they need less water.

    Returns:
        (low, high) in m3/s inside the start-stop window, or None.
    """
    ends, found = bed.working_inflows, _quickest(bed, turn.floods)
    if ends is None or found is None or found[1] > turn.open_s:
        return None
    best, lowest, highest = found[0], *ends

    def late(inflow: float) -> float:
        return floods_time_s(bed, inflow, turn.floods) - turn.open_s

    low = lowest if late(lowest) <= 0.0 else root_between(late, lowest, best)
    high = highest if late(highest) <= 0.0 else root_between(late, best, highest)
    if floods_most is None or _never_above(bed, turn, floods_most, high):
        return low, high
    return _cut(bed, turn, floods_most, low, min(best, high))


def slowest_bed(
    bed: SiphonBed, start: Band, loss: Band, porosity: Band, robustness: str
) -> SiphonBed:
    """Return a bed with the coefficients that slow it down taken up in their bands together.

    More porosity and loss, and a greater Froude number at the start, lengthen every flood. To the
    top of each band for ``whole``, to 95 % of it for ``most``, not at all for ``nominal``.

    Args:
        bed: the bed with nominal coefficients.
        start: bore Froude number at which the siphon primes.
        loss: K of the primed siphon.
        porosity: drainable share of the medium.
        robustness: nominal, most or whole.
    """
    share = SLOW_SHARES[robustness]
    if share is None:
        return bed
    return replace(
        bed,
        start_froude=start.at(share),
        loss_coefficient=loss.at(share),
        porosity=min(1.0, porosity.at(share)),
    )


def _quickest(bed: SiphonBed, floods: int) -> tuple[float, float] | None:
    """Return the inflow at which whole floods from empty take least time, and that time."""
    if bed.working_inflows is None:
        return None
    dry_m3 = bed.store_m2 * bed.drain_level_m

    def slope(inflow: float) -> float:
        return floods * bed.cycle_slope(inflow) - dry_m3 / inflow**2

    best = least_between(slope, *bed.working_inflows)
    return best, floods_time_s(bed, best, floods)


def _never_above(bed: SiphonBed, turn: Turn, floods_most: float, high: float) -> bool:
    """Whether no inflow up to ``high`` can flood too often: its longest drain, its shortest cycle.

    The drain is longest at the greatest inflow, the cycle shortest at one inflow.
    """
    most = (turn.open_s + bed.drain_s(high)) / bed.cycle_s(bed.greatest_floods()[0])
    return 3600.0 * most / turn.rotation_s <= floods_most


def _cut(
    bed: SiphonBed, turn: Turn, floods_most: float, low: float, high: float
) -> tuple[float, float] | None:
    """Return the inflows of an interval, on which cycles shorten, that flood no more than asked."""

    def excess(inflow: float) -> float:
        return floods_per_hour_at_most(bed, inflow, turn) - floods_most

    high = min(high, bed.greatest_floods()[0])
    if low >= high or excess(low) > 0.0:
        return None
    return low, high if excess(high) <= 0.0 else root_between(excess, low, high)
