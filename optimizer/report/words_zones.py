"""Zones that flood in turn, in words and as the timer's table."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.design import Design
from optimizer.records.zones import BuiltZones
from optimizer.report.scales import Reader, counted
from optimizer.report.text_table import Table, make_table

CHARTS_NOTE = (
    "Charts of floods against inflow, and of one flood, show a bed that has water at all times; in "
    "zones it has it in its turn only."
)


def zones_sentence(design: Design) -> str:
    """Return how many zones turn how fast, and with what; empty without zones."""
    zones = design.zones
    if zones is None:
        return ""
    reader = Reader(design.units)
    floods = "one flood" if zones.floods == 1 else f"{zones.floods} floods"
    count = counted(len(zones.valves), "timed valve")
    watts = reader.text("power", zones.valve_watts)
    return (
        f"{len(zones.zones)} zones in turn, {_clock(zones.turn_s)} each, so every bed has {floods} "
        f"or more every {_clock(zones.rotation_s)}; {count} of {watts} each and a "
        f"{zones.timer_label}"
    )


def zones_table(design: Design) -> Table | None:
    """The timer's table: when each zone's valves open and shut; None without zones."""
    zones, reader = design.zones, Reader(design.units)
    if zones is None:
        return None
    rows = (
        (
            zone.id,
            ", ".join(zone.rows),
            str(sum(bed.row in zone.rows for bed in design.beds)),
            valves_of(design, zone.id),
            begin,
            end,
            reader.text("flow", zone.flow_m3_s),
            reader.text("length", zone.head_m),
            reader.text("power", zone.watts),
        )
        for zone, (begin, end) in zip(zones.zones, clock_of(zones), strict=True)
    )
    columns = "zone|rows|beds|timed valves at the beginning of|opens at|shuts at|flow|head|draws"
    figures = "beds|opens at|shuts at|flow|head|draws"
    return make_table("The timer: one rotation", columns, rows, figures)


def valves_of(design: Design, zone: str) -> str:
    """Return where a zone's timed valves stand, with their sizes."""
    valves = design.zones.valves if design.zones else ()
    return ", ".join(f"{v.stretch} ({v.nominal})" for v in valves if v.zone == zone)


def clock_of(zones: BuiltZones) -> Iterator[tuple[str, str]]:
    """Yield when each zone's valves open and shut, from the beginning of a rotation.

    They shut once those of the next zone have had time to open, the last zone's in the next round.
    """
    for n in range(len(zones.zones)):
        yield _clock(n * zones.turn_s), _clock((n + 1) * zones.turn_s + zones.change_s)


def _clock(time_s: float) -> str:
    """Return a time as a timer shows it.

    >>> _clock(3750.0), _clock(30.0)
    ('1 h 02 min 30 s', '30 s')
    """
    seconds = round(time_s)
    hours, minutes, rest = seconds // 3600, seconds // 60 % 60, seconds % 60
    words = []
    if hours:
        words.append(f"{hours} h")
    if hours or minutes:
        words.append(f"{minutes:02d} min" if hours else f"{minutes} min")
    if rest or not words:
        words.append(f"{rest:02d} s" if words else f"{rest} s")
    return " ".join(words)


def zone_rules(design: Design) -> tuple[str, ...]:
    """Return what must hold for zones to work as designed; empty without zones."""
    zones = design.zones
    if zones is None:
        return ()
    wait_s = zones.rotation_s - zones.turn_s
    return (
        f"Open the next zone's valves before those of the last one shut: both stay open for "
        f"{_clock(zones.change_s)}. A pump that works against shut valves heats its water, wears "
        "and may burst a joint.",
        "When a zone's valves shut, a bed keeps the water it has, and a siphon that runs drains it "
        f"to the end. Roots may so stand in still water for up to {_clock(wait_s)}.",
        "All beds may hold water at once: the sump is sized for that. Do not fill it less because "
        "only one zone runs.",
        "Choose valves that stay as they are when the power fails, full bore, for water with fine "
        "grit. Keep their motors and the timer dry, on the same protected circuit as the pump.",
        "After a power cut start the timer at the beginning of a rotation.",
    )
