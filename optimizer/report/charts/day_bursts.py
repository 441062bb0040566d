"""Siphons that drain together, as flow in the return pipe against what it carries."""

from __future__ import annotations

import altair as alt
import pandas as pd

from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.charts.day_marks import (
    doing_marks,
    drawn_hours,
    hour_axis,
    limit_lines,
    strip_px,
)
from optimizer.report.day_facts import DayFacts
from optimizer.report.scales import Reader

HEIGHT_PX = 240


def bursts_chart(design: Design, facts: DayFacts) -> theme.Chart | None:
    """Return the flow in the collector over the day; None where no return pipe was designed."""
    collector, reader = facts.collector, Reader(design.units)
    if not collector.stretch:
        return None
    hours = drawn_hours(facts.doings)
    flows = collector.flows[collector.flows["time_s"] < 3600.0 * hours]
    last = flows.iloc[-1:].assign(time_s=3600.0 * hours)
    flows = pd.concat([flows, last])
    size = reader.unit("flow").size
    frame = pd.DataFrame({"hours": flows["time_s"] / 3600.0, "flow": flows["flow_m3_s"] / size})
    capacity = collector.capacity_m3_s
    words = f"carries {reader.text('flow', capacity)} at its fill limit"
    limits = pd.DataFrame({"words": [words], "flow": [capacity / size]})
    strip = strip_px(facts.doings)
    top = 1.15 * max(capacity / size, float(frame["flow"].max())) * (1.0 + strip / HEIGHT_PX)
    title = f"greatest flow, {reader.name('flow')}"
    x = hour_axis(hours)
    y = alt.Y("flow:Q", title=title, scale=alt.Scale(domain=[0, top], nice=False))
    area = alt.Chart(frame).mark_area(
        interpolate="step-after",
        fill=theme.WATER_PALE,
        line={"stroke": theme.WATER, "strokeWidth": 1.2},
    )
    says = "Flow in the return pipe over time against what it carries."
    under, over = doing_marks(facts.doings, x)
    layers = [*under, area.encode(x, y), *over, *limit_lines(limits, y)]
    return theme.themed(alt.layer(*layers), says, HEIGHT_PX + strip)
