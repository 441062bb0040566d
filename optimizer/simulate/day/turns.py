"""When zones change in a simulated run, and which beds have no water meanwhile."""

from __future__ import annotations

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.records.design import Design
from optimizer.records.zones import BuiltZones
from optimizer.simulate.day.bed_arrays import Flags


def change_instants_s(zones: BuiltZones | None, end_s: float) -> list[float]:
    """Return every time before the end of a run at which a timed valve opens or shuts.

    The first zone's turn begins with the run.
    """
    if zones is None:
        return []
    count = int(np.ceil(end_s / zones.turn_s))
    times = [n * zones.turn_s + late for n in range(count) for late in (0.0, zones.change_s)]
    return [time for time in times if 0.0 < time < end_s]


def beds_without_water(design: Design, time_s: float) -> set[str]:
    """Return the beds whose timed valve is shut from a time on, until the next change."""
    zones = design.zones
    if zones is None:
        return set()
    turn = int(np.floor(time_s / zones.turn_s + 1e-9))
    opened = [turn]
    if time_s - turn * zones.turn_s < zones.change_s - 1e-6:
        opened.append(turn - 1)
    rows = {row for n in opened for row in zones.zones[n % len(zones.zones)].rows}
    return {bed.id for bed in design.beds if bed.row not in rows}


def while_valves_move(zones: BuiltZones | None, times_s: Array) -> Flags:
    """Return for each time whether two zones share the water then."""
    if zones is None:
        return np.zeros(times_s.shape, dtype=bool)
    return np.asarray(np.mod(times_s + 1e-6, zones.turn_s) < zones.change_s + 1e-3)
