"""The experiments: each takes a size (full or quick) and returns one tidy table.

A case is a plain tuple, so that cases may run side by side in two processes.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache
from itertools import product
from typing import Any

import numpy as np
import pandas as pd

from optimizer import Scenario
from optimizer.physics.simultaneity import least_simultaneous_mixed
from optimizer.simulate.day.plant import Plant
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.segment import Event
from optimizer.simulate.day.staggered import staggered_start
from studies.in_step import measures, theory
from studies.in_step.sizes import Size
from studies.in_step.systems import BED, System, design_of, draining_shares, plant, run

CONFIDENCE = 0.99
MIDDLE_L_MIN = 12.0
Row = dict[str, Any]


def window(size: Size) -> pd.DataFrame:
    """Theory over the inflows at which the bed works: one row an inflow."""
    low, high = 1.01 * BED.start_flow_m3_s, BED.stop_flow_m3_s
    rows = []
    for inflow in np.geomspace(low, high, size.window_inflows).tolist():
        found = theory.orbit(BED, inflow)
        grows = theory.crowd_growth(found, 4)
        row: Row = {"inflow_l_min": 60_000.0 * inflow, "cycle_s": found.cycle_s}
        row |= {"drain_share": found.drain_share, "elasticity": theory.elasticity(BED, inflow)}
        row |= {f"pattern_{m}": float(grows[m - 1]) for m in range(1, 5)}
        row |= {f"split_{k}": theory.cluster_split(found, k) for k in range(1, 13)}
        rows.append(row)
    return pd.DataFrame(rows)


def parting(size: Size, map_: Callable = map) -> pd.DataFrame:
    """Beds almost in step: how fast they part, against G."""
    cases = product(size.beds, size.swings_m, size.pumps, size.inflows_l_min)
    return pd.DataFrame(map_(_parting, cases))


def _parting(case: tuple[int, float, str, float]) -> Row:
    beds, swing, pump, inflow = case
    ready = _plant(System(beds, swing, pump, inflow))
    strength = theory.coupling(ready, BED)
    close = 0.4 + 1e-4 * np.random.default_rng(3).uniform(-1.0, 1.0, beds)
    cycles = np.log(100.0) / strength + 6.0
    days = float(np.ceil(cycles * BED.cycle_s(inflow / 60_000.0) / 8640.0)) / 10.0
    found = measures.parting_per_cycle(
        *run(ready, days, tuple(close.tolist())).times_of(Event.BREAKS)
    )
    row: Row = {"beds": beds, "swing_m": swing, "pump": pump, "inflow_l_min": inflow}
    growth = theory.growth_per_m(ready, 0.5)
    return row | {"growth_per_m": growth, "strength": strength, "parting_per_cycle": found}


def crowd(size: Size, map_: Callable = map) -> pd.DataFrame:
    """Beds spread out but for a weak pattern: whether the pattern grows, against theory."""
    cases = product((size.crowd_beds,), size.crowd_l_min, (1, 2), (size.crowd_days,))
    return pd.DataFrame(map_(_crowd, cases))


def _crowd(case: tuple[int, float, int, float]) -> Row:
    beds, inflow, mode, days = case
    ready = _plant(System(beds, 0.30, "flat", inflow))
    even = np.arange(beds) / beds
    start = np.mod(even + 0.02 / mode * np.sin(2.0 * np.pi * mode * even), 1.0)
    found = theory.orbit(BED, inflow / 60_000.0)
    strength = theory.coupling(ready, BED)
    growth = measures.pattern_per_cycle(
        run(ready, days, tuple(start.tolist())), mode, found.cycle_s
    )
    expected = strength * float(theory.crowd_growth(found)[mode - 1])
    row: Row = {"beds": beds, "inflow_l_min": inflow, "mode": mode, "strength": strength}
    return row | {"growth_per_cycle": growth, "theory_per_cycle": expected}


def staying(size: Size, map_: Callable = map) -> pd.DataFrame:
    """From a dry start: hours in step against valve spread, inflow and coupling."""
    swings = [swing for swing, pump in size.ties if pump == "flat"]
    ties = [(True, swing) for swing in swings] + [(False, swings[0])]
    cases = product(
        (size.shown_beds,), size.inflows_l_min, size.spreads, ties, (size.step_days_most,)
    )
    return pd.DataFrame(map_(_staying, cases))


def _staying(case: tuple[int, float, float, tuple[bool, float], float]) -> Row:
    beds, inflow, spread, (feedback, swing), days_most = case
    ready = _plant(System(beds, swing, "flat", inflow, spread))
    strength = theory.coupling(ready, BED) if feedback else 0.0
    level = theory.mean_level_m(ready, BED) if feedback else ready.design.sump.setting_m
    drift = theory.drifts(ready, BED, level)
    orbit = theory.orbit(BED, float(ready.table().inflows_m3_s(level).mean()))
    hours = orbit.cycle_s / 3600.0
    by_hand = hours * theory.cycles_in_step(drift, strength, measures.IN_STEP)
    order = theory.phase_model(
        orbit, drift, strength, np.zeros(beds), int(24.0 * days_most / hours)
    )
    below = np.flatnonzero(order < measures.IN_STEP)
    by_model = hours * float(below[0]) if below.size else float("nan")
    days = days_most if np.isnan(by_model) else min(days_most, 1.3 * by_model / 24.0 + 0.25)
    scenario = Scenario(hours=24.0 * days, start="dry", trace_step_s=3600.0)
    found = measures.hours_in_step(run_plant(ready, scenario, feedback))
    row: Row = {"beds": beds, "inflow_l_min": inflow, "spread": spread}
    row |= {"swing_m": swing if feedback else 0.0, "strength": strength}
    row |= {"hand_h": by_hand, "model_h": by_model, "run_h": 24.0 * days, "in_step_h": found}
    return row


def days(size: Size, map_: Callable = map) -> pd.DataFrame:
    """Every system from every start: one row a day, against Hunter's number."""
    cases = product(size.beds, size.ties, size.map_spreads, (size,))
    return pd.concat(map_(_days, cases), ignore_index=True)


