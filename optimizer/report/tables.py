"""A design as tidy pandas frames in SI, one unit in every column's name.

``COLUMNS`` declares each frame's columns with their meaning; a frame has exactly those, in order,
even when it has no rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import pandas as pd

from optimizer.physics.pipe import velocity_m_s
from optimizer.records.check import BedRun, CheckReport
from optimizer.records.design import Bed, BedKind, Design, Window

COLUMNS: Mapping[str, Mapping[str, str]] = {
    "beds": {
        "number": "number on the plan, counted from 1",
        "bed": "the bed's id",
        "row": "the row it stands in",
        "kind": "its kind of bed",
        "x_m": "its middle on the plan",
        "y_m": "its middle on the plan",
        "floor_level_m": "its inside floor, above the site's datum",
        "outlet_level_m": "where its water enters, above the site's datum",
        "inflow_m3_s": "what its valve is set to",
        "inflow_low_m3_s": "least inflow over the sump's levels",
        "inflow_high_m3_s": "greatest inflow over the sump's levels",
        "floods_per_hour": "floods an hour at the set inflow",
        "fill_s": "time to fill",
        "drain_s": "time to drain",
        "valve": "its valve, by catalog id",
        "valve_opening": "0 shut, 1 fully open",
        "bucket_s": "time in which its set inflow fills 10 litres",
        "wet_mass_kg": "container, medium and water",
        "load_per_support_n": "force under each support",
    },
    "stretches": {
        "stretch": "the pipe's id",
        "kind": "riser, header, lateral or drop",
        "row": "the row it serves alone; empty for shared pipe",
        "tail": "where water enters",
        "head": "where water leaves",
        "pipe": "catalog id",
        "nominal": "trade size",
        "bore_m": "inside diameter",
        "length_m": "laid length",
        "flow_m3_s": "flow it was sized for",
        "velocity_m_s": "mean velocity at that flow",
        "loss_m": "head lost at that flow",
        "volume_m3": "water it holds",
        "standing": "whether it is already there",
    },
    "returns": {
        "stretch": "the return pipe's id",
        "row": "the row it serves alone; empty for shared pipe",
        "tail": "its upper end",
        "head": "its lower end; sump for the last",
        "pipe": "catalog id",
        "nominal": "trade size",
        "bore_m": "inside diameter",
        "length_m": "laid length, in plan",
        "slope": "fall over length",
        "upper_invert_m": "inside bottom of its upper end, above the site's datum",
        "lower_invert_m": "inside bottom of its lower end, above the site's datum",
        "beds_above": "beds that drain through it",
        "bursts_m3_s": "flow of the bursts counted at once",
        "capacity_m3_s": "flow it carries at the fill limit",
        "fill_limit": "greatest depth over bore",
        "manning_n": "Manning's n it was sized with",
    },
    "parts": {
        "what": "what it is for",
        "part": "catalog id",
        "quantity": "how many or how much",
        "unit": "unit of the quantity",
        "cents": "price of all of it, in hundredths of the site's currency",
    },
    "costs": {
        "group": "capital, running as present worth, or stock that lies ready",
        "what": "what it is for",
        "part": "catalog id",
        "quantity": "how many or how much",
        "unit": "unit of the quantity",
        "cents": "cost, in hundredths of the site's currency",
    },
    "findings": {
        "subject": "bed, pipe, pump or sump",
        "promise": "what the design promises",
        "promised": "the promised value or limit, in `unit`",
        "simulated": "what independent simulation gave, in `unit`",
        "unit": "SI unit of both",
        "tolerance": "allowed excess, in `unit`",
        "passed": "whether the promise holds",
    },
    "windows": {
        "kind": "kind of bed",
        "robustness": "nominal, most (95 % of draws) or whole (the whole band)",
        "low_m3_s": "inflow above which the siphon starts",
        "high_m3_s": "inflow up to which it stops",
        "works": "whether any inflow works",
        "inflow_m3_s": "the inflow set",
    },
}


def beds_frame(design: Design, check: CheckReport) -> pd.DataFrame:
    """Return one row for each bed, with how it ran in simulation where the check has it."""
    kinds = {kind.id: kind for kind in design.kinds}
    runs = {run.bed: run for run in check.beds}
    rows = (
        _bed_row(number, bed, kinds[bed.kind], runs.get(bed.id))
        for number, bed in enumerate(design.beds, start=1)
    )
    return _frame("beds", rows)


def _bed_row(number: int, bed: Bed, kind: BedKind, run: BedRun | None) -> dict[str, Any]:
    inflow = kind.inflow_m3_s
    flows = run.inflow_m3_s if run else (inflow, inflow, inflow)
    return {
        "number": number,
        "bed": bed.id,
        "row": bed.row,
        "kind": bed.kind,
        "x_m": bed.x_m,
        "y_m": bed.y_m,
        "floor_level_m": bed.floor_level_m,
        "outlet_level_m": bed.outlet_level_m,
        "inflow_m3_s": inflow,
        "inflow_low_m3_s": min(flows),
        "inflow_high_m3_s": max(flows),
        "floods_per_hour": kind.floods_per_hour,
        "fill_s": run.fill_s if run else kind.siphon.fill_s(inflow),
        "drain_s": run.drain_s if run else kind.siphon.drain_s(inflow),
        "valve": bed.valve,
        "valve_opening": bed.valve_opening,
        "bucket_s": bed.bucket_s,
        "wet_mass_kg": kind.wet_mass_kg,
        "load_per_support_n": kind.load_per_support_n,
    }


def stretches_frame(design: Design) -> pd.DataFrame:
    """Return one row for each built pipe, in the order of the design."""
    return _frame(
        "stretches",
        (
            {
                "stretch": s.id,
                "kind": s.kind,
                "row": s.row,
                "tail": s.tail,
                "head": s.head,
                "pipe": s.pipe,
                "nominal": s.nominal,
                "bore_m": s.bore_m,
                "length_m": s.length_m,
                "flow_m3_s": s.flow_m3_s,
                "velocity_m_s": float(velocity_m_s(s.flow_m3_s, s.bore_m)),
                "loss_m": s.loss_m,
                "volume_m3": s.volume_m3,
                "standing": s.standing,
            }
            for s in design.stretches
        ),
    )


def returns_frame(design: Design) -> pd.DataFrame:
    """Return one row for each return pipe, in the order of the design."""
    above = beds_above(design)
    fields = [c for c in COLUMNS["returns"] if c not in ("stretch", "beds_above")]
    rows = (
        {"stretch": d.id, "beds_above": above[d.id], **{c: getattr(d, c) for c in fields}}
        for d in design.drains
    )
    return _frame("returns", rows)


def beds_above(design: Design) -> dict[str, int]:
    """Return how many beds drain through each return stretch."""
    below = {drain.tail: drain for drain in design.drains}
    named = {drain.id: drain for drain in design.drains}
    counts = dict.fromkeys(named, 0)
    for bed in design.beds:
        drain = named.get(bed.drain)
        while drain is not None:
            counts[drain.id] += 1
            drain = below.get(drain.head)
    return counts


def costs_frame(design: Design) -> pd.DataFrame:
    """Return every cost line."""
    columns = COLUMNS["costs"]
    return _frame("costs", ({c: getattr(line, c) for c in columns} for line in design.costs))


def parts_frame(design: Design) -> pd.DataFrame:
    """Return what to buy: capital lines, the same part for the same purpose added up."""
    bought: dict[tuple[str, str, str], tuple[float, int]] = {}
    for line in design.costs:
        if line.group == "capital":
            quantity, cents = bought.get((line.what, line.part, line.unit), (0.0, 0))
            bought[line.what, line.part, line.unit] = quantity + line.quantity, cents + line.cents
    return _frame(
        "parts",
        (
            {"what": what, "part": part, "quantity": n, "unit": unit, "cents": cents}
            for (what, part, unit), (n, cents) in bought.items()
        ),
    )


def findings_frame(check: CheckReport) -> pd.DataFrame:
    """Return every finding, failures first, otherwise in the order of the check."""
    ordered = sorted(check.findings, key=lambda finding: finding.passed)
    columns = COLUMNS["findings"]
    return _frame("findings", ({c: getattr(finding, c) for c in columns} for finding in ordered))


def windows_frame(design: Design) -> pd.DataFrame:
    """Return the start-stop window of each kind of bed for each robustness."""
    return _frame(
        "windows",
        (
            {
                "kind": kind.id,
                "robustness": robustness,
                "low_m3_s": window.low_m3_s,
                "high_m3_s": window.high_m3_s,
                "works": window.low_m3_s < window.high_m3_s,
                "inflow_m3_s": kind.inflow_m3_s,
            }
            for kind in design.kinds
            for robustness, window in _ordered(kind.windows)
        ),
    )


def _ordered(windows: Mapping[str, Window]) -> list[tuple[str, Window]]:
    """Return windows from the widest robustness to the narrowest, others after."""
    known = {"nominal": 0, "most": 1, "whole": 2}
    return sorted(windows.items(), key=lambda item: known.get(item[0], len(known)))


def csv_text(frame: pd.DataFrame) -> str:
    """Return a frame as the text of a CSV file: a head line, no row numbers, line feeds."""
    return str(frame.to_csv(index=False, lineterminator="\n"))


def _frame(name: str, rows: Iterable[Mapping[str, Any]]) -> pd.DataFrame:
    return pd.DataFrame(list(rows), columns=list(COLUMNS[name]))
