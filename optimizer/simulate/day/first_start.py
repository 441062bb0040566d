"""The first start: how long siphons stay in step after it, and a start that keeps them apart."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from optimizer.errors import BadInput, Problem
from optimizer.records.design import Design
from optimizer.simulate.day.bed_arrays import Indices
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.drainings import (
    hours_until_at_most,
    share_above,
    worst_shares_over,
)
from optimizer.simulate.day.in_step import together_at
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

GOLDEN_SECTION = (math.sqrt(5.0) - 1.0) / 2.0

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
class FirstStart:
    """A start with every valve open and every bed dry.

    Attributes:
        most_together: number of siphons aimed at.
        hours: hours until at most so many drain together; None where the run was too short.
        run: the run.
    """

    most_together: int
    hours: float | None
    run: DayRun


@dataclass(frozen=True)
class StaggeredStart:
    """A start in which valves are opened one after another, and whether it keeps siphons apart.

    Attributes:
        openings: what to open when.
        most_together: siphons that drain together at the confidence, if they were independent.
        confidence: that confidence.
        share_above: for each day simulated, share of it in which more drain together.
        share_above_drawn: for each draw of the valves' errors, the same share of all days but the
            first: beds take about a day to drift past each other.
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
    def holds(self) -> bool:
        """Whether siphons drain together no more than chance would have, all and by stretch."""
        return max(self.worst_share_above, self.share_over) <= 1.0 - self.confidence

    def frame(self) -> pd.DataFrame:
        """Return one row a bed: minute, bed."""
        rows = [(each.minute, bed) for each in self.openings for bed in each.beds]
        return pd.DataFrame(rows, columns=["minute", "bed"])


def independent_most(plant: Plant, confidence: float) -> int:
    """Return how many siphons drain together at a confidence, were they independent.

    A bed that does not work counts as never draining where its siphon does not start, else always.
    """
    beds, inflow = plant.beds, plant.setting_inflows_m3_s()
    chances = (inflow > beds.start_m3_s).astype(np.float64)
    mine = working(beds, inflow)
    fill, prime, drain = cycle_parts_s(inflow[mine], beds.take(mine))
    chances[mine] = drain / (fill + prime + drain)
    return together_at(chances, confidence)


def first_start(design: Design, most_together: int | None = None, days: float = 2.0) -> FirstStart:
    """Run a design from dry, all valves open.

    Args:
        design: the design.
        most_together: number of siphons aimed at; None for what the design's confidence gives
            independent siphons.
        days: how long to run.

    Raises:
        BadInput: for a design that cannot be.
        NotSolved: if an operating point was not found.
    """
    plant = plant_of(design)
    most = most_together
    if most is None:
        most = independent_most(plant, design.promise.confidence)
    run = run_plant(plant, Scenario(hours=24.0 * days, start="dry"))
    return FirstStart(most, hours_until_at_most(run, most), run)


def staggered_start(design: Design, days: float = 3.0, draws: int = 0) -> StaggeredStart:
    """Plan a staggered start of a design and run it, from dry.

    One mean cycle is cut into as many equal parts as there are openings; at each one more bed, or
    group of beds, is opened, so that beds which drain through one return stretch lie far apart in
    the cycle. Beds opened early get more water until all are open; that is simulated. Beds
    whose valves are set a little wrong drift past each other, so that single days may be worse
    than chance; the draws show whether their mean is.

    Args:
        design: the design.
        days: whole days judged, after the start has settled.
        draws: runs with valves set within the error the design promises, beside the one with
            valves set right.

    Raises:
        BadInput: for a design that cannot be.
        NotSolved: if an operating point was not found.
    """
    plant = plant_of(design)
    cycle = _mean_cycle_s(plant)
    openings = _openings(plant, cycle)
    settled = cycle * (1.0 + SETTLING_CYCLES)
    times = tuple((bed, 60.0 * each.minute) for each in openings for bed in each.beds)
    hours = (settled + days * DAY_S) / 3600.0
    scenario = Scenario(hours=hours, start="dry", valve_open=times)
    confidence = design.promise.confidence
    most = independent_most(plant, confidence)
    run = run_plant(plant, scenario)
    starts = settled + DAY_S * np.arange(int(np.ceil(days)))
    judged = [(float(a), min(float(a) + DAY_S, scenario.end_s)) for a in starts]
    shares = tuple(share_above(run, most, begin, end) for begin, end in judged)
    drifted = float(starts[min(1, starts.size - 1)])
    drawn = tuple(
        share_above(
            run_plant(plant.with_valves_drawn(seed), scenario), most, drifted, scenario.end_s
        )
        for seed in range(draws)
    )
    over = worst_shares_over(run, judged) if design.promise.bursts == "binomial" else {}
    stretch = max(over, key=over.__getitem__, default="")
    return StaggeredStart(
        openings=openings,
        most_together=most,
        confidence=confidence,
        share_above=shares,
        share_above_drawn=drawn,
        stretch=stretch,
        share_over=over.get(stretch, 0.0),
        run=run,
    )


def _openings(plant: Plant, cycle_s: float) -> tuple[Opening, ...]:
    names = [bed.id for bed in plant.design.beds]
    count = min(OPENINGS_MOST, len(names))
    turns = _turns(len(names), count) if plant.design.drains else np.arange(len(names)) % count
    return tuple(
        Opening(
            round(cycle_s * turn / count / 60.0, 1),
            tuple(name for name, mine in zip(names, turns, strict=True) if mine == turn),
        )
        for turn in range(count)
    )


def _turns(beds: int, count: int) -> Indices:
    """Return the opening of each bed, so that any beds that follow one another lie far apart.

    Multiples of the golden section, taken modulo one, fall evenly however many follow one another
    (three distances at most between neighbours, the three-gap theorem). Beds above a return
    stretch follow one another in a design, or nearly so.
    """
    places = np.arange(beds) * GOLDEN_SECTION % 1.0
    return np.argsort(np.argsort(places)) * count // beds


def _mean_cycle_s(plant: Plant) -> float:
    """Return the mean cycle of the beds that work at the inflow they were set to."""
    inflow = plant.setting_inflows_m3_s()
    mine = working(plant.beds, inflow)
    if mine.size == 0:
        raise BadInput([_NOTHING_WORKS])
    return float(np.mean(sum(cycle_parts_s(inflow[mine], plant.beds.take(mine)))))
