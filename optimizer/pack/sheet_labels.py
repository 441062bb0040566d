"""Labels to cut out, and the cautions."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.pack.sheets import Label, Labels, Points, Sheet, Words
from optimizer.records.design import Design
from optimizer.report import words
from optimizer.report.plant_tables import lowest_when
from optimizer.report.scales import Reader


def labels_sheet(design: Design) -> Sheet:
    """Return labels for every bed's valve, the pump, the sump's levels and every shared pipe."""
    intro = Words("Cut out, laminate, tie on. The sump's labels go at their level.")
    return Sheet("labels", "Labels", (intro, Labels(tuple(_labels(design)))))


def _labels(design: Design) -> Iterator[Label]:
    reader, kinds = Reader(design.units), {kind.id: kind for kind in design.kinds}
    for bed in design.beds:
        kind = kinds[bed.kind]
        yield Label(
            f"Bed {bed.id}",
            (
                f"{kind.label}; {bed.valve_label}",
                f"{reader.opening(bed.valve_opening)} open",
                f"{reader.bucket} in {reader.bucket_time(bed.bucket_s)}",
                reader.text("flow", kind.inflow_m3_s),
            ),
        )
    pump, sump = design.pump, design.sump
    duty = (
        f"{reader.text('flow', pump.duty_flow_m3_s)} at {reader.text('length', pump.duty_head_m)}"
    )
    if pump.count > 1:
        duty = f"all {pump.count} together: {duty}"
    yield Label("Pump", (pump.label, duty, "Pull the plug before you reach in."))
    for name, level in (
        (f"lowest level, {lowest_when(design)}", sump.lowest_m),
        ("set valves at this level", sump.setting_m),
        ("highest level, all beds drained", sump.highest_m),
    ):
        yield Label("Sump", (name, f"{reader.level(level)} over its floor"))
    for valve in design.zones.valves if design.zones else ():
        yield Label(f"Timed valve, {valve.zone}", (f"at {valve.stretch}", valve.nominal))
    for stretch in design.stretches:
        if stretch.row is None or stretch.kind == "riser":
            flow = reader.text("flow", stretch.flow_m3_s)
            yield Label(stretch.id, (f"supply, {stretch.nominal}", flow))
    for drain in design.drains:
        if drain.row is None:
            fall = f"falls {reader.text('slope', drain.slope)}"
            yield Label(drain.id, (f"return, {drain.nominal}", fall))


def cautions_sheet(design: Design) -> Sheet:
    """Return what can hurt whoever builds or keeps this."""
    building = (
        "Cutting and drilling: wear eye protection, clamp the pipe, keep both hands behind the "
        "saw. Take every burr off: shavings clog slots and valves.",
        "Primer and cement give off fumes that harm and burn: work in the open or with air "
        "moving, gloves on, no flame near, and read the tin. Rinse the system and throw the first "
        "water away before fish or crops meet it.",
        "Lift with help: a filled bed is never moved. Fill the medium in place.",
        "Before water goes in, have the stands and the floor judged by someone who may. Let a "
        "licensed electrician make the pump's supply.",
    )
    return Sheet("cautions", "Cautions", (Points((*words.cautions(design), *building)),))
