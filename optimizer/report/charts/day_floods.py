"""Floods of every bed, hour by hour: a heat map with the number written in each cell."""

from __future__ import annotations

import altair as alt
import numpy as np
import pandas as pd

from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.charts.day_marks import drawn_hours
from optimizer.report.day_facts import DayFacts

LINES_MOST = 48
"""More beds than this are drawn as the mean bed of each row, more rows as that of some rows."""
ROW_PX = 18
NARROW_SPAN_H = 4
DARK_FROM = 0.75
"""Share of the scale from which pale words on a cell have more contrast than dark ones."""


def floods_cells(design: Design, facts: DayFacts, span_h: int = 1) -> pd.DataFrame:
    """Return ``line``, ``span``, ``floods``: of a bed, or of the mean bed of its line, by span.

    Only whole spans are given.

    Args:
        design: the design.
        facts: the day.
        span_h: hours a span.
    """
    hours = int(drawn_hours(facts.doings)) // span_h * span_h
    frame = facts.hourly[facts.hourly["hour"] < hours].copy()
    frame["span"] = frame["hour"] // span_h
    frame["line"] = frame["bed"].map(floods_lines(design))
    each = frame.groupby(["line", "bed", "span"], sort=False)[["floods"]].sum().reset_index()
    return each.groupby(["line", "span"], sort=False)[["floods"]].mean().reset_index()


def floods_lines(design: Design) -> dict[str, str]:
    """Return the line of the heat map that each bed belongs to."""
    if len(design.beds) <= LINES_MOST:
        return {bed.id: bed.id for bed in design.beds}
    rows = list(dict.fromkeys(bed.row for bed in design.beds))
    each = -(-len(rows) // LINES_MOST)
    groups = [rows[i : i + each] for i in range(0, len(rows), each)]
    names = {
        row: f"row {group[0]}" if len(group) == 1 else f"rows {group[0]} to {group[-1]}"
        for group in groups
        for row in group
    }
    return {bed.id: names[bed.row] for bed in design.beds}


def floods_chart(
    design: Design, facts: DayFacts, span_h: int = 1, width_px: int = theme.CHART_PX
) -> theme.Chart | None:
    """Return the heat map; None for a run shorter than one span.

    Args:
        design: the design.
        facts: the day.
        span_h: hours a column.
        width_px: width.
    """
    cells = floods_cells(design, facts, span_h)
    if cells.empty:
        return None
    most = max(1.0, float(cells["floods"].max()))
    cells["words"] = [f"{floods:.3g}" for floods in np.round(cells["floods"], 1)]
    cells["begin"] = [f"{span_h * span}" for span in cells["span"]]
    order = list(dict.fromkeys(cells["begin"]))
    title = "hour of the run" if span_h == 1 else f"hours from the start, {span_h} h a column"
    base = alt.Chart(cells).encode(
        alt.X("begin:O", title=title, sort=order, axis=alt.Axis(labelAngle=0)),
        alt.Y("line:N", title=None, sort=list(dict.fromkeys(cells["line"]))),
    )
    scale = alt.Scale(domain=[0, most], range=[theme.PAPER, theme.WATER], interpolate="rgb")
    legend = alt.Legend(title="floods", gradientLength=120, tickCount=3)
    rects = base.mark_rect(stroke=theme.LINE, strokeWidth=0.5).encode(
        alt.Fill("floods:Q", scale=scale, legend=legend)
    )
    dark = alt.datum.floods >= DARK_FROM * most
    hue = alt.condition(dark, alt.value(theme.PAPER), alt.value(theme.INK))
    words = base.mark_text(fontSize=theme.SMALL_PX).encode(alt.Text("words:N"), color=hue)
    says = "Number of floods of each bed in each hour of the run."
    return theme.themed(
        alt.layer(rects, words), says, ROW_PX * cells["line"].nunique() + 20, width_px
    )
