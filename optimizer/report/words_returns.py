"""What a grower must know of the return pipe: how it was sized, how it is vented."""

from __future__ import annotations

from optimizer.records.design import Design
from optimizer.report.scales import Reader, rounded


def bursts_rule(design: Design, beds: int) -> str:
    """Return by what rule the bursts of so many beds were counted, in a few words."""
    if beds == 1:
        return "its one bed"
    return f"all {beds} beds" if design.promise.bursts == "all" else f"Hunter, of {beds} beds"


def bursts_when(design: Design, beds: int) -> str:
    """Return when the counted bursts of so many beds meet, as ``when all 4 siphons drain``."""
    if beds == 1:
        return "when its one siphon drains"
    if design.promise.bursts == "all":
        return f"when all its {beds} siphons drain at once"
    return f"when as many of its {beds} siphons drain at once as it was sized for"


def sizing_sentence(design: Design) -> str:
    """Return how return pipe was sized."""
    reader, first = Reader(design.units), design.drains[0]
    if design.promise.bursts == "all":
        counted = "as if every siphon above it fired at the same moment"
    else:
        counted = (
            "for the number of siphons that fire together no more often than the confidence of "
            f"{reader.text('share', design.promise.confidence, 4)} allows (Hunter's binomial "
            "method; it holds only if the beds are started one after another)"
        )
    fill = reader.text("share", first.fill_limit)
    return (
        f"Each stretch is sized {counted}, flowing at most {fill} full, with Manning's n "
        f"{rounded(first.manning_n)}. Inverts are the inside bottom of the pipe and count from "
        "the site's datum, like every level on this page."
    )


def vent_sentence(design: Design) -> str:
    """Return the rule that keeps siphons apart, with the least clear air under an outlet."""
    gap = Reader(design.units).text("size", least_gap_m(design))
    return (
        "Vent every siphon: its pipe ends in a tee over the return pipe, the upper branch of the "
        "tee open to the air, with clear air between its outlet and the crown of the pipe below "
        f"(here {gap} or more). Never join two siphons before their tees, and never let an outlet "
        "dip into standing water: a siphon that cannot breathe neither starts nor stops when it "
        "should, and draws its neighbour along."
    )


def least_gap_m(design: Design) -> float:
    """Return the least clear height between a siphon's outlet and the crown of its return pipe."""
    drains = {drain.id: drain for drain in design.drains}
    return min(
        bed.siphon_outlet_level_m - drains[bed.drain].upper_invert_m - drains[bed.drain].bore_m
        for bed in design.beds
        if bed.drain
    )
