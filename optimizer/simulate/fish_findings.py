"""What simulation says of the promises about a fish tank: turnover, feed, placement."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.physics.fish import feed_supported_kg_per_day, turnover_per_hour
from optimizer.records.check import Finding
from optimizer.records.design import DRAIN_END, Design
from optimizer.records.fish_tank import BuiltFishTank
from optimizer.simulate.findings import at_least, at_most, near_share
from optimizer.simulate.sump_levels import highest_water_m
from optimizer.simulate.tolerances import DRAIN_STEP_M, STATED_SHARE

SUBJECT = "fish tank"
_FEED = "kg/day"


def fish_findings(design: Design, flow_m3_s: float) -> Iterator[Finding]:
    """Yield the findings about the fish tank; none where there is no fish tank.

    The whole pumped flow passes through it: on the return, where all bed water runs through it into
    the sump, or on the supply, where the pump fills it and it feeds the beds.

    Args:
        design: the design.
        flow_m3_s: the pumped flow, all of which passes through the tank.
    """
    if design.fish is not None:
        yield from _turnover_findings(design.fish, flow_m3_s)
        yield from _feed_findings(design, design.fish)
        yield from _place_findings(design, design.fish)


def _turnover_findings(fish: BuiltFishTank, flow_m3_s: float) -> Iterator[Finding]:
    often, least = turnover_per_hour(max(0.0, flow_m3_s), fish.volume_m3), "turnover not too slow"
    stated, promise = fish.turnovers_per_hour, "turnover as stated"
    yield near_share(SUBJECT, promise, stated, often, "1/h", share=STATED_SHARE)
    yield at_least(SUBJECT, least, fish.turnovers_per_hour_least, often, "1/h")


def _feed_findings(design: Design, fish: BuiltFishTank) -> Iterator[Finding]:
    """Feed per square metre of growing area by crop: FAO 589, second hand."""
    kinds = {kind.id: kind for kind in design.kinds}
    area_m2 = sum(kinds[bed.kind].area_m2 for bed in design.beds)
    supported = feed_supported_kg_per_day(area_m2, fish.crop)
    ends = zip(("least", "most"), fish.feed_supported_kg_per_day, supported, strict=True)
    for end, stated, true in ends:
        promise = f"{end} feed that the growing area takes up, as stated"
        yield near_share(SUBJECT, promise, stated, true, _FEED, share=STATED_SHARE)
    promise = "feed no more than the growing area takes up"
    yield at_most(SUBJECT, promise, supported[1], fish.feed_kg_per_day, _FEED)


def _place_findings(design: Design, fish: BuiltFishTank) -> Iterator[Finding]:
    """The tank stands on the return: water runs into it from every bed, and on into the sump.

    Where it feeds the beds, what is asked of its level is asked of the tank that does.
    """
    level_m, water_m = fish.water_level_m, highest_water_m(design)
    yield at_least(SUBJECT, "water above the sump's highest", water_m, level_m, "m")
    if fish.feeds_beds:
        return
    ends = [d.lower_invert_m for d in design.drains if d.head == DRAIN_END]
    outlets = [bed.siphon_outlet_level_m for bed in design.beds]
    promise = "return pipe ends above its water" if ends else "siphons end above its water"
    if ends or outlets:
        yield at_least(SUBJECT, promise, level_m, min(ends or outlets) + DRAIN_STEP_M, "m")
