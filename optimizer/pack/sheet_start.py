"""The commissioning sheet: fill, set the valves, watch a start and a break, write it down."""

from __future__ import annotations

from optimizer.pack.lengths import Rule
from optimizer.pack.sheets import Grid, Points, Sheet, Words
from optimizer.records.design import Bed, BedKind, Design
from optimizer.report.plant_tables import setting_state
from optimizer.report.readings_sheet import headings
from optimizer.report.scales import Reader, rounded
from optimizer.report.text_table import Table, make_table

LEARNT = (
    "One line for one flood: the bucket's time, whether the siphon started, minutes from the break "
    "of the flood before to the start, minutes from the start to the break, whether it broke, and "
    "the highest level over the bed's floor. Leave empty what nobody looked at. Typed into a file "
    "with these columns, the command calibrate finds from them what your siphons do."
)
"""What the lines are for."""

MANY = (
    "Shut every valve but the farthest one.",
    "Open the other valves to their stated opening, row by row, the nearest bed last.",
    "every bed",
    " Setting one changes the others a little: go round twice.",
    "Push the standpipes in, rims level, and put the bells on, one bed after another. As the beds "
    "fill",
)
ONE = (
    "Open the bed's valve.",
    "Turn the valve to its stated opening.",
    "the bed",
    "",
    "Push the standpipe in, its rim level, and put the bell on. As the bed fills",
)
"""What the steps say of several beds, and of one alone."""


def commissioning_sheets(design: Design) -> list[Sheet]:
    """Return what to do in order, what to expect, and a table to write readings in."""
    kinds = [k for k in design.kinds if any(bed.kind == k.id for bed in design.beds)]
    watch = [Words(_watch(kind, design.units)) for kind in kinds]
    steps = Sheet("start", "First start", (Points(_steps(design), numbered=True), *watch))
    setting = Sheet(
        "valves", "Set the valves", (Words(_rule(design)), Grid(_valves(design))), flows=True
    )
    readings = Sheet("readings", "Readings", (Words(LEARNT), Grid(_readings(design), blank=True)))
    return [steps, setting, readings]


def first_fill_m3(design: Design) -> float:
    """Return the water to set the valves with, in m3: standpipes out, pipes full, beds empty.

    The sump then stands at the level at which valves are set. No more than it holds with the pump
    off.
    """
    sump = design.sump
    area = sump.count * sump.area_m2
    in_pipes = sump.fill_m3 - sump.highest_m * area
    return min(sump.setting_m * area + in_pipes, (sump.depth_m - sump.freeboard_m) * area)


def second_fill_m3(design: Design) -> float:
    """Return the water to add as the beds take their first floods, in m3.

    What then runs is what the design says, besides what stays in new beds below their slots.
    """
    return design.sump.fill_m3 - first_fill_m3(design) + kept_below_slots_m3(design)


def kept_below_slots_m3(design: Design) -> float:
    """Return the water that stays in the beds below their slots after the first flood, in m3."""
    kinds = {kind.id: kind.siphon for kind in design.kinds}
    return sum(
        kinds[bed.kind].store_m2 * kinds[bed.kind].drain_level_m
        for bed in design.beds
        if not bed.standing
    )


