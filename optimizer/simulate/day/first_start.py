"""The first start: how long siphons stay in step after it, and a start that keeps them apart."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from optimizer.errors import BadInput, Problem
from optimizer.records.design import Design
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.drainings import hours_until_at_most, share_above
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
        holds: whether the share stays within 1 - confidence on every day with valves set right, and
            on the mean of the draws.
        run: the run.
    """

    openings: tuple[Opening, ...]
    most_together: int
    confidence: float
    share_above: tuple[float, ...]
    share_above_drawn: tuple[float, ...]
    holds: bool
    run: DayRun

    @property
    def worst_share_above(self) -> float:
        """The share that decides: of the worst day, or of the mean draw of valves."""
        drawn = self.share_above_drawn
        return max(*self.share_above, sum(drawn) / len(drawn) if drawn else 0.0)

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
    group of beds, is opened, taken in turn from the design's order so that neighbours in a group
    lie far apart. Beds opened early get more water until all are open; that is simulated. Beds
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
    ends = np.minimum(starts + DAY_S, scenario.end_s)
    shares = tuple(
        share_above(run, most, float(a), float(b)) for a, b in zip(starts, ends, strict=True)
    )
    drifted = float(starts[min(1, starts.size - 1)])
    drawn = tuple(
        share_above(
            run_plant(plant.with_valves_drawn(seed), scenario), most, drifted, scenario.end_s
        )
        for seed in range(draws)
    )
    start = StaggeredStart(openings, most, confidence, shares, drawn, holds=True, run=run)
    return replace(start, holds=start.worst_share_above <= 1.0 - confidence)


def _openings(plant: Plant, cycle_s: float) -> tuple[Opening, ...]:
    names = [bed.id for bed in plant.design.beds]
    count = min(OPENINGS_MOST, len(names))
    return tuple(
        Opening(round(cycle_s * turn / count / 60.0, 1), tuple(names[turn::count]))
        for turn in range(count)
    )


def _mean_cycle_s(plant: Plant) -> float:
    """Return the mean cycle of the beds that work at the inflow they were set to."""
    inflow = plant.setting_inflows_m3_s()
    mine = working(plant.beds, inflow)
    if mine.size == 0:
        raise BadInput([_NOTHING_WORKS])
    return float(np.mean(sum(cycle_parts_s(inflow[mine], plant.beds.take(mine)))))
