"""Give a hand-built design a return side: the supply's ways walked backward at one slope."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from optimizer.records.design import BuiltDrain, BuiltStretch, Design

SLOPE = 0.02
BORE_M = 0.09
SUMP_INVERT_M = 0.2
BURST_M3_S = 5.0e-4
OUTLET_BELOW_FLOOR_M = 0.15


def with_returns(design: Design) -> Design:
    """The design with a return stretch beside every laid stretch, and every bed draining."""
    laid = [s for s in design.stretches if s.kind != "drop"]
    inverts = {"pump": SUMP_INVERT_M}
    for s in laid:
        inverts[s.head] = inverts[s.tail] + SLOPE * _plan_m(s)
    tails = {s.id: s.tail for s in design.stretches if s.kind == "drop"}
    beds = tuple(
        replace(
            bed,
            drain=next(f"return {s.id}" for s in laid if s.head == tails[bed.drop]),
            siphon_outlet_level_m=bed.floor_level_m - OUTLET_BELOW_FLOOR_M,
        )
        for bed in design.beds
    )
    below = {s.head: s.tail for s in laid}
    counts = dict.fromkeys(below, 0)
    for bed in beds:
        node = tails[bed.drop]
        while node in below:
            counts[node] += 1
            node = below[node]
    drains = tuple(_drain(s, inverts, counts[s.head]) for s in laid)
    return replace(design, beds=beds, drains=drains)


def without_returns(design: Design) -> Design:
    """The design with no return side."""
    beds = tuple(replace(bed, drain="", siphon_outlet_level_m=0.0) for bed in design.beds)
    return replace(design, beds=beds, drains=())


def _plan_m(stretch: BuiltStretch) -> float:
    return sum(math.dist(a[:2], b[:2]) for a, b in pairwise(stretch.points))


def _drain(s: BuiltStretch, inverts: dict[str, float], beds: int) -> BuiltDrain:
    upper, lower = inverts[s.head], inverts[s.tail]
    return BuiltDrain(
        id=f"return {s.id}",
        row=s.row,
        tail=s.head,
        head="sump" if s.tail == "pump" else s.tail,
        points=tuple((x, y, upper) for x, y, _ in reversed(s.points)),
        length_m=_plan_m(s),
        pipe="pipe_90",
        nominal="90 mm",
        bore_m=BORE_M,
        slope=SLOPE,
        upper_invert_m=upper,
        lower_invert_m=lower,
        bursts_m3_s=BURST_M3_S * beds,
        capacity_m3_s=0.0123,
        fill_limit=0.75,
        manning_n=0.011,
    )
