"""What the page shows of the chosen design, held against the design as stored."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

from optimizer.report.scales import Reader, money
from tests.browser.open_page import Opened, Stored

ON_CURVE_PX = 1.0
"""A duty point lies on its curve but for rounding to a tenth of a pixel and the 40 chords."""


def demand_agreement(opened: Opened, stored: Stored, units: str = "metric") -> None:
    """Cost, plan, windows, pump and parts are those of the stored design."""
    opened.unfold()
    reader = Reader(units)
    _costs(opened, stored)
    _plan(opened, stored, reader)
    _windows(opened, stored, reader)
    _pump(opened, stored, reader)
    _parts(opened, stored, reader)


def _costs(opened: Opened, stored: Stored) -> None:
    total = money(stored.cents(), stored.design.currency)
    assert opened.text("now_cost") == total
    assert money(stored.cents("capital"), stored.design.currency) in opened.text("spoken")
    rows = opened.rows("costs")
    assert rows[-1][:2] == ["all together", total]
    shown = [round(100 * float(row[1].split()[-1].replace(",", ""))) for row in rows[:-1]]
    assert sum(shown) == stored.cents()


def _plan(opened: Opened, stored: Stored, reader: Reader) -> None:
    design = stored.design
    assert opened.beds_on_plan() == stored.beds
    drawn = opened.page.locator("#plan .pipe.supply").count()
    assert drawn == sum(s.kind != "drop" for s in design.stretches)
    assert opened.page.locator("#plan .pipe.return").count() == len(design.drains)
    pipes = {row[0]: (row[2], row[5]) for row in opened.rows("pipes")}
    assert pipes == {s.id: (s.nominal, reader.text("flow", s.flow_m3_s)) for s in design.stretches}
    valves = {row[0]: row[2] for row in opened.rows("beds")}
    assert valves == {bed.id: reader.bucket_time(bed.bucket_s) for bed in design.beds}
    assert reader.level(design.sump.floor_level_m) in opened.text("plan")


def _windows(opened: Opened, stored: Stored, reader: Reader) -> None:
    kinds = {kind.id: kind for kind in stored.design.kinds}
    rows = {row[0]: row[1:] for row in opened.rows("windows_table")}
    for bed in stored.design.beds:  # few beds: a row each
        kind = kinds[bed.kind]
        ends = [kind.windows[name] for name in ("nominal", "most", "whole")]
        spans = [reader.span("flow", w.low_m3_s, w.high_m3_s) for w in ends]
        assert rows[bed.id][0] == reader.text("flow", kind.inflow_m3_s)
        assert rows[bed.id][2:] == spans
    assert set(rows) == stored.beds


def _pump(opened: Opened, stored: Stored, reader: Reader) -> None:
    pump, check = stored.design.pump, stored.check
    assert opened.text("pump_name").startswith(f"{pump.count} x {pump.label}: ")
    figures = zip(check.pump_flow_m3_s, check.pump_head_m, check.pump_watts, strict=True)
    assert [row[1:] for row in opened.rows("duty")] == [
        [reader.text("flow", q), reader.text("length", h), reader.text("power", w)]
        for q, h, w in figures
    ]
    for box in ("pump_head", "pump_watts"):
        _on_curve(opened, box)


def _on_curve(opened: Opened, box: str) -> None:
    """Every duty point is drawn on the curve."""
    line = opened.page.locator(f"#{box} .curve").get_attribute("points") or ""
    corners = [tuple(map(float, pair.split(","))) for pair in line.split()]
    read = "marks => marks.map(mark => [mark.getCTM().e, mark.getCTM().f])"
    duty = opened.page.locator(f"#{box} .set").evaluate_all(read)
    assert len(duty) == 3
    for x, y in duty:
        (x0, y0), (x1, y1) = next(p for p in pairwise(corners) if p[0][0] <= x <= p[1][0])
        assert abs(y0 + (y1 - y0) * (x - x0) / (x1 - x0) - y) <= ON_CURVE_PX


def _parts(opened: Opened, stored: Stored, reader: Reader) -> None:
    quantities: Counter[tuple[str, str, str]] = Counter()
    cents: Counter[tuple[str, str, str]] = Counter()
    for line in stored.design.costs:
        if line.group == "capital":
            quantities[line.what, line.part, line.unit] += line.quantity
            cents[line.what, line.part, line.unit] += line.cents
    wanted = sorted(
        [what, part, reader.quantity(n, unit), money(cents[what, part, unit], "EUR")]
        for (what, part, unit), n in quantities.items()
    )
    assert sorted(opened.rows("parts")) == wanted
