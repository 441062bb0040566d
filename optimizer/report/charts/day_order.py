"""Do siphons fall into step: phase order over time, by run."""

from __future__ import annotations

import altair as alt
import pandas as pd

from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.charts.day_marks import hour_axis
from optimizer.report.day_facts import DayFacts

DASHES = ([1, 0], [7, 3], [2, 2])
HUES = (theme.INK, theme.CLAY, theme.WATER)

POINTS_MOST = 400


def order_points(facts: DayFacts) -> pd.DataFrame:
    """Return ``run``, ``time_s``, ``order`` where it is known, of long runs every so many only."""
    known = facts.starts.order.dropna(subset=["order"])
    parts = [mine.iloc[:: 1 + len(mine) // POINTS_MOST] for _, mine in known.groupby("run")]
    return known.loc[sorted(i for mine in parts for i in mine.index)].copy()


def order_chart(_: Design, facts: DayFacts) -> theme.Chart | None:
    """Return the phase order of one kind of bed in every run; None for fewer than two beds."""
    frame = order_points(facts)
    if frame.empty:
        return None
    frame["hours"] = frame["time_s"] / 3600.0
    runs = list(dict.fromkeys(frame["run"]))
    x = hour_axis(float(frame["hours"].max()))
    y = alt.Y("order:Q", title="phase order (1: all in step)", scale=alt.Scale(domain=[0, 1]))
    legend = alt.Legend(title=None)
    dashes = alt.Scale(domain=runs, range=list(DASHES)[: len(runs)])
    hues = alt.Scale(domain=runs, range=list(HUES)[: len(runs)])
    line = alt.Chart(frame).mark_line(strokeWidth=2.0)
    line = line.encode(
        x,
        y,
        alt.StrokeDash("run:N", scale=dashes, legend=legend),
        alt.Color("run:N", scale=hues, legend=legend),
    )
    chance = facts.starts.order_by_chance
    words = "mean by chance"
    base = alt.Chart(pd.DataFrame({"order": [chance], "words": [words]})).encode(y)
    rule = base.mark_rule(stroke=theme.QUIET, strokeDash=[4, 4])
    label = base.mark_text(align="right", dx=-4, dy=-8, color=theme.QUIET)
    label = label.encode(alt.Text("words:N"), x=alt.value("width"))
    says = "Phase order of beds over time: 1 where all flood in step, near 0 where spread evenly."
    return theme.themed(alt.layer(rule, line, label), says, 240)
