"""Run the brute-force oracle on a plant: its beds, its sump, inflows by a dense spline."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline

from optimizer.simulate.day.initial import initial_state
from optimizer.simulate.day.segment import Event
from optimizer.simulate.operating_point import operating_point
from tests.oracles.day_oracle import DayOracle, OracleBed

CODES = {"fills": Event.FILLS, "primes": Event.PRIMES, "breaks": Event.BREAKS}


def dense_inflows(plant, count=101):
    """Every bed's inflow by operating points at ``count`` levels of its own."""
    levels = np.linspace(*plant.levels_m, count)
    rows = []
    for level in levels:
        flows = operating_point(plant.design, plant.valve_losses, float(level)).flows_m3_s
        rows.append([flows[bed.drop] for bed in plant.design.beds])
    return CubicSpline(levels, np.array(rows))


def oracle_of(plant, inflows, **tolerances):
    names = OracleBed.__dataclass_fields__
    beds = [
        OracleBed(**{n: getattr(s, n) for n in names if n != "rim_discharge"})
        for s in plant.siphons
    ]
    return DayOracle(beds, inflows, plant.area_m2, plant.free_m3, **tolerances)


def oracle_events(plant, scenario, inflows, **tolerances):
    """Return the oracle's events as sorted (bed, code, time), and its final levels."""
    oracle, state = oracle_of(plant, inflows, **tolerances), initial_state(plant, scenario)
    levels = oracle.h0 + state.volume_m3 / oracle.store
    events, end = oracle.run(levels, state.mode == 1, scenario.end_s)
    return sorted((bed, int(CODES[word]), time) for time, bed, word in events), end


def run_events(run):
    """Return a run's events as sorted (bed, code, time)."""
    return sorted(zip(run.bed.tolist(), run.code.tolist(), run.time_s.tolist(), strict=True))


def greatest_difference_s(mine, theirs):
    """Return the greatest difference in time; the events must be the same."""
    assert [m[:2] for m in mine] == [t[:2] for t in theirs]
    return max(abs(m[2] - t[2]) for m, t in zip(mine, theirs, strict=True))
