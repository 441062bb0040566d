"""The sheet to set the timer of zones by."""

from __future__ import annotations

from optimizer.pack.sheets import Grid, Points, Sheet, Words
from optimizer.records.design import Design
from optimizer.report.words_zones import zone_rules, zones_sentence, zones_table


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
