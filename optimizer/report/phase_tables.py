"""Phases as tables: steps, plans, what is bought when, what stays, how far each pump reaches."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from optimizer.records.extension import Room, bought_cents
from optimizer.records.phasing import BuiltStep, PhasePlan, Phasing
from optimizer.report.extension_words import fates_frame

SCHEMA = "floodwright-phases/1"
PARTS = ("sump", "pump", "header")
NEVER = "as needed"


def machines(count: int, label: str) -> str:
    """Return pumps or tanks in words, as ``2 x 40 W pump``."""
    return f"{count} x {label}"


def today_cents(step: BuiltStep, cents: float) -> int:
    """Return money of a step's year in today's money."""
    return round(step.worth * cents)


def steps_frame(plan: PhasePlan) -> pd.DataFrame:
    """Return one row a step of a plan; money in cents, of its year and of today."""
    return pd.DataFrame([_step_row(step) for step in plan.steps])


def _step_row(step: BuiltStep) -> dict[str, Any]:
    design = step.design
    return {
        "step": step.name,
        "year": step.year,
        "runs_years": step.years,
        "beds": len(design.beds),
        "pump": machines(design.pump.count, design.pump.id),
        "sump": machines(design.sump.count, design.sump.id),
        "as_whole": " and ".join(step.ahead),
        "bought_cents": step.bought_cents,
        "bought_today_cents": today_cents(step, step.bought_cents),
        "running_cents": step.running_cents,
        "running_today_cents": today_cents(step, step.running_cents),
        "worth_of_1_today": round(step.worth, 6),
    }


def first_step_with(plan: PhasePlan, part: str) -> str:
    """Return the step from which on a part is bought as the whole site has it."""
    return next((step.name for step in plan.steps if part in step.ahead), NEVER)


def plans_frame(found: Phasing) -> pd.DataFrame:
    """Return one row a plan, cheapest first; money in cents."""
    rows = []
    for number, plan in enumerate(found.plans, start=1):
        row: dict[str, Any] = {"plan": number}
        row |= {f"{part}_as_whole_from": first_step_with(plan, part) for part in PARTS}
        for place, step in enumerate(plan.steps, start=1):
            row[f"step_{place}_bought_cents"] = step.bought_cents
            row[f"step_{place}_pump"] = machines(step.design.pump.count, step.design.pump.id)
            row[f"step_{place}_sump"] = machines(step.design.sump.count, step.design.sump.id)
        row["today_cents"] = plan.worth_cents
        row["over_best_cents"] = plan.worth_cents - found.best.worth_cents
        rows.append(row)
    return pd.DataFrame(rows)


def bought_frame(plan: PhasePlan) -> pd.DataFrame:
    """Return what each step buys, one row a line of its bill; money in cents of its year."""
    columns = ["step", "year", "what", "part", "quantity", "unit", "cents"]
    return pd.DataFrame([row for step in plan.steps for row in _bought(step)], columns=columns)


def _bought(step: BuiltStep) -> Iterator[dict[str, Any]]:
    if not bought_cents(step.design):
        return
    for line in step.design.costs:
        if line.group == "capital" and line.cents:
            yield {
                "step": step.name,
                "year": step.year,
                "what": line.what,
                "part": line.part,
                "quantity": line.quantity,
                "unit": line.unit,
                "cents": line.cents,
            }


def parts_frame(plan: PhasePlan) -> pd.DataFrame:
    """Return what becomes at each step of what stood before; lengths in m."""
    frames = [fates_frame(step.fates).assign(step=step.name) for step in plan.steps if step.fates]
    columns = ["step", "fate", "what", "before", "after", "quantity", "unit"]
    return pd.concat(frames)[columns] if frames else pd.DataFrame(columns=columns)


def reach_frame(found: Phasing) -> pd.DataFrame:
    """Return how far the pump of each step reaches, and what one bed more buys; money in cents."""
    columns = [
        "step", "pump", "beds", "places", "beds_fit", "beds_fit_at_most", "buy_to_fill_cents",
        "pump_for_one_more", "buy_for_one_more_cents", "why_no_more",
    ]  # fmt: skip
    pairs = zip(found.best.steps, found.rooms, strict=True)
    rows = [_reach_row(step, room) for step, room in pairs if room is not None]
    return pd.DataFrame(rows, columns=columns)


def _reach_row(step: BuiltStep, room: Room) -> dict[str, Any]:
    pump, beyond = step.design.pump, room.beyond
    return {
        "step": step.name,
        "pump": machines(pump.count, pump.id),
        "beds": len(step.design.beds),
        "places": room.places,
        "beds_fit": room.fits,
        "beds_fit_at_most": room.fits_at_most,
        "buy_to_fill_cents": None if room.on_pump is None else bought_cents(room.on_pump),
        "pump_for_one_more": beyond and machines(beyond.pump.count, beyond.pump.id),
        "buy_for_one_more_cents": None if beyond is None else bought_cents(beyond),
        "why_no_more": "" if room.fits == room.places else room.why,
    }


def phasing_dict(found: Phasing) -> dict[str, Any]:
    """Return all of it for another program: money in cents, years from now, lengths in m."""
    return {
        "schema": SCHEMA,
        "site": found.site,
        "currency": found.best.steps[0].design.currency,
        "discount_rate": found.discount_rate,
        "planning_years": found.planning_years,
        "layout": found.layout,
        "passed": found.passed,
        "today_cents": found.best.worth_cents,
        "bound_cents": found.bound_cents,
        "at_once_cents": found.at_once_cents,
        "step_by_step_cents": found.step_by_step.worth_cents,
        "ways": found.ways,
        "ways_compared": found.compared,
        "steps": _plain(steps_frame(found.best)),
        "bought": _plain(bought_frame(found.best)),
        "parts": _plain(parts_frame(found.best)),
        "reach": _plain(reach_frame(found)),
        "plans": _plain(plans_frame(found)),
        "refused": [
            {"step": each.step, "ahead": list(each.ahead), "why": each.why}
            for each in found.refused
        ],
    }


def _plain(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a frame, what is not known as None."""
    rows = frame.astype(object).where(frame.notna(), None).to_dict("records")
    return [{str(key): value for key, value in row.items()} for row in rows]
