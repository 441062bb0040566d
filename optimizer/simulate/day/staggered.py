"""A staggered start: when to open which valve so that siphons drain at different times, and proof.

Which order keeps them apart cannot be planned on paper alone: beds opened early get more water
until all are open, so each order is simulated.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from optimizer.errors import BadInput, Problem
from optimizer.records.design import Design
from optimizer.simulate.day.bed_arrays import Indices
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.drainings import share_above, worst_shares_over
from optimizer.simulate.day.first_start import independent_most
from optimizer.simulate.day.initial import cycle_parts_s, working
from optimizer.simulate.day.plant import Plant, plant_of
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.segment import DAY_S

OPENINGS_MOST = 24
"""Most times at which valves are opened in a staggered start; larger plants open several at once.

A grower can follow some two dozen openings in one cycle (assumption).
"""

SETTLING_CYCLES = 2.0
"""Cycles after the last opening before the start is judged: inflows have to settle."""

VALVE_DRAWS = 3
"""Runs with valves drawn within their error, before siphons are taken for independent (a balance of
time and certainty: the mean of three draws is rough)."""

SPREADS = ((math.sqrt(5.0) - 1.0) / 2.0, math.sqrt(2.0) - 1.0)
"""The golden section and the silver mean less two: numbers whose multiples, taken modulo one, lie
evenly however many follow one another (two of the least well approximated by fractions)."""

_NOTHING_WORKS = Problem(
    "beds",
    "No bed starts and stops at the inflow its valve is set to.",
    "Change the design; floodwright check lists what fails.",
)


@dataclass(frozen=True)
class Opening:
    """Valves to open at one time, minutes after the pump was switched on."""

    minute: float
    beds: tuple[str, ...]


@dataclass(frozen=True)
class StaggeredStart:
    """A start in which valves are opened one after another, and whether it keeps siphons apart.

    Attributes:
        openings: what to open when.
        most_together: siphons that drain together at the confidence, if they were independent.
        confidence: that confidence.
        share_above: for each day simulated, share of it in which more drain together.
        share_above_drawn: for each draw of the valves' errors, the same share of all days but the
            first: beds take about a day to drift past each other. Empty where valves set right do
            not hold already.
        stretch: of the return stretches sized for binomial bursts the one that on its worst day
            gets more than it carries for the greatest share of time, with valves set right; ""
            without such stretches.
        share_over: that share. Drawn valves are not asked: beds of unlike cycles meet on a
            stretch, in the long run, as often as independent ones do.
        run: the run.
    """

    openings: tuple[Opening, ...]
    most_together: int
    confidence: float
    share_above: tuple[float, ...]
    share_above_drawn: tuple[float, ...]
    stretch: str
    share_over: float
    run: DayRun

    @property
    def worst_share_above(self) -> float:
        """The share that decides: of the worst day, or of the mean draw of valves."""
        drawn = self.share_above_drawn
        return max(*self.share_above, sum(drawn) / len(drawn) if drawn else 0.0)

    @property
    def worst_of_all(self) -> float:
        """The worst share, all beds together or by stretch."""
        return max(self.worst_share_above, self.share_over)

    @property
    def holds(self) -> bool:
        """Whether siphons drain together no more than chance would have, all and by stretch."""
        return self.worst_of_all <= 1.0 - self.confidence

    def frame(self) -> pd.DataFrame:
        """Return one row a bed: minute, bed."""
        rows = [(each.minute, bed) for each in self.openings for bed in each.beds]
        return pd.DataFrame(rows, columns=["minute", "bed"])


def staggered_start(design: Design, days: float = 3.0, draws: int | None = None) -> StaggeredStart:
    """Plan a staggered start of a design and run it, from dry.

    One mean cycle is cut into as many equal parts as there are openings; at each one more bed, or
    group of beds, is opened, so that beds which drain through one return stretch lie far apart in
    the cycle. Where the design takes siphons for independent, other orders are tried until one
    holds. Beds whose valves are set a little wrong drift past each other, so that single days may
    be worse than chance; the draws show whether their mean is.

    Args:
        design: the design.
        days: whole days judged, after the start has settled.
        draws: runs with valves set within the error the design promises, beside the one with
            valves set right; None for some where siphons are taken for independent, else none.

    Returns:
        The first order that holds, or the one that falls short by least.

    Raises:
        BadInput: for a design that cannot be.
        NotSolved: if an operating point was not found.
    """
    plant = plant_of(design)
    if draws is None:
        draws = VALVE_DRAWS if _counts_on_chance(design) else 0
    best: StaggeredStart | None = None
    for turns in _orders(design):
        found = _tried(plant, turns, days, draws)
        if best is None or found.worst_of_all < best.worst_of_all:
            best = found
        if found.holds:
            return found
    assert best is not None  # there is an order to try
    return best


def _counts_on_chance(design: Design) -> bool:
    return (design.promise.bursts, design.promise.held) != ("all", "worst")


def _orders(design: Design) -> Iterator[Indices]:
    """Yield orders to open valves in: the opening of each bed, counted from 0.

    Across the rows first, so that beds which follow one another in the design, as those above a
    return stretch do or nearly do, lie far apart in the cycle (for the golden section three
    distances at most between neighbours, the three-gap theorem); along them where no return pipe
    was designed.
    """
    beds = len(design.beds)
    count = min(OPENINGS_MOST, beds)
    along = np.arange(beds) % count
    if not design.drains:
        yield along
        return
    across = [_across(beds, count, spread) for spread in SPREADS]
    yield across[0]
    if _counts_on_chance(design):
        yield from (across[1], *(count - 1 - turns for turns in across), along)


def _across(beds: int, count: int, spread: float) -> Indices:
    places = np.arange(beds) * spread % 1.0
    return np.argsort(np.argsort(places)) * count // beds


def _tried(plant: Plant, turns: Indices, days: float, draws: int) -> StaggeredStart:
    cycle, promise = _mean_cycle_s(plant), plant.design.promise
    openings = _openings(plant.design, turns, cycle)
    settled = cycle * (1.0 + SETTLING_CYCLES)
    times = tuple((bed, 60.0 * each.minute) for each in openings for bed in each.beds)
    hours = (settled + days * DAY_S) / 3600.0
    scenario = Scenario(hours=hours, start="dry", valve_open=times)
    most = independent_most(plant, promise.confidence)
    run = run_plant(plant, scenario)
    starts = settled + DAY_S * np.arange(int(np.ceil(days)))
    judged = [(float(a), min(float(a) + DAY_S, scenario.end_s)) for a in starts]
    drifted = (float(starts[min(1, starts.size - 1)]), scenario.end_s)
    over = worst_shares_over(run, judged) if promise.bursts == "binomial" else {}
    stretch = max(over, key=over.__getitem__, default="")
    start = StaggeredStart(
        openings=openings,
        most_together=most,
        confidence=promise.confidence,
        share_above=tuple(share_above(run, most, *window) for window in judged),
        share_above_drawn=(),
        stretch=stretch,
        share_over=over.get(stretch, 0.0),
        run=run,
    )
    if not start.holds:
        return start
    drawn = (run_plant(plant.with_valves_drawn(seed), scenario) for seed in range(draws))
    return replace(
        start, share_above_drawn=tuple(share_above(each, most, *drifted) for each in drawn)
    )


def _openings(design: Design, turns: Indices, cycle_s: float) -> tuple[Opening, ...]:
    count = int(turns.max()) + 1
    return tuple(
        Opening(
            round(cycle_s * turn / count / 60.0, 1),
            tuple(bed.id for bed, mine in zip(design.beds, turns, strict=True) if mine == turn),
        )
        for turn in range(count)
    )


def _mean_cycle_s(plant: Plant) -> float:
    """Return the mean cycle of the beds that work at the inflow they were set to."""
    inflow = plant.setting_inflows_m3_s()
    mine = working(plant.beds, inflow)
    if mine.size == 0:
        raise BadInput([_NOTHING_WORKS])
    return float(np.mean(sum(cycle_parts_s(inflow[mine], plant.beds.take(mine)))))
