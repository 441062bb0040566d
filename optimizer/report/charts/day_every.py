"""Every chart of a simulated day by name: the one list that its page goes by."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.charts.day_bursts import bursts_chart
from optimizer.report.charts.day_cut import cut_chart
from optimizer.report.charts.day_floods import NARROW_SPAN_H, floods_chart
from optimizer.report.charts.day_held import held_chart
from optimizer.report.charts.day_levels import beds_chart, sump_chart
from optimizer.report.charts.day_order import order_chart
from optimizer.report.day_facts import DayFacts

OF_DAY: Mapping[str, Callable[[Design, DayFacts], theme.Chart | None]] = {
    "sump": sump_chart,
    "beds": beds_chart,
    "floods": floods_chart,
    "floods_narrow": lambda design, facts: floods_chart(
        design, facts, NARROW_SPAN_H, theme.NARROW_PX
    ),
    "held": held_chart,
    "bursts": bursts_chart,
    "cut": cut_chart,
    "order": order_chart,
}
"""Charts of a day; None where there is nothing to draw."""


@theme.unchecked
def day_specs(design: Design, facts: DayFacts) -> dict[str, theme.Chart]:
    """Return every chart of a day by name."""
    drawn = {name: draw(design, facts) for name, draw in OF_DAY.items()}
    return {name: chart for name, chart in drawn.items() if chart is not None}
