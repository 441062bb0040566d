"""The key of the plan: what each kind of line and mark stands for, in rows under the scale bar."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.records.design import Design
from optimizer.report.labels import width_px

SUPPLY, RETURN = "supply pipe", "return pipe, falling to the sump"
INLET, VENT = "water enters a bed", "vented tee under a siphon"
TANK_MARK = "tank over the beds"
TIMED_MARK = "timed valve of a zone"

SAMPLE_PX, GAP_PX, SPACE_PX, ROW_PX, EDGE_PX = 30.0, 8.0, 22.0, 20.0, 8.0


@dataclass(frozen=True)
class KeyEntry:
    """One entry: its words, and where its sample begins, in pixels from the key's upper left."""

    words: str
    x_px: float
    y_px: float


def key_of(design: Design, width: float, size_px: float) -> list[KeyEntry]:
    """Return the entries a design needs, in as many rows as the width asks for."""
    names = [SUPPLY, RETURN, INLET, VENT] if design.drains else [SUPPLY, INLET]
    names += [TANK_MARK] if design.tank else []
    names += [TIMED_MARK] if design.zones else []
    entries, x, row = [], EDGE_PX, 0
    for name in names:
        long = SAMPLE_PX + GAP_PX + width_px(name, size_px)
        if x > EDGE_PX and x + long > width:
            x, row = EDGE_PX, row + 1
        entries.append(KeyEntry(name, x, (row + 0.5) * ROW_PX))
        x += long + SPACE_PX
    return entries


def key_height_px(entries: list[KeyEntry]) -> float:
    """Return how tall the key is."""
    return max(entry.y_px for entry in entries) + ROW_PX / 2.0
