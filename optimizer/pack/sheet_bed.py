"""The sheet of one bed: what to cut and drill, its levels, its valve, and its drawing."""

from __future__ import annotations

import math

from optimizer.pack.lengths import Rule
from optimizer.pack.section_bed import bed_section
from optimizer.pack.section_siphon import lift_m, siphon_section
from optimizer.pack.sheets import Grid, Picture, Pictures, Points, Sheet
from optimizer.records.design import Bed, BedKind, Design
from optimizer.report.scales import Reader
from optimizer.report.text_table import Table, make_table

CREST_UNDER_RIM_M = (0.040, 0.065)
"""Where growers put the crest below the bed's rim (1.5 to 2.5 in: common practice, no source)."""

STYLES = {
    "rim_funnel": "The rim carries a funnel: glue it on before you measure the standpipe.",
    "breather_tube": "The breather tube runs from the bell's cap down to the top of the slots.",
}


def bed_sheets(design: Design) -> list[Sheet]:
    """Return one sheet for each bed, each of one page."""
    kinds = {kind.id: kind for kind in design.kinds}
    drawn: dict[tuple[str, float], Pictures] = {}
    sheets: list[Sheet] = []
    for bed in design.beds:
        kind = kinds[bed.kind]
        key = (kind.id, round(bed.outlet_level_m - bed.floor_level_m, 4))
        if key not in drawn:
            drawn[key] = _pictures(kind, bed, design.units)
        blocks = (
            drawn[key],
            Grid(_cut_table(kind, design.units), headed=False),
            Grid(_level_table(design, bed, kind), headed=False),
            Points(_notes(design, kind)),
        )
        sheets.append(Sheet(f"bed_{bed.id}", f"Bed {bed.id}: {kind.label}", blocks, short=bed.id))
    return sheets


def _pictures(kind: BedKind, bed: Bed, units: str) -> Pictures:
    siphon, whole = siphon_section(kind, units), bed_section(kind, bed, units)
    return Pictures(
        (
            Picture(
                siphon.svg(), siphon.width_mm, siphon.height_mm, f"siphon of {kind.label}, to scale"
            ),
            Picture(whole.svg(), whole.width_mm, whole.height_mm, f"{kind.label}, to scale"),
        )
    )


def _cut_table(kind: BedKind, units: str) -> Table:
    rule, parts = Rule(units), kind.parts
    pitch = math.pi * (parts.bell_outside_m or parts.bell_bore_m) / parts.slot_count
    low, high = (rule.nearest(limit) for limit in CREST_UNDER_RIM_M)
    rows = (
        (
            "hole in the floor",
            f"{rule.nearest(parts.bulkhead_hole_m)} across, for the bulkhead; measure the one you "
            "bought before you drill",
        ),
        (
            f"standpipe {parts.standpipe}",
            f"rim {rule.nearest(parts.standpipe_length_m)} over the floor, cut square and level; "
            f"that is {rule.nearest(kind.depth_m - parts.standpipe_length_m)} under the bed's rim "
            f"(common practice: {low} to {high})",
        ),
        (
            f"bell {parts.bell}",
            f"{rule.nearest(parts.bell_height_m)} from its foot to the inside of its cap; cap "
            "airtight",
        ),
        (
            "slots at its foot",
            f"{parts.slot_count} slots, {rule.nearest(parts.slot_width_m)} wide, cut up "
            f"{rule.nearest(parts.slot_height_m)} from the foot, one every {rule.nearest(pitch)} "
            "around",
        ),
        (
            f"gravel guard {parts.guard}",
            f"{rule.nearest(kind.depth_m)} high, bore at least {rule.nearest(parts.guard_bore_m)}; "
            "holes all round, smaller than the medium",
        ),
        ("below the floor", f"outlet {rule.nearest(-kind.siphon.outlet_level_m)} below the floor"),
    )
    return make_table("Cut and drill", "part|size", rows)


def _level_table(design: Design, bed: Bed, kind: BedKind) -> Table:
    reader, rule = Reader(design.units), Rule(design.units)
    drop = next(s for s in design.stretches if s.id == bed.drop)
    rise = abs(drop.points[-1][2] - drop.points[0][2])
    drains = {drain.id: drain for drain in design.drains}
    rows = [
        ("inside floor, from the site's datum", reader.level(bed.floor_level_m)),
        ("water enters at, from the datum", reader.level(bed.outlet_level_m)),
        (
            f"drop pipe {drop.nominal}",
            f"up {rule.nearest(rise)}, then in {rule.nearest(drop.length_m - rise)}",
        ),
        (
            bed.valve_label,
            f"{reader.opening(bed.valve_opening)} open to begin with; then "
            f"{reader.bucket} in {reader.bucket_time(bed.bucket_s)} "
            f"({reader.text('flow', kind.inflow_m3_s)})",
        ),
    ]
    if bed.drain in drains:
        drain = drains[bed.drain]
        gap = bed.siphon_outlet_level_m - drain.upper_invert_m - drain.bore_m
        rows.append(
            (
                f"clear air over return pipe {drain.nominal}",
                f"{rule.nearest(gap)} as designed; keep it open",
            )
        )
    return make_table("This bed", "fact|value", rows)


def _notes(design: Design, kind: BedKind) -> tuple[str, ...]:
    notes = [
        "Gasket on the wet side: flange, then gasket, then the bed's clean floor; the nut below. "
        "Tighten by hand until it no longer turns easily, then no more than a quarter turn: more "
        "squeezes the gasket out (common practice, no source).",
        _bell_note(kind, Rule(design.units)),
    ]
    style = next(p.kind for p in design.shelf if (p.table, p.id) == ("kits", kind.kit))
    if style in STYLES:
        notes.append(STYLES[style])
    return tuple(notes)


def _bell_note(kind: BedKind, rule: Rule) -> str:
    bore = rule.nearest(kind.parts.bell_bore_m)
    where = "on the flange, as drawn" if lift_m(kind) else "on the floor, as drawn"
    return (
        f"Measure the bulkhead's flange. If it is wider than the bell's bore of {bore}, the bell "
        "stands on it: the bed then keeps as much more water as the flange is thick and floods a "
        "little more often than the design says. If it is narrower, the bell stands on the floor. "
        f"Here most likely {where}."
    )
