"""The sump after the worst power cut: how fast and how high it rises."""

from __future__ import annotations

import altair as alt
import pandas as pd

from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.charts.day_marks import limit_lines
from optimizer.report.day_facts import DayFacts
from optimizer.report.scales import Reader


def cut_chart(design: Design, facts: DayFacts) -> theme.Chart:
    """Return the sump's level from the cut on, with its freeboard and its rim."""
    reader, cut = Reader(design.units), facts.cut
    size = reader.unit("length").size
    trace = cut.trace
    frame = pd.DataFrame({"minutes": trace["time_s"] / 60.0, "level": trace["level_m"] / size})
    limits = (("rim", cut.depth_m), ("rim less freeboard", cut.allowed_m))
    rows = [(f"{words}, {reader.level(m)}", m / size) for words, m in limits]
    rim, freeboard = (pd.DataFrame([row], columns=["words", "level"]) for row in rows)
    last = max(float(frame["minutes"].max()), 1e-3)
    top = 1.12 * max(cut.depth_m, cut.highest_m) / size
    x = alt.X(
        "minutes:Q",
        title="minutes from the power cut",
        axis=alt.Axis(grid=False, tickCount=8, labelOverlap="greedy", labelSeparation=6),
        scale=alt.Scale(domain=[0, last], nice=False),
    )
    title = f"sump level, {reader.name('length')}"
    y = alt.Y("level:Q", title=title, scale=alt.Scale(domain=[0, top], nice=False))
    line = alt.Chart(frame).mark_line(stroke=theme.WATER, strokeWidth=2.5).encode(x, y)
    marks = [*limit_lines(rim, y), *limit_lines(freeboard, y, below=True)]
    says = f"After a power cut the sump rises to {reader.level(cut.highest_m)}."
    return theme.themed(alt.layer(line, *marks), says, 220)
