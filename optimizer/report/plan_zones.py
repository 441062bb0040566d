"""Zones on the plan: the zone of each row in words, and where timed valves stand."""

from __future__ import annotations

from optimizer.records.design import Design
from optimizer.report.shapes import legs

ALONG = 0.12
"""Share of the first straight piece of pipe after which a timed valve is drawn."""


def zone_prefix(design: Design, row: str) -> str:
    """Return a row's zone as the beginning of its words; empty without zones."""
    return "" if design.zones is None else f"{design.zones.zone_of(row).id}: "


def timed_valves_m(design: Design) -> list[tuple[float, float]]:
    """Return where every timed valve is drawn: a little way along the pipe it begins."""
    if design.zones is None:
        return []
    valved = {valve.stretch for valve in design.zones.valves}
    found = []
    for stretch in design.stretches:
        pieces = legs(stretch.points) if stretch.id in valved else []
        if pieces:
            (x0, y0), (x1, y1) = pieces[0]
            found.append((x0 + ALONG * (x1 - x0), y0 + ALONG * (y1 - y0)))
    return found
