"""Many days of one design: random phases, and the coefficients as they may fall out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pandas as pd

from optimizer.records.design import Design
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.drainings import drainings, greatest_discharge, together
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario, require_scenario


def each_day(design: Design, scenario: Scenario, days: int) -> Iterator[DayRun]:
    """Run a scenario again and again, the seed one higher each time.

    The table of inflows is worked out once; with random coefficients every day draws its own.

    Args:
        design: the design.
        scenario: what happens each day.
        days: number of days.

    Raises:
        BadInput: for a design or scenario that cannot be.
        NotSolved: if an operating point was not found.
    """
    plant = plant_of(design)
    require_scenario(design, scenario)
    for seed in range(scenario.seed, scenario.seed + days):
        drawn = plant.drawn(seed) if scenario.coefficients == "random" else plant
        yield run_plant(drawn, replace(scenario, seed=seed))


def days_frame(design: Design, scenario: Scenario, days: int) -> pd.DataFrame:
    """Return one row a day: what :func:`each_day` met.

    Args:
        design: the design.
        scenario: what happens each day.
        days: number of days.
    """
    return pd.DataFrame([day_row(run) for run in each_day(design, scenario, days)])


def day_row(run: DayRun) -> dict[str, float]:
    """Return what one run met, by name."""
    found = drainings(run)
    _, count = together(found)
    floods = run.floods_per_hour()
    peak, _ = greatest_discharge(run, found, np.ones(found.bed.size, dtype=bool))
    return {
        "seed": run.scenario.seed,
        "floods_per_hour_least": float(floods.min()),
        "floods_per_hour_most": float(floods.max()),
        "missed_starts": run.missed_starts,
        "missed_stops": run.missed_stops,
        "sump_lowest_m": run.sump_lowest_m,
        "sump_highest_m": run.sump_highest_m,
        "most_together": int(count.max()) if count.size else 0,
        "peak_discharge_m3_s": peak,
        "energy_kwh": run.energy_kwh,
    }
