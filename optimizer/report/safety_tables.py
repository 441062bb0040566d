"""The table of what more safety costs: one row for each level, for a file, a page or a terminal."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from typing import Any

import pandas as pd

from optimizer.records.design import Design
from optimizer.records.safety import NoSafeDesign, SafeDesign, SafetyStep
from optimizer.report import words
from optimizer.report.safety_words import changes, level_words
from optimizer.report.scales import money, rounded, sure_percent
from optimizer.report.text_table import Table, make_table

COLUMNS = {
    "robustness": "nominal, most (95 % of draws) or whole (the whole band)",
    "designed": "whether there is a design",
    "cost_cents": "capital and present worth of running",
    "bound_cents": "no design of this level costs less (proven)",
    "extra_cents": "over the cost of the least safe level that has a design",
    "capital_cents": "bought once",
    "energy_kwh_per_year": "energy of a year",
    "works_in_share": "share of draws in which every bed starts and stops",
    "standard_error": "of that share",
    "floods_in_share": "share of draws in which every bed also floods as often as asked",
    "passed": "whether every promise holds in simulation",
    "status": "optimal, or stopped before the proof was done",
    "changes": "what differs from the level before, or why there is no design",
}


def safety_frame(steps: Sequence[SafetyStep]) -> pd.DataFrame:
    """Return one row for each level of safety, with the columns of ``COLUMNS``.

    Figures that are not there (no design, nothing drawn) are left empty.

    Args:
        steps: the levels in order, least safe first.
    """
    rows = [_figures(step) for step in steps]
    designed = [row["cost_cents"] for row in rows if row["designed"]]
    for row, said in zip(rows, _notes(steps), strict=True):
        row["extra_cents"] = row["cost_cents"] - designed[0] if row["designed"] else None
        row["changes"] = "; ".join(said)
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    cents = ["cost_cents", "extra_cents", "capital_cents"]
    return frame.astype(dict.fromkeys(cents, "Int64"))


def safety_table(steps: Sequence[SafetyStep]) -> Table:
    """Return the levels of safety side by side, in words.

    Args:
        steps: the levels in order, least safe first.
    """
    currency = next((s.design.currency for s in steps if isinstance(s, SafeDesign)), "")
    rows = [
        (level_words(r["robustness"]), *_cells(r, currency))
        for r in safety_frame(steps).to_dict("records")
    ]
    figures = "costs|more|works in|to buy|kWh a year"
    return make_table("What more safety costs", f"asked for|{figures}|check", rows, figures)


def safety_notes(steps: Sequence[SafetyStep]) -> list[tuple[str, list[str]]]:
    """Return, for each level after the first and each without a design, what there is to say."""
    named = [level_words(step.level) for step in steps]
    return [(name, said) for name, said in zip(named, _notes(steps), strict=True) if said]


def _notes(steps: Sequence[SafetyStep]) -> list[list[str]]:
    notes: list[list[str]] = []
    before: Design | None = None
    for step in steps:
        if isinstance(step, NoSafeDesign):
            ways = [f"{way.requirement}: {way.change}" for way in step.remedies]
            notes.append([f"no design: {step.clash}", *ways])
            continue
        notes.append(changes(before, step.design) if before else [])
        before = step.design
    return notes


def _figures(step: SafetyStep) -> dict[str, Any]:
    if isinstance(step, NoSafeDesign):
        return {"robustness": step.level, "designed": False, "cost_cents": None}
    design, drawn = step.design, step.check.reliability
    found = {
        "robustness": step.level,
        "designed": True,
        "cost_cents": design.record.cost_cents,
        "bound_cents": design.record.bound_cents,
        "capital_cents": words.capital_cents(design),
        "energy_kwh_per_year": design.energy_kwh_per_year,
        "passed": step.check.passed,
        "status": design.record.status,
    }
    if drawn is None:
        return found
    shares = {
        "works_in_share": drawn.share,
        "standard_error": drawn.standard_error,
        "floods_in_share": drawn.floods,
    }
    return found | shares


def _cells(row: Mapping[Hashable, Any], currency: str) -> tuple[str, ...]:
    if not row["designed"]:
        return ("no design", "", "", "", "", "")
    share = row["works_in_share"]
    held = "holds" if row["passed"] else "FAILS"
    return (
        money(row["cost_cents"], currency),
        money(row["extra_cents"], currency) if row["extra_cents"] else "nothing",
        "not drawn" if pd.isna(share) else sure_percent(share),
        money(row["capital_cents"], currency),
        rounded(row["energy_kwh_per_year"]),
        held if row["status"] == "optimal" else f"{held}; search stopped early",
    )
