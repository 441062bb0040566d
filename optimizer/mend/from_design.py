"""A design that was built as designed, as what stands."""

from __future__ import annotations

from optimizer.records.design import Design
from optimizer.records.stands import BedStands, DrainStands, Stands, StretchStands


def stands_of(design: Design) -> Stands:
    """Return what stands where a design was built as it says, its valves open as it says.

    Args:
        design: the design.
    """
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
    )
