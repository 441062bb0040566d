"""Fault finding for this very system: symptom, what it means here in figures, what to do."""

from __future__ import annotations

from optimizer.pack.lengths import Rule
from optimizer.pack.sheets import Grid, Sheet, Words
from optimizer.records.design import BedKind, Design
from optimizer.report.flow_bands import FlowBand, start_band, stop_band
from optimizer.report.plant_tables import lowest_when
from optimizer.report.scales import Reader, rounded
from optimizer.report.tables import beds_above
from optimizer.report.text_table import Table, make_table
from optimizer.report.words_returns import bursts_when

COLUMNS = "symptom|what it means here|do this"


def fault_sheets(design: Design) -> list[Sheet]:
    """Return one table for each kind of bed built, and one for the whole system."""
    kinds = [k for k in design.kinds if any(bed.kind == k.id for bed in design.beds)]
    tables = [Grid(_kind_table(design, kind)) for kind in kinds]
    words = Words(
        "First measure: a bucket and a watch at the inlet, a rule in the bed. Flows are given with "
        "the band within which this design knows them; a bucket narrows it."
    )
    return [Sheet("faults", "When something is wrong", (words, *tables, Grid(_plant(design))))]


def _beds_of(design: Design, kind: BedKind) -> str:
    names = [bed.id for bed in design.beds if bed.kind == kind.id]
    shown = ", ".join(names[:12])
    rest = f" and {len(names) - 12} more" if len(names) > 12 else ""
    return f"{'bed' if len(names) == 1 else 'beds'} {shown}{rest}"


def _flow(reader: Reader, band: FlowBand) -> str:
    span = reader.span("flow", band.low_m3_s, band.high_m3_s)
    return f"{reader.text('flow', band.nominal_m3_s)} (band {span})"


def _kind_table(design: Design, kind: BedKind) -> Table:
    reader, rule, bed = Reader(design.units), Rule(design.units), kind.siphon
    start, stop, set_flow = start_band(kind), stop_band(kind), kind.inflow_m3_s
    beds, inflow = _beds_of(design, kind), reader.text("flow", set_flow)
    spill_s = (kind.depth_m - bed.prime_level_m) * bed.store_m2 / set_flow
    rows = (
        (
            "never starts",
            f"At or below {_flow(reader, start)} {beds} will not start; set is {inflow}. Surely "
            f"enough only if {reader.bucket} fill in less than "
            f"{reader.bucket_at(start.high_m3_s)}.",
            "Open the valve by the bucket. Then look for a cracked cap, a bell that leaks air, a "
            "standpipe that is not level or not round.",
        ),
        (
            "dribbles over the rim",
            f"Water stands between {rule.nearest(bed.crest_level_m)} and "
            f"{rule.nearest(bed.prime_level_m)} over the floor and runs away as fast as it comes: "
            f"{reader.text('flow', start.nominal_m3_s)} do just that.",
            "As for never starts. Wipe the rim clean; lift the bell and let it drop: if the siphon "
            "then starts, the inflow is only just too small.",
        ),
        (
            "never stops",
            f"Above its stop flow of {_flow(reader, stop)} {_each(beds)} will not stop; set is "
            f"{inflow}. Surely little enough only if {reader.bucket} take more than "
            f"{reader.bucket_at(stop.low_m3_s)}.",
            "Close the valve by the bucket. Clear slots and guard of roots. If the outlet dips "
            "into standing water, clear the return pipe and open the tail's vent.",
        ),
        (
            "floods over its rim",
            f"The siphon should start {rule.nearest(kind.depth_m - bed.prime_level_m)} below the "
            f"bed's rim. If it does not, water spills {reader.text('minutes', spill_s)} later, "
            f"{inflow} of it.",
            "Shut the valve. Clear standpipe, bell and guard. Check the standpipe's height: "
            f"{rule.nearest(bed.crest_level_m)} over the floor.",
        ),
        (
            "floods too seldom or too often",
            f"Set: {reader.text('frequency', kind.floods_per_hour)}. With porosity anywhere in its "
            f"band: {_porosity_span(kind, reader)}. Roots and silt take room: faster, smaller "
            "floods.",
            "Measure the inflow first. If it is right, wash or change the medium.",
        ),
    )
    return make_table(f"{kind.label}: {beds}", COLUMNS, rows)


