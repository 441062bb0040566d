"""Return pipe on the plan: drawn beside the supply pipe it runs along, with arrow and vents.

Return pipe shares its route with the supply. All of it is drawn shifted by one vector, so that it
stays in one piece; the vector stands off from every straight piece of pipe as far as it can.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import groupby

from optimizer.records.design import BuiltDrain, Design
from optimizer.report.plan_frame import Frame
from optimizer.report.plan_sump import sump_tanks
from optimizer.report.scales import Reader
from optimizer.report.shapes import Corner, Leg, legs

STANDS_OFF_PX = {False: 10.0, True: 6.0}
"""How far return pipe is drawn from the supply, on a wide plan and on a narrow one."""

DIRECTIONS = 16
SHORT_LEG_M = 0.01


@dataclass(frozen=True)
class Arrow:
    """Where return water enters the sump, and the bearing it comes on (clockwise from up)."""

    at: Corner
    bearing_degrees: float


def shift_m(design: Design, frame: Frame) -> Corner:
    """Return by how much return pipe is drawn beside its route."""
    pieces = [leg for drain in design.drains for leg in _long(drain)]
    off = STANDS_OFF_PX[frame.narrow] / frame.px_per_m
    sump, tanks = (design.sump.x_m, design.sump.y_m), sump_tanks(design)
    turns = [2.0 * math.pi * k / DIRECTIONS for k in range(DIRECTIONS)]
    ways = [(math.cos(turn), math.sin(turn)) for turn in turns]

    def worth(way: Corner) -> tuple[float, bool]:
        inside = tanks.hold((sump[0] + off * way[0], sump[1] + off * way[1]))
        return round(min((_aside(leg, way) for leg in pieces), default=1.0), 6), inside

    best = max(ways, key=worth)
    scale = off / max(worth(best)[0], 0.5)
    return best[0] * scale, best[1] * scale


def _long(drain: BuiltDrain) -> list[Leg]:
    return [leg for leg in legs(drain.points) if math.dist(*leg) > SHORT_LEG_M]


def _aside(leg: Leg, way: Corner) -> float:
    """Return the share of a shift that goes sideways of a straight piece."""
    (x0, y0), (x1, y1) = leg
    return abs((x1 - x0) * way[1] - (y1 - y0) * way[0]) / math.dist(*leg)


def route_m(drain: BuiltDrain, shift: Corner) -> list[Corner]:
    """Return the corners of a return stretch as drawn."""
    return [(p[0] + shift[0], p[1] + shift[1]) for p in drain.points]


def vents_m(design: Design, shift: Corner) -> list[tuple[str, Corner]]:
    """Return each bed that has a return pipe and where its siphon's vented tee is drawn."""
    beds = (bed for bed in design.beds if bed.drain)
    return [(bed.id, (bed.x_m + shift[0], bed.y_m + shift[1])) for bed in beds]


def arrow_into_sump(design: Design, shift: Corner) -> Arrow | None:
    """Return the arrow at the end of the last return stretch; None where none is designed."""
    pieces = _lowest_pieces(design)
    if not pieces:
        return None
    (x0, y0), (x1, y1) = pieces[-1]
    at = x1 + shift[0], y1 + shift[1]
    return Arrow(at, math.degrees(math.atan2(x1 - x0, y1 - y0)) % 360.0)


def _lowest_pieces(design: Design) -> list[Leg]:
    """Return the straight pieces of the lowest return stretch that is not upright."""
    tails = {drain.tail for drain in design.drains}
    lowest = [drain for drain in design.drains if drain.head not in tails]
    while lowest:
        pieces = [piece for drain in lowest for piece in _long(drain)]
        if pieces:
            return pieces
        ends = {drain.tail for drain in lowest}
        lowest = [drain for drain in design.drains if drain.head in ends]
    return []


def drain_groups(design: Design) -> list[list[BuiltDrain]]:
    """Return runs of return pipe of one size and slope, each in the order of the design."""
    ordered = sorted(enumerate(design.drains), key=lambda item: (item[1].row or "", item[0]))
    kept = groupby((d for _, d in ordered), key=lambda d: (d.row, d.nominal, round(d.slope, 3)))
    return [list(group) for _, group in kept]


def drain_words(group: list[BuiltDrain], reader: Reader) -> str:
    """Return size and slope of a run, as ``90 mm falls 1.04 %``."""
    return f"{group[0].nominal} falls {reader.text('slope', group[0].slope)}"
