"""Do siphons fall into step: the phase order of beds over time.

A bed's phase runs from 0 at one break to 1 at the next. The order of a group is the length of the
mean of exp(2 pi i phase): 1 where all are in step, 0 where they are spread evenly, and for n beds
at independent random phases about sqrt(pi / 4n) on average.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from optimizer.physics.arrays import Array
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.segment import Event

EVERY_BED = "every bed"


def phases(run: DayRun, time_s: Array) -> Array:
    """Return every bed's phase at times, (times, beds), counted in cycles.

    NaN before a bed's first break and after its last.
    """
    times, bed = run.times_of(Event.BREAKS)
    found = np.full((time_s.size, len(run.plant.beds)), np.nan)
    for i in range(len(run.plant.beds)):
        breaks = times[bed == i]
        if breaks.size > 1:
            turns = np.arange(breaks.size, dtype=np.float64)
            found[:, i] = np.interp(time_s, breaks, turns, left=np.nan, right=np.nan)
    return found


def order_of(phase: Array) -> Array:
    """Return the phase order of rows of phases, leaving out NaN; NaN for rows of fewer than 2."""
    known = np.isfinite(phase)
    turned = np.where(known, np.exp(2j * np.pi * np.where(known, phase, 0.0)), 0.0)
    count = known.sum(axis=1)
    order = np.abs(turned.sum(axis=1)) / np.maximum(count, 1)
    return np.where(count > 1, order, np.nan)


def order_frame(run: DayRun, step_s: float = 600.0) -> pd.DataFrame:
    """Return the phase order over time: time_s, group (a kind of bed, or every bed), order, beds.

    Beds of a kind have one nominal cycle. ``beds`` counts those between two breaks, whose phase is
    known. ``by_chance`` is the mean order of the whole group at independent random phases,
    sqrt(pi / 4n).

    Args:
        run: the run.
        step_s: step between times.
    """
    times = np.arange(0.0, run.scenario.end_s, step_s)
    phase, beds = phases(run, times), run.plant.design.beds
    groups = {
        kind.id: [i for i, b in enumerate(beds) if b.kind == kind.id]
        for kind in run.plant.design.kinds
    }
    groups[EVERY_BED] = list(range(len(beds)))
    frames = [
        pd.DataFrame(
            {
                "time_s": times,
                "group": name,
                "order": order_of(phase[:, mine]),
                "beds": np.isfinite(phase[:, mine]).sum(axis=1),
                "by_chance": np.sqrt(np.pi / (4.0 * max(1, len(mine)))),
            }
        )
        for name, mine in groups.items()
    ]
    return pd.concat(frames, ignore_index=True)
