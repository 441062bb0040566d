"""Which siphons drain together: how many at once, how much through each return stretch.

A siphon's discharge falls from its value at the prime level to that at the slots along a line that
bends upward (its square root law with the inflow still running makes the discharge convex in time),
so the straight line between lies above it. A draining that the run's end cuts off counts as if it
did not fall. So peaks given here are never too low, but where the pump stops under a draining (it
then falls faster than before, and its line bends down there) or a siphon never breaks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from optimizer.physics.arrays import Array
from optimizer.records.design import BuiltDrain, Design
from optimizer.simulate.day.bed_arrays import Flags, Indices
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.segment import Event
from optimizer.simulate.returns import beds_above


@dataclass(frozen=True, eq=False)
class Drainings:
    """Every draining of a run, in order of its beginning; the last of a bed may be cut off.

    Attributes:
        bed: index of the bed.
        begin_s: the siphon primed, or the run began.
        end_s: it broke, or the run ended.
    """

    bed: Indices
    begin_s: Array
    end_s: Array


def drainings(run: DayRun) -> Drainings:
    """Return every draining of a run."""
    mine = (run.code == Event.PRIMES) | (run.code == Event.BREAKS)
    bed, time, primes = run.bed[mine], run.time_s[mine], run.code[mine] == Event.PRIMES
    primed = np.flatnonzero(run.siphoning[0]) if run.siphoning.size else np.zeros(0, dtype=int)
    begun_bed = np.concatenate([primed, bed[primes]])
    begun = np.concatenate([np.zeros(primed.size), time[primes]])
    order = np.lexsort((begun, begun_bed))
    begun_bed, begun = begun_bed[order], begun[order]
    ended_bed, ended = bed[~primes], time[~primes]
    order = np.lexsort((ended, ended_bed))
    ended_bed, ended = ended_bed[order], ended[order]
    counts = np.bincount(ended_bed, minlength=len(run.plant.beds))
    first = np.searchsorted(begun_bed, np.arange(counts.size))
    turn = np.arange(begun.size) - first[begun_bed]
    finished = turn < counts[begun_bed]
    end = np.full(begun.size, run.scenario.end_s)
    before = np.cumsum(counts) - counts
    end[finished] = ended[(before[begun_bed] + turn)[finished]]
    order = np.argsort(begun, kind="stable")
    return Drainings(begun_bed[order], begun[order], end[order])


def together(found: Drainings) -> tuple[Array, Indices]:
    """Return the times at which the number of draining beds changes, and the number from then."""
    times = np.concatenate([found.begin_s, found.end_s])
    steps = np.repeat([1, -1], found.begin_s.size)
    order = np.lexsort((-steps, times))
    return times[order], np.cumsum(steps[order])


def hours_until_at_most(run: DayRun, most: int) -> float | None:
    """Return the hours after which no more than ``most`` siphons drain together to the end.

    Args:
        run: the run.
        most: number of siphons.

    Returns:
        The hours, or None where more drain together within the last tenth of the run still.
    """
    times, count = together(drainings(run))
    over = np.flatnonzero(count > most)
    if over.size == 0:
        return 0.0
    last = int(over[-1])
    until = float(times[last + 1]) if last + 1 < times.size else run.scenario.end_s
    return until / 3600.0 if until <= 0.9 * run.scenario.end_s else None


def share_above(run: DayRun, most: int, begin_s: float, end_s: float) -> float:
    """Return the share of a stretch of time in which more than ``most`` siphons drain."""
    times, count = together(drainings(run))
    if times.size == 0:
        return 0.0
    lengths = np.diff(np.append(np.clip(times, begin_s, end_s), end_s))
    return float(lengths[count > most].sum() / (end_s - begin_s))


@dataclass(frozen=True)
class CollectorPeak:
    """Greatest flow met in one return stretch.

    Attributes:
        stretch: its id.
        peak_m3_s: greatest sum of siphon discharges, never too low.
        time_s: when.
        sized_for_m3_s: flow it was sized for.
        capacity_m3_s: what it carries at its fill limit.
    """

    stretch: str
    peak_m3_s: float
    time_s: float
    sized_for_m3_s: float
    capacity_m3_s: float

    @property
    def passed(self) -> bool:
        """Whether the stretch carries the peak."""
        return self.peak_m3_s <= self.capacity_m3_s


def beds_through(design: Design) -> dict[str, list[int]]:
    """Return the indices of the beds that drain through each return stretch, by its id."""
    index = {bed.id: i for i, bed in enumerate(design.beds)}
    above = beds_above(design)
    return {stretch: [index[bed.id] for bed in beds] for stretch, beds in above.items()}


def collector_peaks(run: DayRun) -> tuple[CollectorPeak, ...]:
    """Return the greatest flow in every return stretch; empty where none was designed."""
    found = drainings(run)
    return tuple(_peak(run, drain, found, mine) for drain, mine in _by_stretch(run, found))


def _by_stretch(run: DayRun, found: Drainings) -> Iterator[tuple[BuiltDrain, Flags]]:
    """Yield every return stretch, and which drainings run through it."""
    through = beds_through(run.plant.design)
    member = np.zeros(len(run.plant.beds), dtype=bool)
    for drain in run.plant.design.drains:
        member[:] = False
        member[through[drain.id]] = True
        yield drain, member[found.bed]


def _peak(run: DayRun, drain: BuiltDrain, found: Drainings, mine: Flags) -> CollectorPeak:
    flow, time = greatest_discharge(run, found, mine)
    return CollectorPeak(drain.id, flow, time, drain.bursts_m3_s, drain.capacity_m3_s)


def straight_falls(run: DayRun, found: Drainings) -> tuple[Array, Array]:
    """Return the terms a, b of each draining's discharge a + b t, t s from the run's start."""
    beds = run.plant.beds
    high = beds.siphon_m3_s(beds.prime_m3)[found.bed]
    low = np.where(found.end_s < run.scenario.end_s, beds.slots_m3_s[found.bed], high)
    slope = (low - high) / np.maximum(found.end_s - found.begin_s, 1.0)
    return high - slope * found.begin_s, slope


def greatest_discharge(run: DayRun, found: Drainings, mine: Flags) -> tuple[float, float]:
    """Return the greatest sum of discharges of some drainings, in m3/s, and when it was."""
    if not mine.any():
        return 0.0, 0.0
    times, fixed, slope = _sum_of_discharges(run, found, mine)
    flows = fixed + slope * times
    at = int(np.argmax(flows))
    return float(flows[at]), float(times[at])


def worst_shares_over(run: DayRun, windows: Sequence[tuple[float, float]]) -> dict[str, float]:
    """Return for every return stretch the share of time in which it gets more than it carries.

    Never too low, as the discharges are not.

    Args:
        run: the run.
        windows: beginnings and ends, in s; the worst of them counts.
    """
    found = drainings(run)
    return {
        drain.id: max(
            _share_over(run, found, mine, drain.capacity_m3_s, window) for window in windows
        )
        for drain, mine in _by_stretch(run, found)
    }


def _share_over(
    run: DayRun, found: Drainings, mine: Flags, flow_m3_s: float, window: tuple[float, float]
) -> float:
    times, fixed, slope = _sum_of_discharges(run, found, mine)
    begin = np.clip(times, *window)
    end = np.append(begin[1:], window[1])
    falling = slope < 0.0
    # Between two events the sum only falls: it is over the flow up to one moment.
    until = np.where(fixed > flow_m3_s, end, begin)
    until[falling] = (fixed[falling] - flow_m3_s) / -slope[falling]
    return float((np.clip(until, begin, end) - begin).sum() / (window[1] - window[0]))


def _sum_of_discharges(run: DayRun, found: Drainings, mine: Flags) -> tuple[Array, Array, Array]:
    """Return the times at which a draining begins or ends, and from each the sum of them all.

    The sum is ``fixed + slope * time``, in m3/s, up to the next time.
    """
    few = Drainings(found.bed[mine], found.begin_s[mine], found.end_s[mine])
    fixed, slope = straight_falls(run, few)
    times = np.concatenate([few.begin_s, few.end_s])
    order = np.lexsort((np.repeat([0, 1], few.bed.size), times))
    return (
        times[order],
        np.cumsum(np.concatenate([fixed, -fixed])[order]),
        np.cumsum(np.concatenate([slope, -slope])[order]),
    )


def collector_frame(run: DayRun) -> pd.DataFrame:
    """Return one row a return stretch: its peak against what it carries."""
    rows = [
        (p.stretch, p.peak_m3_s, p.time_s, p.sized_for_m3_s, p.capacity_m3_s, p.passed)
        for p in collector_peaks(run)
    ]
    columns = ["stretch", "peak_m3_s", "time_s", "sized_for_m3_s", "capacity_m3_s", "passed"]
    return pd.DataFrame(rows, columns=columns)
