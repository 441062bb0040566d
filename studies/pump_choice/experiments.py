"""Which pump is cheapest where, and what choosing one now may cost once more is known.

A *world* is one truth: a price of energy, and for every siphon kit its start Froude number, stop
ratio and turn loss, each so far into the kit's band. In a world all of that is known.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pandas as pd
from scipy.stats import qmc

from optimizer import Band, Study, cheapest_pieces, pump_study
from optimizer.explore.point import DESIGNED, Search
from optimizer.explore.price_lines import break_evens_between
from optimizer.job import Job
from optimizer.pipeline import read_job
from optimizer.records.parts import Kit
from studies.writing import Tables

SITE = Path(__file__).with_name("site.toml")
RIVALS = ("pump_250w_mid", "pump_100w_mid", "pump_150w_mid", "pump_250w_low")
"""Pumps that are compared by name. Every world is also designed with the whole catalog."""

PRICES = (0.15, 0.45)
"""Prices of energy of the worlds, per kWh: an assumption."""

UNKNOWN = ("start_froude", "stop_ratio", "turn_loss")
ANY = "any"
Row = dict[str, Any]


@dataclass(frozen=True)
class Size:
    """How much to run.

    Attributes:
        rivals: pumps compared by name.
        years: planning years whose break-even prices are found.
        start_factors: factors on every kit's start Froude number of the map.
        worlds: worlds drawn, a power of 2.
        highest_price: price of energy up to which break-even prices are sought.
    """

    rivals: tuple[str, ...] = RIVALS
    years: tuple[float, ...] = (3.0, 5.0, 7.0, 10.0, 15.0)
    start_factors: tuple[float, ...] = tuple(round(0.5 + 0.05 * n, 2) for n in range(16))
    worlds: int = 32
    highest_price: float = 0.6


FULL = Size()
QUICK = Size(RIVALS[:2], (10.0,), (1.0,), 2, 0.3)


def everything(size: Size, processes: int) -> Tables:
    """Return every table of the study."""
    with ProcessPoolExecutor(processes) as pool:
        years = pool.map(over_years, [size] * len(size.years), size.years)
        starts = pool.map(over_starts, [size] * len(size.start_factors), size.start_factors)
        worlds = pool.map(in_world, _worlds(size))
        return {
            "pumps": pd.DataFrame(pumps(size)),
            "between": pd.DataFrame(between(size)),
            "years": pd.DataFrame([row for rows in years for row in rows]),
            "starts": pd.DataFrame([row for rows in starts for row in rows]),
            "worlds": pd.DataFrame([row for rows in worlds for row in rows]),
        }


def study(*, check: bool = False) -> Study:
    """Return the site as a study."""
    return Study(read_job(SITE), search=Search(check=check))


def pumps(size: Size) -> list[Row]:
    """Return every pump that can do as the only one (a miniature: the rivals), cheapest first."""
    whole = size is not QUICK
    rows = pump_study(study()) if whole else study().rows([{"pump": p} for p in size.rivals])
    kept = ("pump", "count", "cost", "capital", "energy_worth", "replacements", "duty_watts")
    kept += ("share_of_curve", "flow_m3_s", "chosen_kits", "chosen_sump")
    return [{name: row.get(name) for name in kept} for row in rows if row["outcome"] == DESIGNED]


def over_years(size: Size, years: float) -> list[Row]:
    """Return the cheapest designs over the price of energy, for so many planning years."""
    return list(_pieces(size, {"planning_years": years}))


def over_starts(size: Size, factor: float) -> list[Row]:
    """Return the same, every kit's start Froude number (its whole band) times a factor."""
    return list(_pieces(size, {"start_froude": factor}))


def _pieces(size: Size, fixed: dict[str, float]) -> Iterator[Row]:
    found = cheapest_pieces(study(), "energy_price", 0.0, size.highest_price, fixed)
    for piece in found:
        yield fixed | {
            "from_price": piece.low,
            "to_price": piece.high,
            "open": piece.open,
            "pump": piece.row["chosen_pump"],
            "kit": piece.row["chosen_kits"],
            "sump": piece.row["chosen_sump"],
            "without_energy": piece.line.fixed,
            "per_price": piece.line.per_price,
        }


def between(size: Size) -> list[Row]:
    """Return the prices at which each pair of rivals trades places."""
    here = study()
    families = {
        pump: cheapest_pieces(here, "energy_price", 0.0, size.highest_price, {"pump": pump})
        for pump in size.rivals
    }
    return [
        {
            "first": first,
            "second": second,
            "price": met.price,
            "cheaper_below": met.below["chosen_pump"],
            "cheaper_above": met.above["chosen_pump"],
            "cost": met.cost,
        }
        for number, first in enumerate(size.rivals)
        for second in size.rivals[number + 1 :]
        for met in break_evens_between(families[first], families[second])
    ]


@dataclass(frozen=True)
class World:
    """One truth: its number, shares into the bands of :data:`UNKNOWN`, the price of energy."""

    number: int
    shares: tuple[float, ...]
    price: float
    rivals: tuple[str, ...]


def _worlds(size: Size) -> list[World]:
    """Return worlds spread evenly over the bands and prices (scrambled Sobol, seed 0)."""
    drawn = qmc.Sobol(d=len(UNKNOWN) + 1, seed=0).random(size.worlds).tolist()
    low, high = PRICES
    return [
        World(number, tuple(each[:-1]), low + each[-1] * (high - low), size.rivals)
        for number, each in enumerate(drawn)
    ]


def job_in(job: Job, world: World) -> Job:
    """Return a job in which all that the world knows is known."""

    def known(kit: Kit) -> Kit:
        bands = {name: getattr(kit, name) for name in UNKNOWN}
        points = zip(bands.items(), world.shares, strict=True)
        return replace(kit, **{name: _point(band, share) for (name, band), share in points})

    kits = {name: known(kit) for name, kit in job.catalog.kits.items()}
    goals = replace(job.site.goals, energy_price_per_kwh=world.price)
    site = replace(job.site, goals=goals)
    return Job(site, replace(job.catalog, kits=kits))


def _point(band: Band, share: float) -> Band:
    value = band.at(share)
    return Band(value, value, value, "known in this world")


def in_world(world: World) -> list[Row]:
    """Return what each choice made now costs in a world: one row a choice.

    A pump's id: that pump is bought today, and the rest is designed once siphons and price are
    known. ``any``: the pump waits, too.
    """
    job = job_in(read_job(SITE), world)
    points = [{}, *({"pump": pump} for pump in world.rivals)]
    rows = Study(job, search=Search(check=False)).rows(points)
    least = rows[0].get("cost")
    return [
        _choice(world, row.get("pump", ANY), row.get("cost"), least)
        | {"pump": row.get("chosen_pump"), "kit": row.get("chosen_kits")}
        for row in rows
    ]


def _choice(world: World, choice: str, cost: float | None, least: float | None) -> Row:
    regret = None if cost is None or least is None else cost - least
    shares = dict(zip((f"{name}_share" for name in UNKNOWN), world.shares, strict=True))
    return {
        "world": world.number,
        **shares,
        "energy_price": world.price,
        "choice": choice,
        "cost": cost,
        "regret": regret,
    }
