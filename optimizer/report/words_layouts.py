"""The layouts that were compared, in words and money."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.design import Design
from optimizer.records.layouts import LayoutCost
from optimizer.report.scales import money


def layout_rows(design: Design) -> Iterator[tuple[str, str, str, str]]:
    """Yield each layout's name, cost, cost above the one chosen, and note."""
    chosen = design.record.cost_cents
    for layout in design.layouts:
        cost = layout.cost_cents
        note = "chosen" if layout.chosen else layout.note
        if cost is None:
            yield layout.name, _without_design(layout), "", note
        else:
            yield layout.name, money(cost, design.currency), _more(cost - chosen, design), note


def _without_design(layout: LayoutCost) -> str:
    return "not possible" if layout.bound_cents is None else "no design"


def _more(extra_cents: int, design: Design) -> str:
    return "" if extra_cents == 0 else money(extra_cents, design.currency)
