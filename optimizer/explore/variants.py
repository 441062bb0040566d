"""Two or more designs side by side: what differs in parts, cost, margins and plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from optimizer.explore.point import figures_of
from optimizer.explore.pump_study import duty_of
from optimizer.records.check import CheckReport
from optimizer.records.design import Design

Row = dict[str, Any]
Variants = Mapping[str, Design]


def figure_rows(variants: Variants, checks: Mapping[str, CheckReport]) -> list[Row]:
    """Return one row a figure, one column a design: cost, choices, duty, margins, check.

    Args:
        variants: designs by the name they are shown under.
        checks: what simulation says of each.
    """
    columns = {
        name: figures_of(design) | duty_of(design) | _check(checks[name])
        for name, design in variants.items()
    }
    figures = next(iter(columns.values())) if columns else {}
    return [
        {"figure": figure} | {name: column[figure] for name, column in columns.items()}
        for figure in figures
    ]


def _check(check: CheckReport) -> Row:
    failed = "; ".join(dict.fromkeys(f.promise for f in check.failures))
    return {"promises": len(check.findings), "promises_broken": failed}


def cost_rows(variants: Variants) -> list[Row]:
    """Return one row a line of any bill, with each design's amount; 0 where it has no such line."""
    return _side_by_side(variants, _costs, 0.0)


def part_rows(variants: Variants) -> list[Row]:
    """Return one row a part of any bill, with how many or how much each design takes."""
    return _side_by_side(variants, _parts, 0.0)


def plan_rows(variants: Variants) -> list[Row]:
    """Return one row a place or pipe that differs: what each design has there, or nothing."""
    rows = _side_by_side(variants, _plan, "")
    return [row for row in rows if len({row[name] for name in variants}) > 1]


def _side_by_side(
    variants: Variants, of: Callable[[Design], dict[tuple[str, str], Any]], none: object
) -> list[Row]:
    columns = {name: of(design) for name, design in variants.items()}
    keys = dict.fromkeys(key for column in columns.values() for key in column)
    return [
        {"what": what, "part": part}
        | {name: column.get((what, part), none) for name, column in columns.items()}
        for what, part in keys
    ]


def _costs(design: Design) -> dict[tuple[str, str], Any]:
    money: dict[tuple[str, str], Any] = {}
    for line in design.costs:
        key = (line.what, line.group)
        money[key] = money.get(key, 0.0) + line.cents / 100.0
    return money


def _parts(design: Design) -> dict[tuple[str, str], Any]:
    amounts: dict[tuple[str, str], Any] = {}
    for line in design.costs:
        if line.group == "capital":
            key = (f"{line.what}, {line.unit}", line.part)
            amounts[key] = amounts.get(key, 0.0) + line.quantity
    return amounts


def _plan(design: Design) -> dict[tuple[str, str], Any]:
    """Return what stands or lies at each place: bed kind with its valve, pipe sizes."""
    places: dict[tuple[str, str], Any] = {}
    for bed in design.beds:
        places["bed", bed.id] = f"{bed.kind}, {bed.valve_label}"
    for stretch in design.stretches:
        places["supply pipe", stretch.id] = stretch.nominal
    for drain in design.drains:
        places["return pipe", drain.id] = drain.nominal
    return places
