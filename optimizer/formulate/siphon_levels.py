"""The levels of a siphon in its bed: as a design would have them, or as they stand."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.errors import FloodwrightError
from optimizer.records.parts import Container, Pipe
from optimizer.records.site import BedType
from optimizer.records.standing import StandingSiphon

BELL_OVER_CREST_M = 0.015
"""Clear height between the standpipe's rim and the bell's cap (common practice, no source)."""

CURTAIN_SHARE = 0.25
"""Clear height under the cap, over the bore, at which water passes it through as much area as the
bore has: pi d h = pi d^2 / 4."""


class NoSuchSiphon(FloodwrightError):
    """A kit that cannot be built into a bed; the message says why."""


@dataclass(frozen=True)
class SiphonLevels:
    """Levels over the bed's floor: slots' upper edge, standpipe's top, bell's cap, outlet."""

    drain_m: float
    crest_m: float
    bell_m: float
    outlet_m: float


def levels_of(
    there: StandingSiphon | None, bed_type: BedType, container: Container, slot_height_m: float
) -> SiphonLevels:
    """Return the levels of a siphon: those measured where it stands, else those of a design.

    Args:
        there: what stands; None for a siphon to be built.
        bed_type: the bed type.
        container: its container.
        slot_height_m: height of slots cut upward from the bell's foot.
    """
    crest = container.depth_m - bed_type.crest_below_rim_m
    if there is None:
        return SiphonLevels(slot_height_m, crest, crest + BELL_OVER_CREST_M, -bed_type.drain_drop_m)
    crest = crest if there.crest_level_m is None else there.crest_level_m
    drop = bed_type.drain_drop_m if there.drain_drop_m is None else there.drain_drop_m
    bell = crest + BELL_OVER_CREST_M if there.bell_height_m is None else there.bell_height_m
    drain = slot_height_m if there.drain_level_m is None else there.drain_level_m
    return SiphonLevels(drain, crest, bell, -drop)


def require_fit(levels: SiphonLevels, standpipe: Pipe, bell: Pipe, container: Container) -> None:
    """Refuse a standing siphon whose sizes do not go together.

    Raises:
        NoSuchSiphon: with the first reason.
    """
    if bell.bore_m <= standpipe.outside_m:
        raise NoSuchSiphon("its bell is not wider than its standpipe")
    if levels.crest_m >= container.depth_m:
        raise NoSuchSiphon("its standpipe is as tall as the bed or taller: water spills first")
    if levels.crest_m <= levels.drain_m:
        raise NoSuchSiphon("its standpipe ends below the slots of its bell")
    if levels.bell_m - levels.crest_m < least_cap_gap_m(standpipe.bore_m):
        raise NoSuchSiphon("its bell is too low: the cap chokes the standpipe's mouth")


def least_cap_gap_m(bore_m: float) -> float:
    """Return the least clear height from a standpipe's rim up to the bell's cap."""
    return min(BELL_OVER_CREST_M, CURTAIN_SHARE * bore_m)
