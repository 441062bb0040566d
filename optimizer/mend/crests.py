"""How high the standpipe of a siphon that stands may be made."""

from __future__ import annotations

import math

from optimizer.mend.as_built import AsBuilt
from optimizer.records.site import BedType
from optimizer.records.standing import StandingSiphon

CREST_STEP_M = 0.01
"""A standpipe is cut or made longer by whole steps of this: what a saw can do (A87, assumption)."""

HAIR_STEPS = 0.005
"""A step short of whole by no more than this is whole: rounding of lengths."""

CRESTS_MOST = 8
"""Heights listed for one siphon; where more steps fit, they are spread evenly (A90, our
choice)."""


def crests_m(built: AsBuilt, there: StandingSiphon, bed_type: BedType) -> tuple[float, ...]:
    """Return the heights to choose among, from that of the bed type to that which stands.

    Where the site says how short a standpipe may be cut, down to that.

    Args:
        built: the system.
        there: the siphon.
        bed_type: its bed type.
    """
    depth = built.catalog.containers[bed_type.container].depth_m
    designed = depth - bed_type.crest_below_rim_m
    crest = designed if there.crest_level_m is None else there.crest_level_m
    least = built.site.standing.standpipe_least_m
    low = min(crest, designed) if least is None else min(crest, designed, least)
    steps = math.floor((max(crest, designed) - low) / CREST_STEP_M + HAIR_STEPS)
    every = max(1, math.ceil(steps / CRESTS_MOST))
    heights = {round(low + n * CREST_STEP_M, 3) for n in range(0, steps + 1, every)}
    return tuple(sorted(heights | {round(designed, 3)}))
