"""What is read from a run: phase order, how many siphons drain together, how fast beds part."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from optimizer.simulate.day.bed_arrays import Indices
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.drainings import drainings, together
from optimizer.simulate.day.in_step import order_of, phases
from optimizer.simulate.day.segment import DAY_S

Array = NDArray[np.float64]

IN_STEP = 0.5
"""Phase order above which beds are called in step here (a choice; 1 is perfect)."""

ORDER_STEP_S = 600.0


def order_series(run: DayRun, mode: int = 1, step_s: float = ORDER_STEP_S) -> tuple[Array, Array]:
    """Return times at which every bed's phase is known, and the order of a pattern there.

    Args:
        run: the run.
        mode: 1 for one cluster, 2 for two opposite ones, and so on.
        step_s: step between times.
    """
    times = np.arange(0.0, run.scenario.end_s, step_s)
    found = phases(run, times)
    whole = np.isfinite(found).all(axis=1)
    return times[whole], order_of(mode * found[whole])


def hours_in_step(run: DayRun) -> float:
    """Return the hours until the order first falls below ``IN_STEP``; NaN if it does not."""
    times, order = order_series(run)
    below = np.flatnonzero(order < IN_STEP)
    return float(times[below[0]]) / 3600.0 if below.size else float("nan")


def counts_held(run: DayRun, begin_s: float, end_s: float) -> Array:
    """Return the share of a stretch of time in which 0, 1, ... all siphons drain together."""
    times, count = together(drainings(run))
    before = np.searchsorted(times, begin_s, side="right")
    at_begin = int(count[before - 1]) if before else 0
    inside = (times > begin_s) & (times < end_s)
    lengths = np.diff(np.concatenate([[begin_s], times[inside], [end_s]]))
    held = np.concatenate([[at_begin], count[inside]])
    shares = np.bincount(held, weights=lengths, minlength=len(run.plant.beds) + 1)
    return np.asarray(shares / (end_s - begin_s))


def times_above(run: DayRun, most: int, begin_s: float, end_s: float) -> int:
    """Return how often the number draining together rises above ``most`` in a stretch of time."""
    times, count = together(drainings(run))
    last = np.append(times[1:] > times[:-1], True)
    times, count = times[last], count[last]
    rises = (count > most) & (np.append(0, count[:-1]) <= most)
    return int(np.sum(rises & (times > begin_s) & (times < end_s)))


def day_rows(run: DayRun, most: int, chances: Array, begin_s: float = 0.0) -> pd.DataFrame:
    """Return one row for each whole day after ``begin_s``.

    Columns: day (from 1), share_above (of the day with more than ``most`` draining), times_above,
    most_together, spread_ratio (variance of the number draining over that of independent siphons),
    order (mean over the day).

    Args:
        run: the run.
        most: Hunter's number.
        chances: share of its cycle that each bed drains.
        begin_s: when the first day begins.
    """
    alone = float(np.sum(chances * (1.0 - chances)))
    times, order = order_series(run)
    rows = []
    for day in range(int((run.scenario.end_s - begin_s + 1.0) // DAY_S)):
        begin, end = begin_s + day * DAY_S, begin_s + (day + 1) * DAY_S
        held = counts_held(run, begin, end)
        number = np.arange(held.size)
        mean = float(held @ number)
        mine = order[(times >= begin) & (times < end)]
        rows.append(
            {
                "day": day + 1,
                "share_above": float(held[most + 1 :].sum()),
                "times_above": times_above(run, most, begin, end),
                "most_together": int(np.flatnonzero(held > 0.0)[-1]),
                "spread_ratio": float(held @ (number - mean) ** 2) / alone,
                "order": float(mine.mean()) if mine.size else float("nan"),
            }
        )
    return pd.DataFrame(rows)


def parting_per_cycle(
    times: Array, bed: Indices, least_s: float = 0.05, most_s: float = 15.0
) -> float:
    """Return the growth a cycle of the spread of break times, as a power of e.

    Fitted over the cycles in which the standard deviation lies between ``least_s``, well above the
    simulation's own error, and ``most_s``, well below a cycle; NaN for fewer than three of them.

    Args:
        times: times of all breaks, rising.
        bed: bed of each.
        least_s: least spread counted.
        most_s: greatest spread counted.
    """
    counts = np.bincount(bed)
    table = np.array([times[bed == i][: counts.min()] for i in range(counts.size)])
    spread = table.std(axis=0)
    small = np.flatnonzero((spread > least_s) & (spread < most_s))
    return float(np.polyfit(small, np.log(spread[small]), 1)[0]) if small.size > 2 else float("nan")


def pattern_per_cycle(run: DayRun, mode: int, cycle_s: float) -> float:
    """Return the growth a cycle of the order of a pattern while it is small, as a power of e."""
    times, order = order_series(run, mode, cycle_s)
    times, order = times[2:], order[2:]
    small = (order > 1e-3) & (order < 0.2)
    if small.sum() < 5:
        return float("nan")
    return float(np.polyfit(times[small] / cycle_s, np.log(order[small]), 1)[0])
