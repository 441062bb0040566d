"""Layouts that were compared, as a reader meets them."""

from __future__ import annotations

import io
from dataclasses import replace

from rich.console import Console

from optimizer.records.layouts import LayoutCost
from optimizer.report.page import render_page
from optimizer.report.page_tables import layouts_table
from optimizer.report.summary import summary
from tests.report.read_page import PageReader


def compared(design):
    cost = design.record.cost_cents
    layouts = (
        LayoutCost("sump at 'shade'", cost, float(cost), chosen=True),
        LayoutCost("sump at 'gate'", cost + 4200, float(cost), chosen=False, note="its note"),
        LayoutCost("sump at 'pond'", None, None, chosen=False, note="no pipe can reach it"),
        LayoutCost("sump at 'hill'", None, float(cost), chosen=False, note="given up"),
    )
    return replace(design, layouts=layouts)


def test_each_layout_is_listed_with_what_it_costs_more_or_why_it_cannot_be(design):
    rows = [row[1:] for row in layouts_table(compared(design)).rows]
    costs = [f"EUR {(design.record.cost_cents + more) / 100:,.2f}" for more in (0, 4200)]
    assert rows == [
        (costs[0], "", "chosen"),
        (costs[1], "EUR 42.00", "its note"),
        ("not possible", "", "no pipe can reach it"),
        ("no design", "", "given up"),
    ]


def test_the_page_and_the_terminal_show_them_and_are_silent_without(design, check):
    console = Console(file=io.StringIO(), width=120, color_system=None)
    console.print(summary(compared(design), check))
    assert "sump at 'gate'" in console.file.getvalue()
    assert "sump at 'gate'" in PageReader(render_page(compared(design), check)).text
    assert "Layouts compared" not in render_page(design, check)
