"""A stretch of time during which nothing is done to the plant, and what is known when it ends."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import BedArrays, Indices
from optimizer.simulate.day.inflow_table import InflowTable

Codes = NDArray[np.int8]

DAY_S = 86400.0


class Mode(IntEnum):
    """What a bed is doing. HELD: primed, at the slots, air in its siphon but not breaking."""

    FILLING = 0
    DRAINING = 1
    HELD = 2


class Event(IntEnum):
    """What happened to a bed.

    FILLS: its water reached the standpipe's rim. PRIMES: its siphon started, it drains. BREAKS: it
    drained to the slots and the siphon broke. STALLS: over the rim, and the inflow is too small to
    start the siphon. NEVER_BREAKS: primed, and the inflow is too great for it to break.
    """

    FILLS = 0
    PRIMES = 1
    BREAKS = 2
    STALLS = 3
    NEVER_BREAKS = 4


@dataclass(frozen=True, eq=False)
class State:
    """Where every bed stands.

    Attributes:
        volume_m3: water above the drain level.
        mode: a :class:`Mode` for each bed.
        warned: whether a stall or a failure to break has been noted since the last prime or break.
    """

    volume_m3: Array
    mode: Codes
    warned: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Segment:
    """A stretch of time of one setting of everything.

    Attributes:
        begin_s: its start, from the start of the run.
        end_s: its end.
        beds: the beds as they are.
        table: inflows against the sump level; None while the pump stands.
        held_level_m: sump level that inflows are taken at whatever the sump does (no feedback);
            None where they follow the sump.
        area_m2: sump area.
        free_m3: water of sump and beds together at time 0 of the run.
        loss_m3_s: water lost from the sump.
        sample_s: times at which levels are kept, rising, from ``begin_s`` to before ``end_s``.
    """

    begin_s: float
    end_s: float
    beds: BedArrays
    table: InflowTable | None
    held_level_m: float | None
    area_m2: float
    free_m3: float
    loss_m3_s: float
    sample_s: Array

    def level_m(self, time_s: float, held_m3: float) -> float:
        """Return the sump level: what is not in the beds, and not lost, is in the sump."""
        return (self.free_m3 - held_m3 - self.loss_m3_s * time_s) / self.area_m2

    def inflows_m3_s(self, level_m: float) -> Array:
        """Return every bed's inflow with the sump at a level."""
        if self.table is None:
            return np.zeros(len(self.beds))
        held = self.held_level_m
        return self.table.inflows_m3_s(level_m if held is None else held)


@dataclass(frozen=True, eq=False)
class SegmentRun:
    """What happened in a segment.

    Attributes:
        time_s: time of each event, rising.
        bed: index of its bed.
        code: its :class:`Event`.
        state: state at the segment's end.
        volumes_m3: volumes at the sample times, (times, beds).
        siphoning: whether each bed was primed at the sample times.
        node_s: times at which the sump's level is known.
        node_m: those levels.
        method: which engine ran it (march, relax, closed form, still).
        water_error_m3: greatest difference met between the water at the beginning and what the beds
            hold and the sump holds; 0 where the sump is worked out from the beds.
    """

    time_s: Array
    bed: Indices
    code: Codes
    state: State
    volumes_m3: Array
    siphoning: NDArray[np.bool_]
    node_s: Array
    node_m: Array
    method: str
    water_error_m3: float = 0.0
