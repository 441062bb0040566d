"""A first start from dry with every valve open: how long siphons stay in step after it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.physics.simultaneity import least_simultaneous_mixed
from optimizer.records.design import Design
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.drainings import hours_until_at_most
from optimizer.simulate.day.initial import cycle_parts_s, working
from optimizer.simulate.day.plant import Plant, plant_of
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario


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


def independent_most(plant: Plant, confidence: float) -> int:
    """Return how many siphons drain together at a confidence, were they independent.

    A bed that does not work counts as never draining where its siphon does not start, else always.
    """
    beds, inflow = plant.beds, plant.setting_inflows_m3_s()
    chances = (inflow > beds.start_m3_s).astype(np.float64)
    mine = working(beds, inflow)
    fill, prime, drain = cycle_parts_s(inflow[mine], beds.take(mine))
    chances[mine] = drain / (fill + prime + drain)
    return least_simultaneous_mixed(chances.tolist(), confidence)


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
