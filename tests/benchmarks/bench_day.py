"""Print what the simulated day reaches: accuracy, speed against brute force, growth, water.

Run: python -m tests.benchmarks.bench_day [--quick]
Ratios are taken in one run on one machine; brute force takes minutes (quick: 3 h days).
"""

from __future__ import annotations

import math
import platform
import sys
import time

from optimizer.simulate.day.initial import initial_state
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
from tests.builders.make_design import make_design_of
from tests.oracles.day_oracle import heap_events
from tests.simulate.day.run_oracle import (
    CODES,
    dense_inflows,
    greatest_difference_s,
    oracle_of,
    run_events,
)

TIGHT = {"rtol": 1e-10, "atol": 1e-12}
LOOSE = {"rtol": 1e-7, "atol": 1e-9}
RUNS = 3


def timed(task):
    """Return the least time of a few runs, and the last result."""
    best, result = math.inf, None
    for _ in range(RUNS):
        begin = time.perf_counter()
        result = task()
        best = min(best, time.perf_counter() - begin)
    return best, result


def feedback(rows, beds_per_row, hours):
    """Compare with brute force at a tight and at a loose tolerance."""
    plant = plant_of(make_design_of(rows, beds_per_row))
    scenario = Scenario(hours=hours, seed=1)
    inflows, state = dense_inflows(plant), initial_state(plant, scenario)
    mine_s, run = timed(lambda: run_plant(plant, scenario))
    print(f"{len(plant.beds)} beds, {hours:g} h, with feedback: {run.time_s.size} events")
    print(f"  mine {mine_s:.3f} s, {1e6 * mine_s / run.time_s.size:.1f} us an event")
    for name, tolerances in (("tight", TIGHT), ("loose", LOOSE)):
        oracle = oracle_of(plant, inflows, **tolerances)
        begin = time.perf_counter()
        found, _ = oracle.run(
            oracle.h0 + state.volume_m3 / oracle.store, state.mode == 1, 3600 * hours
        )
        brute_s = time.perf_counter() - begin
        mine_s = min(mine_s, timed(lambda: run_plant(plant, scenario))[0])
        theirs = sorted((bed, int(CODES[word]), t) for t, bed, word in found)
        gap = greatest_difference_s(run_events(run), theirs)
        print(
            f"  brute force, {name} {tolerances}: {brute_s:.1f} s, {brute_s / mine_s:.0f} times "
            f"mine; greatest difference of an event {gap:.5f} s"
        )


def without_feedback(rows, beds_per_row):
    """Compare with a bare heap of closed-form times."""
    plant = plant_of(make_design_of(rows, beds_per_row))
    scenario = Scenario(hours=24.0, start="drained")
    inflow = plant.setting_inflows_m3_s().tolist()
    parts = [
        (s.fill_s(q) - s.prime_s(q), s.prime_s(q), s.drain_s(q))
        for s, q in zip(plant.siphons, inflow, strict=True)
    ]
    heap_s, found = timed(lambda: heap_events(parts, scenario.end_s))
    mine_s, run = timed(lambda: run_plant(plant, scenario, feedback=False))
    theirs = sorted((bed, int(CODES[word]), t) for t, bed, word in found)
    pairs = zip(run_events(run), theirs, strict=True)
    gap = max(abs(m[2] / t[2] - 1.0) for m, t in pairs)
    print(
        f"{len(plant.beds)} beds, 24 h, no feedback: {len(found)} events, "
        f"heap {heap_s * 1e3:.1f} ms ({1e6 * heap_s / len(found):.2f} us an event), "
        f"mine with levels, sump and energy {mine_s * 1e3:.1f} ms ({mine_s / heap_s:.2f} times), "
        f"greatest relative difference {gap:.1e}"
    )


def growth():
    """Time days of more and more beds."""
    times = []
    for side in (8, 16, 32):
        begin = time.perf_counter()
        plant = plant_of(make_design_of(side, side))
        plant.table()
        made_s = time.perf_counter() - begin
        day_s, run = timed(lambda plant=plant: run_plant(plant, Scenario(hours=24.0, seed=1)))
        times.append((side * side, day_s))
        print(
            f"{side * side} beds, 24 h, with feedback: {day_s:.2f} s for {run.time_s.size} events "
            f"({1e6 * day_s / run.time_s.size:.1f} us an event); inflow table once {made_s:.2f} s"
        )
    (n0, t0), (n1, t1) = times[0], times[-1]
    ideal = n1 * math.log(n1) / (n0 * math.log(n0))
    power = math.log(t1 / t0) / math.log(n1 / n0)
    print(f"  growth {n0} to {n1}: {t1 / t0:.1f} times (N log N: {ideal:.1f}), power {power:.2f}")


def water(days):
    """Count the water over many days."""
    plant = plant_of(make_design_of(2, 4))
    scenario = Scenario(hours=24.0 * days, seed=1, trace_step_s=3600.0)
    day_s, run = timed(lambda: run_plant(plant, scenario))
    share = run.water_error_m3 / plant.free_m3
    print(f"8 beds, {days} days in {day_s:.1f} s: water missing {share:.1e} of the system's volume")


def main():
    """Print everything."""
    quick = "--quick" in sys.argv
    print(platform.platform(), platform.processor())
    without_feedback(2, 4)
    without_feedback(8, 8)
    growth()
    water(30)
    hours = 3.0 if quick else 24.0
    feedback(2, 4, hours)
    feedback(8, 8, hours)


if __name__ == "__main__":
    main()