def _steps(design: Design) -> tuple[str, ...]:
    reader, sump = Reader(design.units), design.sump
    fill, later = first_fill_m3(design), second_fill_m3(design)
    level, dry = fill / (sump.count * sump.area_m2), sump.depth_m - sump.freeboard_m
    many = len(design.beds) > 1
    zoned = (
        " The timer opens one zone at a time: here and below open a bed's own zone by hand and "
        "leave all others shut."
        if design.zones
        else ""
    )
    order = (
        " The command simulate says in which order to open beds so that they do not all drain at "
        "once."
        if many and not design.zones
        else ""
    )
    first, then, through, again, put_in = MANY if many else ONE
    return (
        "Before any water: wash the medium and put the guards in. Leave standpipes and bells out, "
        "so that no bed holds water (standpipes are pushed in, not glued). Check with a level that "
        "every bed is level. Let glued joints cure as long as the tin says.",
        f"Fill the sump with {reader.text('volume', fill)}, to {reader.level(level)} over its "
        "floor, pump off. Look for leaks.",
        f"{first} Start the pump. Open the clean-outs one after another until water comes without "
        f"air, and close them.{zoned}",
        f"{then} Look at every joint. Water must run straight through {through} and back to the "
        f"sump, which now stands near {reader.level(sump.setting_m)}.",
        f"Set {'each' if many else 'the'} valve by bucket and watch (below).{again}",
        f"{put_in} the sump falls: add {reader.text('volume', later)} in all, a part at a time, "
        f"and no more, or the sump runs over once that water drains back.{order}",
        "Watch one whole flood at each bed and write it down.",
        f"After a day the sump must swing between {reader.level(sump.lowest_m)} and "
        f"{reader.level(sump.highest_m)}. Switch the pump off once: water must stop below "
        f"{reader.level(dry)}; expect {reader.level(sump.power_cut_m)}.",
    )


def _watch(kind: BedKind, units: str) -> str:
    reader, rule, bed = Reader(units), Rule(units), kind.siphon
    over = bed.prime_level_m - bed.crest_level_m
    burst = bed.discharge_m3_s(bed.prime_level_m)
    full = reader.text("flow", burst)
    return (
        f"{kind.label}. A start: water climbs to {rule.nearest(bed.crest_level_m)} over the floor, "
        f"runs over the rim about {rule.nearest(over)} deep, first with a trickle, then gulping "
        f"with air; all at once the outlet runs full and quiet, about {full}, "
        f"{rounded(burst / kind.inflow_m3_s, 2)} times the inflow. A break: the level has come "
        f"down to the slots, {rule.nearest(bed.drain_level_m)}; the bell slurps and rattles for "
        "some seconds, the outlet coughs, spits and stops, and the level turns to rise. Expect "
        f"{reader.text('minutes', bed.fill_s(kind.inflow_m3_s))} to fill and "
        f"{reader.text('minutes', bed.drain_s(kind.inflow_m3_s))} to drain."
    )


def _rule(design: Design) -> str:
    reader = Reader(design.units)
    error = reader.text("share", design.promise.valve_setting_error)
    return (
        f"With {setting_state(design)}: hold a {reader.bucket} bucket under the inlet and turn the "
        "valve until it fills in the seconds given; anywhere "
        f"between the two limits (the design allows {error} either way) will do. Then take the "
        "handle off or mark it."
    )


def _valves(design: Design) -> Table:
    reader, kinds = Reader(design.units), {kind.id: kind for kind in design.kinds}
    error = design.promise.valve_setting_error

    def row(bed: Bed) -> tuple[str, ...]:
        kind = kinds[bed.kind]
        siphon, flow = kind.siphon, kind.inflow_m3_s
        return (
            bed.id,
            bed.valve_label,
            reader.opening(bed.valve_opening),
            reader.bucket_time(bed.bucket_s),
            f"{reader.bucket_time(bed.bucket_s / (1.0 + error)).removesuffix(' s')} to "
            f"{reader.bucket_time(bed.bucket_s / (1.0 - error))}",
            reader.text("minutes", siphon.fill_s(flow)),
            reader.text("minutes", siphon.drain_s(flow)),
            reader.text("frequency", kind.floods_per_hour),
        )

    columns = f"bed|valve|open|{reader.bucket} in|between|fills in|drains in|floods"
    return make_table("Valves", columns, map(row, design.beds), columns.split("|", 2)[2])


def _readings(design: Design) -> Table:
    columns = headings(design.units)
    rows = [(bed.id, *[""] * (len(columns) - 1)) for bed in design.beds]
    return make_table("Write down what you measure", "|".join(columns), rows)
