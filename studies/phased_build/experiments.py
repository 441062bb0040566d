"""Plans to build 60 beds now and 140 later, over the years between, each designed and checked."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pandas as pd

from optimizer import compare_phases
from optimizer.job import Job
from optimizer.phases import Phases, Plan
from optimizer.pipeline import read_job
from optimizer.simulate.whole_check import check_whole
from studies.writing import Tables

HERE = Path(__file__).parent
TOLD_YEARS = 2.0
Row = dict[str, Any]


@dataclass(frozen=True)
class Size:
    """How much to run.

    Attributes:
        years: years from the first phase to the second.
        rows: rows of the first phase and of the whole.
        beds: beds in a row.
    """

    years: tuple[float, ...] = (1.0, 2.0, 3.0, 5.0)
    rows: tuple[int, int] = (3, 10)
    beds: int = 20


FULL = Size()
QUICK = Size((2.0,), (2, 3), 3)


def everything(size: Size, processes: int) -> Tables:
    """Return every table of the study."""
    with ProcessPoolExecutor(processes) as pool:
        found = list(pool.map(phases, [size] * len(size.years), size.years))
    told = found[size.years.index(TOLD_YEARS)]
    return {
        "plans": pd.DataFrame(
            [
                row
                for years, each in zip(size.years, found, strict=True)
                for row in _rows(years, each)
            ]
        ),
        "checked": pd.DataFrame(_checked(told)),
        "header": pd.DataFrame(_header(told)),
    }


def jobs(size: Size) -> tuple[Job, Job]:
    """Return the first phase and the whole; a miniature has fewer rows and beds."""
    whole = [read_job(HERE / name) for name in ("now.toml", "final.toml")]
    now, final = (_cut(job, rows, size.beds) for job, rows in zip(whole, size.rows, strict=True))
    return now, final


def _cut(job: Job, rows: int, beds: int) -> Job:
    kept = tuple(
        replace(row, positions=beds, beds_least=beds, beds_most=beds)
        for row in job.site.rows[:rows]
    )
    goals = replace(job.site.goals, beds_least=rows * beds)
    return replace(job, site=replace(job.site, rows=kept, goals=goals))


def phases(size: Size, years: float) -> Phases:
    """Return the plans for so many years between the phases."""
    now, final = jobs(size)
    return compare_phases(now, final, years)


def _rows(years: float, found: Phases) -> list[Row]:
    return [
        {
            "years": years,
            "wide": plan.wide,
            "same_sump": plan.same_sump,
            "same_pump": plan.same_pump,
            "now": plan.now_cents / 100.0,
            "later": plan.later_cents / 100.0,
            "running": plan.running_cents / 100.0,
            "worth": plan.worth_cents / 100.0,
            "bound": found.bound_cents / 100.0,
            "at_once": found.at_once_cents / 100.0,
            "pump_now": f"{plan.now.pump.count} x {plan.now.pump.id}",
            "pump_later": f"{plan.later.pump.count} x {plan.later.pump.id}",
            "sump_now": f"{plan.now.sump.count} x {plan.now.sump.id}",
            "sump_later": f"{plan.later.sump.count} x {plan.later.sump.id}",
        }
        for plan in found.plans
    ]


def _checked(found: Phases) -> list[Row]:
    """Return what simulation says of both phases of two plans, a day and a power cut included."""
    named = {"only for now": found.only_for_now, "best": found.best}
    return [
        {"plan": name, "phase": phase, "beds": len(design.beds), "broken": len(report.failures)}
        for name, plan in named.items()
        for phase, design in (("now", plan.now), ("later", plan.later))
        for report in (check_whole(design),)
    ]


def _header(found: Phases) -> list[Row]:
    """Return riser and header of both phases of two plans, stretch by stretch."""
    named: dict[str, Plan] = {"only for now": found.only_for_now, "best": found.best}
    return [
        {"plan": name, "phase": phase, "stretch": s.id, "size": s.nominal, "length_m": s.length_m}
        for name, plan in named.items()
        for phase, design in (("now", plan.now), ("later", plan.later))
        for s in design.stretches
        if s.kind in ("riser", "header")
    ]
