"""The figures that the written answer quotes, each worked out from the tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd

from studies.in_step import theory
from studies.in_step.experiments import MIDDLE_L_MIN
from studies.in_step.systems import BED

PROMISED = 0.01
"""Share of time in which Hunter's number may be passed at a confidence of 99 %."""


def findings_frame(tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Return one row a figure: finding, value."""
    rows = [
        *_of_parting(tables["parting"]),
        *_of_window(tables["window"]),
        *_of_crowd(tables["crowd"]),
        *_of_staying(tables["staying"]),
        *_of_days(tables["days"]),
        *_of_shown(tables["numbers"]),
        *_of_timer(tables["timer"]),
        *_of_near_start(tables["orders"]),
    ]
    return pd.DataFrame(rows, columns=["finding", "value"])


Found = Iterator[tuple[str, float]]


def _of_parting(table: pd.DataFrame) -> Found:
    ratio = table["parting_per_cycle"] / table["strength"]
    yield "parting over G, least", float(ratio.min())
    yield "parting over G, greatest", float(ratio.max())
    yield "G, least", float(table["strength"].min())
    yield "G, greatest", float(table["strength"].max())


def _of_window(table: pd.DataFrame) -> Found:
    splits = table[[name for name in table if name.startswith("split_")]]
    gathers = table.loc[table["pattern_1"] > 0.0, "inflow_l_min"]
    greatest = gathers.max() if gathers.size else np.nan
    yield "start flow, L/min", 60_000.0 * BED.start_flow_m3_s
    yield "stop flow, L/min", 60_000.0 * BED.stop_flow_m3_s
    yield "inflow of most floods, L/min", 60_000.0 * theory.most_floods_inflow(BED)
    yield "split rate of one group, over G, least", float(splits["split_1"].min())
    yield "split rate of 2 to 12 groups, over G, least", float(splits.iloc[:, 1:].min().min())
    yield "one group gathers up to, L/min", float(greatest)
    yield "the same over the start flow", float(greatest / (60_000.0 * BED.start_flow_m3_s))
    calm = table.loc[table["inflow_l_min"] >= 8.0, "pattern_2"]
    yield "two groups at 8 L/min or more, greatest growth over G", float(calm.max())


def _of_crowd(table: pd.DataFrame) -> Found:
    missed = (table["growth_per_cycle"] - table["theory_per_cycle"]).abs() / table["strength"]
    yield "pattern growth, simulation less theory, over G, greatest", float(missed.max())


def _of_staying(table: pd.DataFrame) -> Found:
    ratio = table["in_step_h"] / table["model_h"]
    yield "hours in step over phase model, median", float(ratio.median())
    yield "hours in step over phase model, 10 % quantile", float(ratio.quantile(0.1))
    yield "hours in step over phase model, 90 % quantile", float(ratio.quantile(0.9))
    tied = table[table["swing_m"] > 0.0]
    for (inflow, spread), group in tied.groupby(["inflow_l_min", "spread"]):
        name = f"hours in step from dry, {inflow:g} L/min, valves to {100.0 * spread:g} %"
        yield f"{name}, least", float(group["in_step_h"].min())
        yield f"{name}, greatest", float(group["in_step_h"].max())


def _of_days(table: pd.DataFrame) -> Found:
    later = table["day"].map(lambda day: "day 1" if day == 1 else "later days")
    for (start, spread, when), rows in table.groupby(["start", "spread", later]):
        name = f"{start} start, valves to {100.0 * spread:g} %, {when}"
        over = float((rows["share_above"] > PROMISED).mean())
        yield f"{name}: share of days above Hunter's 1 %", over
        yield f"{name}: mean share of time above", float(rows["share_above"].mean())
        yield f"{name}: greatest share of a day above", float(rows["share_above"].max())
        yield f"{name}: most times a day above", float(rows["times_above"].max())
        yield f"{name}: spread over independent, median", float(rows["spread_ratio"].median())


def _of_shown(table: pd.DataFrame) -> Found:
    """The shown system, were its beds independent."""
    alone = table[table["start"].str.startswith("independent")]
    most, beds = int(alone["hunter"].iloc[0]), int(alone["together"].max())
    orbit = theory.orbit(BED, MIDDLE_L_MIN / 60_000.0)
    yield "shown system: cycle, min", orbit.cycle_s / 60.0
    yield "shown system: share of its cycle a bed drains", orbit.drain_share
    yield "shown system: Hunter's number", float(most)
    above = alone.loc[alone["together"] > most, "share"]
    yield "shown system, independent: share of time above", float(above.sum())
    times = theory.times_above_alone(beds, orbit.drain_share, orbit.cycle_s, most)
    yield "shown system, independent: times a day above", times


def _of_timer(table: pd.DataFrame) -> Found:
    last = table[table["day"] == table["day"].max()]
    for (stops, spread), group in last.groupby(["stops", "spread"]):
        name = f"{stops}, valves to {100.0 * spread:g} %, last day"
        yield f"{name}: share above", float(group["share_above"].mean())
        yield f"{name}: spread over independent", float(group["spread_ratio"].mean())


def _of_near_start(table: pd.DataFrame) -> Found:
    near = table[table["run"].str.contains("start flow")]
    yield "near the start flow: order at first", float(near["order"].iloc[0])
    yield "near the start flow: order at last", float(near["order"].iloc[-1])
    yield "near the start flow: days", float(near["day"].iloc[-1])