def _days(case: tuple[int, tuple[float, str], float, Size]) -> pd.DataFrame:
    beds, (swing, pump), spread, size = case
    system = System(beds, swing, pump, MIDDLE_L_MIN, spread)
    ready = _plant(system)
    chances = draining_shares(ready)
    most = least_simultaneous_mixed(chances.tolist(), CONFIDENCE)
    frames = []
    for start in ("dry", "random"):
        made = measures.day_rows(run(ready, size.days, start), most, chances)
        frames.append(made.assign(start=start))
    opened = staggered_start(design_of(system), float(size.days))
    begin = opened.run.scenario.end_s - 86400.0 * size.days
    made = measures.day_rows(opened.run, most, chances, begin)
    frames.append(made.assign(start="staggered"))
    names = {"beds": beds, "swing_m": swing, "pump": pump, "spread": spread, "hunter": most}
    names["strength"] = theory.coupling(ready, BED)
    return pd.concat(frames, ignore_index=True).assign(**names)


def _shown(size: Size, spread: float) -> System:
    """The system of the pictures: 24 beds in the full run."""
    return System(size.shown_beds, 0.30, "flat", MIDDLE_L_MIN, spread)


def numbers(size: Size) -> pd.DataFrame:
    """How many drain together in the shown system: share of time by number, start and day."""
    shown = _shown(size, 0.02)
    ready = _plant(shown)
    chances = draining_shares(ready)
    alone = np.ones(1)
    for chance in chances.tolist():
        alone = np.convolve(alone, [1.0 - chance, chance])
    found = {"independent (binomial)": alone}
    dry = run(ready, size.days, "dry")
    found["dry start, day 1"] = measures.counts_held(dry, 0.0, 86400.0)
    last = (86400.0 * (size.days - 1), 86400.0 * size.days)
    if size.days > 1:
        found[f"dry start, day {size.days}"] = measures.counts_held(dry, *last)
    seeds = [run(ready, size.days, "random", seed) for seed in range(size.seeds)]
    held = [measures.counts_held(each, *last) for each in seeds]
    found[f"random phases, day {size.days}"] = np.mean(held, axis=0)
    opened = staggered_start(design_of(shown), float(size.days)).run
    end = opened.scenario.end_s
    found[f"staggered start, day {size.days}"] = measures.counts_held(opened, end - 86400.0, end)
    frames = [
        pd.DataFrame({"start": name, "together": np.arange(held.size), "share": held})
        for name, held in found.items()
    ]
    most = least_simultaneous_mixed(chances.tolist(), CONFIDENCE)
    return pd.concat(frames, ignore_index=True).assign(hunter=most)


