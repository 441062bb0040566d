"""The tables of the page: words only, each figure with its unit, in the reader's units."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import pandas as pd

from optimizer.records.check import CheckReport
from optimizer.records.design import BedKind, Design
from optimizer.report import tables, words, words_layouts
from optimizer.report.scales import Reader, money
from optimizer.report.text_table import Table, make_table
from optimizer.report.words import BANDS, PAID
from optimizer.report.words_near import price_of_step
from optimizer.report.words_returns import bursts_rule


def parts_table(design: Design) -> Table:
    """What to buy."""
    rows = (
        (
            r["what"],
            r["part"],
            Reader(design.units).quantity(r["quantity"], r["unit"]),
            money(r["cents"], design.currency),
        )
        for r in tables.parts_frame(design).to_dict("records")
    )
    return make_table("What to buy", "what|part|quantity|price", rows, "quantity|price")


def costs_table(design: Design) -> Table:
    """Every cost line."""
    rows = (
        (
            line.what,
            PAID.get(line.group, line.group),
            Reader(design.units).quantity(line.quantity, line.unit),
            money(line.cents, design.currency),
        )
        for line in design.costs
    )
    return make_table("Cost lines", "what|paid|quantity|cost", rows, "quantity|cost")


def beds_table(design: Design, check: CheckReport) -> Table:
    """How each bed runs and how its valve is set."""
    reader = Reader(design.units)
    rows = (
        (
            str(r["number"]),
            r["bed"],
            reader.bucket_time(r["bucket_s"]),
            reader.opening(r["valve_opening"]) + " open",
            reader.text("flow", r["inflow_m3_s"]),
            r["kind"],
            reader.text("frequency", r["floods_per_hour"]),
            reader.text("minutes", r["fill_s"]),
            reader.text("minutes", r["drain_s"]),
            reader.level(r["floor_level_m"]),
            reader.level(r["outlet_level_m"]),
        )
        for r in tables.beds_frame(design, check).to_dict("records")
    )
    first, last = f"{reader.bucket} in|valve|inflow", "floods|fills in|drains in|floor|water at"
    columns = f"no.|bed|{first}|kind|{last}"
    return make_table("Valve openings and beds", columns, rows, f"{first}|{last}")


def windows_table(design: Design) -> Table:
    """Start-stop windows beside the inflow set."""
    reader, labels = Reader(design.units), {kind.id: kind.label for kind in design.kinds}
    rows = (
        (
            labels[r["kind"]],
            BANDS.get(r["robustness"], r["robustness"]),
            reader.span("flow", r["low_m3_s"], r["high_m3_s"])
            if r["works"]
            else "no inflow is sure",
            reader.text("flow", r["inflow_m3_s"]),
        )
        for r in tables.windows_frame(design).to_dict("records")
    )
    columns = "kind|for|starts above and stops up to|set to"
    return make_table("Start-stop windows", columns, rows, "set to")


def trade_table(kind: BedKind, design: Design) -> Table:
    """The trade of one bed kind in figures: from start to stop, with the inflow set."""
    reader, siphon = Reader(design.units), kind.siphon
    low, high = siphon.start_flow_m3_s, siphon.stop_flow_m3_s
    flows = {low + (high - low) * share: "" for share in (0.1, 0.3, 0.5, 0.7, 0.9)}
    flows |= {siphon.greatest_floods()[0]: "floods most often", kind.inflow_m3_s: "set"}
    rows = (
        (
            reader.text("flow", flow),
            reader.text("frequency", siphon.floods_per_hour(flow)),
            reader.text("minutes", siphon.fill_s(flow)),
            reader.text("minutes", siphon.drain_s(flow)),
            flows[flow],
        )
        for flow in sorted(flows)
    )
    columns = "inflow|floods|fills in|drains in|note"
    return make_table(f"{kind.label}, by nominal coefficients", columns, rows, columns[:-5])


def kind_table(kind: BedKind, design: Design) -> Table:
    """The sheet of one bed kind: loads and siphon parts to cut."""
    reader, parts = Reader(design.units), kind.parts

    def size(value_m: float) -> str:
        return reader.text("size", value_m)

    area = reader.text("section", parts.slot_area_m2)
    slots = f"{parts.slot_count} slots of {size(parts.slot_width_m)} by {size(parts.slot_height_m)}"
    rows = (
        ("container", kind.container),
        (
            "inside",
            f"{size(kind.length_m)} by {size(kind.width_m)}, {size(kind.depth_m)} deep",
        ),
        ("growing area", reader.text("area", kind.area_m2)),
        ("medium", kind.medium),
        ("water of one flood", reader.text("volume", kind.held_m3)),
        ("wet mass", reader.text("mass", kind.wet_mass_kg)),
        ("stand", f"{kind.stand}, {size(kind.stand_height_m)} high"),
        ("stand allows", reader.text("mass", kind.stand_capacity_kg)),
        (
            "load per support",
            f"{reader.text('force', kind.load_per_support_n)} on each of {kind.supports} supports",
        ),
        ("pressure on the floor", reader.text("pressure", kind.floor_pressure_pa)),
        ("siphon kit", kind.kit_label),
        (
            "standpipe",
            f"{parts.standpipe}, bore {size(parts.standpipe_bore_m)}, "
            f"cut to {size(parts.standpipe_length_m)}",
        ),
        ("rim of the standpipe", f"{size(parts.rim_diameter_m)} across"),
        ("bell", f"{parts.bell}, bore {size(parts.bell_bore_m)}, {size(parts.bell_height_m)} high"),
        ("ring between bell and standpipe", reader.text("section", parts.annulus_area_m2)),
        (
            "slots at the bell's foot",
            f"{slots}, {area} in all",
        ),
        ("gravel guard", f"{parts.guard}, bore {size(parts.guard_bore_m)}"),
        ("hole for the bulkhead", f"{size(parts.bulkhead_hole_m)} across"),
    )
    return make_table(kind.label, "part|size", rows)


def pipes_table(design: Design) -> Table:
    """The pipe schedule."""
    reader = Reader(design.units)
    rows = (
        (
            r["stretch"],
            r["kind"],
            r["nominal"] + (" (there already)" if r["standing"] else ""),
            reader.text("size", r["bore_m"]),
            reader.text("length", r["length_m"]),
            reader.text("flow", r["flow_m3_s"]),
            reader.text("speed", r["velocity_m_s"]),
            reader.text("size", r["loss_m"]),
        )
        for r in _by_row(tables.stretches_frame(design))
    )
    columns = "pipe|kind|size|bore|length|flow|speed|head lost"
    return make_table("Pipe schedule", columns, rows, "bore|length|flow|speed|head lost")


def returns_table(design: Design) -> Table:
    """The schedule of return pipe."""
    reader = Reader(design.units)
    rows = (
        (
            r["stretch"],
            r["nominal"],
            reader.text("length", r["length_m"]),
            reader.text("slope", r["slope"]),
            reader.level(r["upper_invert_m"]),
            reader.level(r["lower_invert_m"]),
            reader.text("flow", r["bursts_m3_s"]),
            reader.text("flow", r["capacity_m3_s"]),
            bursts_rule(design, r["beds_above"]),
        )
        for r in _by_row(tables.returns_frame(design))
    )
    columns = "length|slope|upper invert|lower invert|bursts|carries"
    return make_table("Return pipe", f"stretch|size|{columns}|bursts of", rows, columns)


def _by_row(frame: pd.DataFrame) -> list[dict[Hashable, Any]]:
    """Return the rows of a frame of pipes: shared pipe first, then row by row, drops last."""
    rows = frame.to_dict("records")

    def place(row: dict[Hashable, Any]) -> tuple[str, bool]:
        return row["row"] if isinstance(row["row"], str) else "", row.get("kind") == "drop"

    return sorted(rows, key=place)


def assumptions_table(design: Design) -> Table:
    """Every coefficient that is a band."""
    rows = (
        (a.about, a.coefficient, f"{a.nominal}, band {a.band}", a.ends, a.provenance)
        for a in words.assumptions(design)
    )
    columns = "bed|coefficient|value|at the band's two ends|where it comes from"
    return make_table("Coefficients known only within a band", columns, rows)


def layouts_table(design: Design) -> Table:
    """Every layout that was compared, with what it costs more than the one chosen."""
    columns = "layout|costs|more than chosen|note"
    rows = words_layouts.layout_rows(design)
    return make_table("Layouts compared", columns, rows, "costs|more than chosen")


def near_misses_table(design: Design) -> Table:
    """What nearly decided otherwise."""
    rows = (
        (
            miss.what,
            price_of_step(miss.extra_cents, design.currency),
            miss.note,
        )
        for miss in design.near_misses
    )
    return make_table(
        "What nearly decided otherwise", "instead|then it costs|note", rows, "then it costs"
    )
