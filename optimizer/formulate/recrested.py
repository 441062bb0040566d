"""A siphon that stands with its standpipe cut or made longer: what that takes, and its price."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimizer.formulate.bed_kind import FittedBed
from optimizer.formulate.fittings_price import cents
from optimizer.formulate.kept import Kept
from optimizer.formulate.siphon_levels import BELL_OVER_CREST_M
from optimizer.records.parts import Catalog
from optimizer.records.site import BedType
from optimizer.records.standing import StandingSiphon

SAME_HEIGHT_M = 1e-6
"""Heights this near are the same; for rounding alone."""


def recrested(
    there: StandingSiphon, bed_type: BedType, catalog: Catalog
) -> Iterator[StandingSiphon]:
    """Yield a siphon that stands with each height its standpipe may be given.

    Its bell stays where there is room under it; else it becomes taller too.

    Args:
        there: the siphon, with the heights.
        bed_type: its bed type.
        catalog: the parts.
    """
    depth = catalog.containers[bed_type.container].depth_m
    designed = depth - bed_type.crest_below_rim_m
    crest = designed if there.crest_level_m is None else there.crest_level_m
    bell = crest + BELL_OVER_CREST_M if there.bell_height_m is None else there.bell_height_m
    for height in there.crests_m:
        if abs(height - crest) > SAME_HEIGHT_M:
            cap = max(bell, height + BELL_OVER_CREST_M)
            yield replace(
                there, crest_level_m=height, bell_height_m=cap, crest_was_m=crest, bell_was_m=bell
            )


def standpipe_cents(
    there: StandingSiphon | None, kept: Kept, fitted: FittedBed, catalog: Catalog
) -> int:
    """Return the price in cents of a standpipe that is not as it stood; 0 for one that is.

    The work; for a longer one also its pipe, and that of a taller bell. At least 1, so that a
    change is never taken for none.
    """
    if there is None or there.crest_was_m is None:
        return 0
    parts, kit = fitted.siphon.parts, fitted.kit
    price = {(p.series, p.nominal): p.price_per_m for p in catalog.pipes.values()}
    money = kept.labour.standpipe
    if parts.standpipe_length_m > there.crest_was_m:
        length = parts.standpipe_length_m - fitted.siphon.outlet_level_m
        money += length * price[kit.series, kit.nominal]
    if parts.bell_height_m > (there.bell_was_m or 0.0) + SAME_HEIGHT_M:
        own = None if there.bell is None else catalog.pipes[there.bell].price_per_m
        money += parts.bell_height_m * (price[kit.series, parts.bell] if own is None else own)
    return max(1, cents(money))