def orders(size: Size, map_: Callable = map) -> pd.DataFrame:
    """Phase order over days for a few telling runs: one row a time."""
    tight, good, poor = (_shown(size, spread) for spread in (0.001, 0.02, 0.07))
    near = System(size.shown_beds, 0.30, "flat", 5.4, 0.0)
    runs = [
        ("dry, valves to 0.1 %", tight, "dry", size.days),
        ("dry, valves to 2 %", good, "dry", size.days),
        ("dry, valves to 7 %", poor, "dry", size.days),
        ("random, valves to 0.1 %", tight, "random", size.days),
        ("random, equal valves, 5 % over the start flow", near, "random", size.near_days),
    ]
    return pd.concat(map_(_order, runs), ignore_index=True)


def _order(case: tuple[str, System, str, int]) -> pd.DataFrame:
    name, system, start, length = case
    times, order = measures.order_series(run(_plant(system), length, start, 1), step_s=1200.0)
    return pd.DataFrame({"run": name, "day": times / 86400.0, "order": order})


STOPS = {"no stop": (0, 0.0), "30 min once a day": (1, 1800.0), "15 min every 2 h": (12, 900.0)}
"""Stops of the pump a day, and how long each lasts (invented)."""


def timer(size: Size, map_: Callable = map) -> pd.DataFrame:
    """Random phases and a pump that is stopped by a timer: one row a day."""
    shown = [_shown(size, spread) for spread in size.map_spreads]
    cases = product(STOPS, shown, range(size.seeds), (size.days,))
    return pd.concat(map_(_timer, cases), ignore_index=True)


def _timer(case: tuple[str, System, int, int]) -> pd.DataFrame:
    name, system, seed, length = case
    count, off_s = STOPS[name]
    begins = [86400.0 * (i + 0.5) / count for i in range(count * length)] if count else []
    ready = _plant(system)
    scenario = Scenario(
        hours=24.0 * length,
        start="random",
        seed=seed,
        pump_off=tuple((b, b + off_s) for b in begins),
        trace_step_s=3600.0,
    )
    chances = draining_shares(ready)
    most = least_simultaneous_mixed(chances.tolist(), CONFIDENCE)
    made = measures.day_rows(run_plant(ready, scenario), most, chances)
    return made.assign(stops=name, spread=system.spread, seed=seed, hunter=most)


def everything(size: Size, processes: int) -> dict[str, pd.DataFrame]:
    """Return every table by the name of its file."""
    if processes == 1:
        return _tables(size, map)
    with ProcessPoolExecutor(processes) as pool:
        return _tables(size, pool.map)


def _tables(size: Size, map_: Callable) -> dict[str, pd.DataFrame]:
    return {
        "window": window(size),
        "parting": parting(size, map_),
        "crowd": crowd(size, map_),
        "staying": staying(size, map_),
        "days": days(size, map_),
        "numbers": numbers(size),
        "orders": orders(size, map_),
        "timer": timer(size, map_),
    }


@lru_cache(maxsize=8)
def _plant(system: System) -> Plant:
    """A plant keeps its tables of inflow, the dearest part of a run."""
    return plant(system)
