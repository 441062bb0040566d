"""Least cost of the same growing area with three bed types, over goals for floods an hour.

What meets a higher goal meets a lower one, so the least cost never falls as the goal rises, and
between two goals it lies between the costs at both.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from optimizer import Study
from optimizer.explore.point import DESIGNED, Search
from optimizer.pipeline import read_job
from optimizer.records.design import Design
from studies.bed_types.theory import expected
from studies.writing import Tables

HERE = Path(__file__).parent
KINDS = ("tub", "box", "wide")
BED_PARTS = ("beds: ", "siphon kits for ", "vented siphon tails for ", "work on ")
"""How the bill's lines for the beds themselves begin: shell, kit, tail, work at each bed."""

Row = dict[str, Any]


@dataclass(frozen=True)
class Size:
    """How much to run.

    Attributes:
        kinds: bed types, each a site file of this folder.
        goals: floods per hour asked for.
        prices: prices of energy of the comparison.
        whole_goals: floods per hour of that comparison.
        checked: floods per hour whose designs are also checked by simulation, a day included.
    """

    kinds: tuple[str, ...] = KINDS
    goals: tuple[float, ...] = tuple(0.25 * n for n in range(1, 49))
    prices: tuple[float, ...] = (0.10, 0.30, 0.60)
    whole_goals: tuple[float, ...] = tuple(float(n) for n in range(1, 13))
    checked: tuple[float, ...] = (1.0, 2.0, 4.0, 6.0, 8.0)


FULL = Size()
QUICK = Size(("wide", "tub"), (0.25, 2.0, 4.0), (0.30,), (2.0, 6.0), (2.0,))


def everything(size: Size, processes: int) -> Tables:
    """Return every table of the study."""
    with ProcessPoolExecutor(processes) as pool:
        costs = pool.map(over_goals, size.kinds, [size] * len(size.kinds))
        others = pool.map(at_prices, size.kinds, [size] * len(size.kinds))
        proven = pool.map(checked, size.kinds, [size] * len(size.kinds))
        return {
            "costs": pd.DataFrame([row for rows in costs for row in rows]),
            "prices": pd.DataFrame([row for rows in others for row in rows]),
            "checked": pd.DataFrame([row for rows in proven for row in rows]),
        }


def _study(kind: str, *, check: bool = False) -> Study:
    return Study(read_job(HERE / f"{kind}.toml"), search=Search(check=check))


def over_goals(kind: str, size: Size) -> list[Row]:
    """Return the least cost of one bed type at every goal that has a design."""
    study = _study(kind)
    rows = study.rows([{"floods": goal} for goal in size.goals])
    return [
        {"kind": kind, "goal": row["floods"]} | _figures(row, study.design(row))
        for row in rows
        if row["outcome"] == DESIGNED
    ]


def _figures(row: Row, design: Design) -> Row:
    bed = design.kinds[0]
    inflow = 60_000.0 * bed.inflow_m3_s
    return {
        "cost": row["cost"],
        "bound": row["bound"],
        "beds": row["bed_count"],
        "bed_parts": _beds_money(design),
        "plant": row["capital"] - _beds_money(design),
        "energy": row["energy_worth"],
        "replacements": row["replacements"],
        "inflow_l_min": inflow,
        "total_l_min": inflow * row["bed_count"],
        "watts": design.pump.duty_watts,
        "pump": row["chosen_pump"],
        "sump": row["chosen_sump"],
        "kit": row["chosen_kits"],
        "floods_there": bed.floods_per_hour,
        **expected(bed.siphon),
    }


def _beds_money(design: Design) -> float:
    """Return what the beds themselves cost: shell, siphon kit, work at each bed."""
    lines = (line for line in design.costs if line.group == "capital")
    return sum(line.cents for line in lines if line.what.startswith(BED_PARTS)) / 100.0


def at_prices(kind: str, size: Size) -> list[Row]:
    """Return the least cost of one bed type at whole goals and other prices of energy."""
    points = [
        {"floods": goal, "energy_price": price}
        for price in size.prices
        for goal in size.whole_goals
    ]
    return list(_told(kind, _study(kind).rows(points)))


def checked(kind: str, size: Size) -> list[Row]:
    """Return what simulation says of the designs at a few goals."""
    rows = _study(kind, check=True).rows([{"floods": goal} for goal in size.checked])
    return list(_told(kind, rows))


def _told(kind: str, rows: list[Row]) -> Iterator[Row]:
    for row in rows:
        yield {
            "kind": kind,
            "goal": row["floods"],
            "energy_price": row.get("energy_price"),
            "cost": row.get("cost"),
            "check": row.get("check", row["outcome"]),
        }
