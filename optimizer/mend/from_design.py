"""A design that was built as designed, as what stands."""

from __future__ import annotations

from optimizer.errors import BadInput, Problem
from optimizer.records.design import Design
from optimizer.records.network import CandidateNetwork
from optimizer.records.stands import BedStands, DrainStands, Stands, StretchStands


def stands_of(design: Design, network: CandidateNetwork) -> Stands:
    """Return what stands where a design was built as it says, its valves open as it says.

    Args:
        design: the design.
        network: the candidate network of its site.

    Raises:
        BadInput: if it is of another site, or leaves places empty.
    """
    _require_whole(design, network)
    kinds, drops = {kind.id: kind for kind in design.kinds}, {s.id: s for s in design.stretches}
    beds = tuple(
        BedStands(
            bed=bed.id,
            bed_type=bed.kind,
            kit=kinds[bed.kind].kit,
            pipe=drops[bed.drop].pipe,
            valve=bed.valve,
            opening=bed.valve_opening,
        )
        for bed in design.beds
    )
    return Stands(
        beds=beds,
        stretches=tuple(StretchStands(s.id, s.pipe) for s in design.stretches if s.kind != "drop"),
        drains=tuple(DrainStands(d.id, d.pipe, d.slope) for d in design.drains),
        pump=design.pump.id,
        pump_count=design.pump.count,
        sump=design.sump.id,
        sump_count=design.sump.count,
        drained_level_m=design.sump.highest_m,
        overflow="" if design.tank is None else design.tank.overflow_pipe,
    )


def _require_whole(design: Design, network: CandidateNetwork) -> None:
    laid, drops = {s.id for s in design.stretches}, {bed.id for bed in design.beds}
    absent = [p.id for p in network.positions if p.id not in drops]
    absent += [s.id for s in network.stretches if s.kind != "drop" and s.id not in laid]
    absent += sorted(laid - {s.id for s in network.stretches})
    if absent:
        what = f"it and the site file differ in {', '.join(absent[:6])}."
        fix = "Give the site file it was designed from, with as many places as beds."
        raise BadInput([Problem("design", what, fix)])
