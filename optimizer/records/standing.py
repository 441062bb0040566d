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
        bore_m: bore of its standpipe, where that is not its kit's.
        crests_m: heights that its standpipe may be cut to, or made longer to.
        crest_was_m: top of the standpipe before that was done; None where it is as it stood.
        bell_was_m: underside of the bell's cap before that.
    """

    bed_type: str
    kit: str
    crest_level_m: float | None = None
    drain_level_m: float | None = None
    drain_drop_m: float | None = None
    bell: str | None = None
    bell_height_m: float | None = None
    bore_m: float | None = None
    crests_m: tuple[float, ...] = ()
    crest_was_m: float | None = None
    bell_was_m: float | None = None


STANDPIPE_WORK = 1.0
"""Money for the work of cutting or lengthening a standpipe where none is named: it must be above 0,
or standpipes would be cut that need not be (A88, assumption, in the site's currency)."""


@dataclass(frozen=True)
class ChangeLabour:
    """Money for the work of changing what stands, in the site's currency.

    Where none is named it is 0, but for standpipes.

    Attributes:
        pipe_per_m: for each metre of standing supply pipe taken out.
        siphon: for each standing siphon.
        valve: for each standing valve.
        pump: for standing pumps, once.
        sump: for a standing sump, once.
        return_per_m: for each metre of standing return pipe taken out.
        standpipe: for each standpipe cut, or made longer.
    """

    pipe_per_m: float = 0.0
    siphon: float = 0.0
    valve: float = 0.0
    pump: float = 0.0
    sump: float = 0.0
    return_per_m: float = 0.0
    standpipe: float = STANDPIPE_WORK
