"""What zones that flood in turn ask of the inflow of a bed."""

from __future__ import annotations

from functools import lru_cache

from optimizer.physics.bed import SiphonBed
from optimizer.physics.turn import (
    Turn,
    floods_per_hour_surely,
    greatest_floods_in_turns,
    inflows_of_a_turn,
    turn_of,
)
from optimizer.records.zones import Zones

Interval = tuple[float, float]


def turn_at(zones: Zones | None, floods_per_hour: float) -> Turn | None:
    """Return the turn that zones whose rows are named need for a number of floods an hour.

    None without zones, or where no time is left for the water.
    """
    if zones is None:
        return None
    return turn_of(floods_per_hour, zones.floods, len(zones.groups), zones.change_s)


@lru_cache(maxsize=4096)
def flooding_inflows(
    bed: SiphonBed, slowest: SiphonBed, zones: Zones | None, least: float, most: float | None
) -> Interval | None:
    """Return the inflows at which a bed floods as often as asked and not too often, or None.

    Args:
        bed: the bed with nominal coefficients.
        slowest: the same as slow as its bands may make it: in its turn it too must be done.
        zones: the zones, or None where every bed has water at all times.
        least: floods an hour, at least.
        most: floods an hour, at most, or None.
    """
    if zones is None:
        return bed.inflow_interval(least, most)
    turn = turn_at(zones, least)
    surely = None if turn is None else inflows_of_a_turn(slowest, turn)
    never_more = None if turn is None else inflows_of_a_turn(bed, turn, most)
    if surely is None or never_more is None:
        return None
    low, high = max(surely[0], never_more[0]), min(surely[1], never_more[1])
    return (low, high) if low < high else None


def greatest_floods(bed: SiphonBed, zones: Zones | None) -> float:
    """Return the most floods an hour that a bed may have at any inflow."""
    if zones is None:
        return bed.greatest_floods()[1]
    return greatest_floods_in_turns(bed, zones.floods, len(zones.groups), zones.change_s)[1]


def floods_at(bed: SiphonBed, inflow_m3_s: float, turn: Turn | None) -> float:
    """Return floods an hour of a bed at an inflow; where it has turns, whole floods in each."""
    if turn is None:
        return bed.floods_per_hour(inflow_m3_s)
    return floods_per_hour_surely(bed, inflow_m3_s, turn)
