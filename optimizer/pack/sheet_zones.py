"""The sheet to set the timer of zones by, and its lines on the shopping list."""

from __future__ import annotations

from optimizer.pack.needs import Size
from optimizer.pack.sheets import Grid, Points, Sheet, Words
from optimizer.pack.shopping_line import Line, part_line
from optimizer.records.design import Design
from optimizer.report.words_zones import zone_rules, zones_sentence, zones_table

GROUP = "Zones"
TIMED_VALVE = "timed_valve"


def timer_sheets(design: Design) -> list[Sheet]:
    """Return the setting sheet of the timer; none where every bed has water at all times."""
    table = zones_table(design)
    if table is None:
        return []
    steps = (
        "Wire the timed valves of one zone to one station, side by side. Have mains wiring done by "
        "a licensed electrician.",
        "Set the timer to the table: a valve opens and shuts at the times given, counted from the "
        "beginning of a rotation, over and over, day and night. The last zone shuts as much after "
        "the next rotation has begun.",
        "Open the zones by hand one after another and set the beds' valves by bucket and watch, "
        "with the timed valves of their own zone open and all others shut.",
        "Watch one whole rotation: every bed of a zone must have begun to drain before its turn "
        "ends.",
    )
    blocks = (
        Words(f"{zones_sentence(design)}."),
        Grid(table),
        Points(steps, numbered=True),
        Points(zone_rules(design)),
    )
    return [Sheet("timer", "Set the timer of the zones", blocks, short="Timer")]


def zone_lines(design: Design) -> list[Line]:
    """Return the shopping lines of timed valves, by size, and the timer; none without zones."""
    zones = design.zones
    if zones is None:
        return []
    pipes = {p.id: Size(p.series, p.nominal) for p in design.shelf if p.table == "pipes"}
    sold = {
        Size(p.series, p.nominal): p
        for p in design.shelf
        if (p.table, p.kind) == ("fittings", TIMED_VALVE)
    }
    laid = {stretch.id: pipes[stretch.pipe] for stretch in design.stretches}
    counts: dict[Size, int] = {}
    for valve in zones.valves:
        counts[laid[valve.stretch]] = counts.get(laid[valve.stretch], 0) + 1
    lines = [
        part_line(
            GROUP,
            f"timed valve {size.nominal}, motorised",
            count,
            sold.get(size),
            "stays as it is without power",
        )
        for size, count in sorted(counts.items(), key=lambda item: item[0].nominal)
    ]
    timer = next((p for p in design.shelf if (p.table, p.id) == ("timers", zones.timer)), None)
    return [*lines, part_line(GROUP, zones.timer_label, 1, timer, "repeats without end")]
