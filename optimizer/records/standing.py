"""What stands already, piece by piece: to keep it costs nothing, to change it costs its full price.

Each record names a thing of the site by the id that its candidate network gives it, so that the
program may keep it or choose another in its place.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class StandingStretch:
    """A stretch of supply pipe that is laid, and at a drop the valve that is in it.

    Attributes:
        stretch: the stretch, by its id in the candidate network.
        pipe: its pipe, by catalog id.
        valve: at a drop, its valve, by catalog id; None where none stands.
    """

    stretch: str
    pipe: str
    valve: str | None = None


@dataclass(frozen=True)
class StandingDrain:
    """A stretch of return pipe that is laid.

    Attributes:
        stretch: the stretch, by the id ``return ...`` that the program gives it.
        pipe: its pipe, by catalog id.
        slope: its fall over its length, above 0.
    """

    stretch: str
    pipe: str
    slope: float


@dataclass(frozen=True)
class StandingSiphon:
    """The siphon that stands in every standing bed of one bed type.

    What is None is as a design would have it.

    Attributes:
        bed_type: the bed type.
        kit: the siphon kit, by catalog id.
        crest_level_m: top of the standpipe over the bed's floor.
        drain_level_m: upper edge of the bell's slots over the bed's floor.
        drain_drop_m: how far its outlet lies below the bed's floor.
        bell: the bell's pipe, by catalog id.
        bell_height_m: underside of the bell's cap over the bed's floor.
    """

    bed_type: str
    kit: str
    crest_level_m: float | None = None
    drain_level_m: float | None = None
    drain_drop_m: float | None = None
    bell: str | None = None
    bell_height_m: float | None = None


@dataclass(frozen=True)
class ChangeLabour:
    """Money for the work of taking out what stands, in the site's currency; 0 where none is named.

    Attributes:
        pipe_per_m: for each metre of standing supply pipe taken out.
        siphon: for each standing siphon.
        valve: for each standing valve.
        pump: for standing pumps, once.
        sump: for a standing sump, once.
        return_per_m: for each metre of standing return pipe taken out.
    """

    pipe_per_m: float = 0.0
    siphon: float = 0.0
    valve: float = 0.0
    pump: float = 0.0
    sump: float = 0.0
    return_per_m: float = 0.0
