"""Shopping lines for the timed valves and the timer of zones."""

from __future__ import annotations

from collections import Counter

from optimizer.candidates.zones import TIMED_VALVE
from optimizer.pack.needs import fittings_on_shelf, pipe_sizes
from optimizer.pack.shopping_line import Line, part_line
from optimizer.records.design import Design

GROUP = "Zones"


def zone_lines(design: Design) -> list[Line]:
    """Return the shopping lines of timed valves, by size, and the timer; none without zones."""
    zones = design.zones
    if zones is None:
        return []
    sizes, sold = pipe_sizes(design), fittings_on_shelf(design)
    laid = {stretch.id: sizes[stretch.pipe] for stretch in design.stretches}
    counts = Counter(laid[valve.stretch] for valve in zones.valves)
    lines = [
        part_line(
            GROUP,
            f"timed valve {size.nominal}, motorised",
            count,
            sold.get((TIMED_VALVE, size)),
            "stays as it is without power",
        )
        for size, count in sorted(counts.items(), key=lambda item: item[0].nominal)
    ]
    timer = next((p for p in design.shelf if (p.table, p.id) == ("timers", zones.timer)), None)
    return [*lines, part_line(GROUP, zones.timer_label, 1, timer, "repeats without end")]
