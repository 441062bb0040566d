"""Every chart of a design by name: the one list that the page and the picture files go by.

A new chart is a function in a module of its own and a line here (and ``picture`` in the page).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from optimizer.records.check import CheckReport
from optimizer.records.design import BedKind, Design
from optimizer.report import theme
from optimizer.report.charts.costs import cost_chart
from optimizer.report.charts.cycle import cycle_chart
from optimizer.report.charts.plan import plan_chart
from optimizer.report.charts.pump import pump_head_chart, pump_watts_chart
from optimizer.report.charts.trade import trade_chart
from optimizer.report.charts.windows import windows_chart

OfDesign = Callable[[Design, CheckReport], theme.Chart | None]
OfKind = Callable[[Design, BedKind], theme.Chart | None]

OF_DESIGN: Mapping[str, OfDesign] = {
    "plan": lambda design, _: plan_chart(design),
    "plan_narrow": lambda design, _: plan_chart(design, theme.NARROW_PX),
    "windows": windows_chart,
    "costs": lambda design, _: cost_chart(design),
    "pump_head": pump_head_chart,
    "pump_watts": pump_watts_chart,
}
"""Charts of the whole design; None where a design has nothing to draw."""

OF_KIND: Mapping[str, OfKind] = {"trade": trade_chart, "cycle": cycle_chart}
"""Charts of one kind of bed, named for the page with the kind's number."""


@theme.unchecked
def chart_specs(design: Design, check: CheckReport) -> dict[str, theme.Chart]:
    """Return every chart by name; those of one bed kind end in its number, from 1."""
    charts = {name: draw(design, check) for name, draw in OF_DESIGN.items()}
    for number, kind in enumerate(built_kinds(design), start=1):
        charts |= {f"{name}_{number}": draw(design, kind) for name, draw in OF_KIND.items()}
    return {name: chart for name, chart in charts.items() if chart is not None}


def built_kinds(design: Design) -> list[BedKind]:
    """Return the kinds that some bed is of."""
    built = {bed.kind for bed in design.beds}
    return [kind for kind in design.kinds if kind.id in built]