def _each(beds: str) -> str:
    return beds if beds.startswith("bed ") else f"each of {beds}"


def _porosity_span(kind: BedKind, reader: Reader) -> str:
    """Return floods an hour over porosity's band: the cycle takes as long as its store."""
    band = kind.porosity
    fast, slow = (
        kind.floods_per_hour * band.nominal / porosity for porosity in (band.low, band.high)
    )
    return reader.span("frequency", slow, fast)


def _plant(design: Design) -> Table:
    reader, sump, pump = Reader(design.units), design.sump, design.pump
    area = sump.count * sump.area_m2
    most_held = max(kind.held_m3 for kind in design.kinds)
    per_bed = most_held / area
    full = lowest_when(design)
    dry_m3 = (sump.lowest_m - pump.submergence_m) * area
    several = len(design.beds) > 1
    pumps = "The pump" if pump.count == 1 else f"The {pump.count} pumps together"
    rows = [
        *([_starving_row(design, reader)] if several else []),
        (
            "all beds get too little" if several else "the bed gets too little",
            f"{pumps} should give {reader.text('flow', pump.duty_flow_m3_s)} at "
            f"{reader.text('length', pump.duty_head_m)} of head, drawing "
            f"{reader.text('power', pump.duty_watts)}.",
            "Clean strainer and pump. Check the sump's level. Fewer watts than stated: clogged or "
            "sucking air; more: a burst pipe or a valve wide open.",
        ),
        (
            "sump low",
            f"It should not fall below {reader.level(sump.lowest_m)} with {full}. Each "
            f"{reader.text('length', per_bed, 2)} less is one bed's flood "
            f"({reader.text('volume', most_held)}) not come back; "
            f"{reader.text('volume', sump.lost_m3)} are lost between top-ups.",
            "Look for a bed that stands full, then for leaks. Add no more than is lost between "
            "top-ups: a sump filled while beds are full runs over when they drain.",
        ),
        (
            "pump is loud or spits air",
            f"It sucks air below {reader.level(pump.submergence_m)} over the sump's floor, "
            f"{reader.text('volume', max(dry_m3, 0.0))} under the lowest level it should see.",
            "Switch off. Fill up. Lay the pump lower or put a plate over its inlet. Rattling at a "
            "full sump: a stone in the wheel.",
        ),
        (
            "sump runs over",
            f"It should not rise above {reader.level(sump.highest_m)}, after a power cut "
            f"{reader.level(sump.power_cut_m)}; its rim is at {reader.level(sump.depth_m)}.",
            "Too much water was added: take some out with all beds drained. Then look at the "
            "non-return valve, if there is one.",
        ),
    ]
    if design.drains:
        rows.append(_returns_row(design, reader))
    return make_table("Pump, sump and pipes", COLUMNS, rows)


def _starving_row(design: Design, reader: Reader) -> tuple[str, str, str]:
    last = min(design.beds, key=lambda bed: bed.valve_head_m)
    return (
        "one bed starves, others run well",
        f"Bed {last.id} has least to spare: its valve takes up "
        f"{reader.text('length', last.valve_head_m)} of head. It is the first to feel a clogged "
        "strainer or air in a high point.",
        "Open its valve. If it is fully open and still short, clean the strainer, bleed the "
        "clean-outs, then close the nearest beds a little by the bucket.",
    )


def _returns_row(design: Design, reader: Reader) -> tuple[str, str, str]:
    tight = max(design.drains, key=lambda drain: drain.bursts_m3_s / drain.capacity_m3_s)
    share = rounded(100.0 * tight.bursts_m3_s / tight.capacity_m3_s)
    when = bursts_when(design, beds_above(design)[tight.id])
    return (
        "return pipe backs up or gurgles",
        f"Fullest is {tight.id}: {reader.text('flow', tight.bursts_m3_s)} {when}, {share} % of "
        f"what it may carry at {reader.text('slope', tight.slope)}.",
        "Flush from the clean-outs. Check the fall with a level. See that every tail's vent is "
        "open.",
    )
