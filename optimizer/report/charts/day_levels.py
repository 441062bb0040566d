"""Levels over a day: the sump against its limits, and one bed of each kind in a lane of its own."""

from __future__ import annotations

import json

import altair as alt
import numpy as np
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

LANES_MOST = 6
LANE_PX = 62
LEAST_PX = 170
SUMP_PX = 240
STRAIGHT_M = 2e-4
"""A kept level this near the straight line between its neighbours is not drawn."""

MISSES = {"stalls": "start missed", "never_breaks": "stop missed"}


def thinned(levels: pd.DataFrame) -> pd.DataFrame:
    """Return the levels of one subject without those on a straight line."""
    level = levels["level_m"].to_numpy(dtype=np.float64)
    bend = np.full(level.size, np.inf)
    bend[1:-1] = np.abs(level[1:-1] - (level[:-2] + level[2:]) / 2.0)
    return levels[bend > STRAIGHT_M]


def lane_beds(facts: DayFacts) -> list[str]:
    """Return the beds drawn: shut, clogged or missing a start or stop; the first of each kind."""
    beds = facts.beds
    missed = beds[beds["missed_starts"] + beds["missed_stops"] > 0]["bed"]
    touched = [bed for bed, *_ in (*facts.doings.valve_shut_h, *facts.doings.clogged_h)]
    firsts = beds.drop_duplicates("kind")["bed"]
    chosen = list(dict.fromkeys([*touched, *missed, *firsts]))[:LANES_MOST]
    return [bed for bed in beds["bed"] if bed in chosen]


def sump_chart(design: Design, facts: DayFacts) -> theme.Chart:
    """Return the sump's level over the day between its limits."""
    reader, hours = Reader(design.units), drawn_hours(facts.doings)
    levels = facts.levels
    mine = levels[(levels["subject"] == "sump") & (levels["time_s"] <= 3600.0 * hours)]
    size = reader.unit("length").size
    line = pd.DataFrame({"hours": mine["time_s"] / 3600.0, "level": mine["level_m"] / size})
    limits = (
        ("rim less freeboard", facts.cut.allowed_m),
        ("pump must be covered", design.pump.submergence_m),
    )
    rows = [(f"{words}, {reader.level(m)}", m / size) for words, m in limits]
    marks = pd.DataFrame(rows, columns=["words", "level"])
    strip = strip_px(facts.doings)
    low = min(0.0, facts.sump_m[0]) / size
    top = 1.12 * max(facts.cut.allowed_m, facts.sump_m[1]) / size
    top += (top - low) * strip / SUMP_PX
    title = f"sump level, {reader.name('length')}"
    y = alt.Y("level:Q", title=title, scale=alt.Scale(domain=[low, top], nice=False))
    x = hour_axis(hours)
    drawn = alt.Chart(line).mark_line(stroke=theme.WATER, strokeWidth=1.6).encode(x, y)
    says = "Level of the sump over time, between the level that covers the pump and its freeboard."
    under, over = doing_marks(facts.doings, x)
    layers = [*under, drawn, *over, *limit_lines(marks, y)]
    return theme.themed(alt.layer(*layers), says, SUMP_PX + strip)


def lanes_frame(facts: DayFacts) -> pd.DataFrame:
    """Return ``bed``, ``hours``, ``level_m``, ``lane`` (0 lowest) of the beds drawn."""
    hours, beds = drawn_hours(facts.doings), lane_beds(facts)
    early = facts.levels[facts.levels["time_s"] <= 3600.0 * hours]
    parts = []
    for lane, bed in enumerate(reversed(beds)):
        mine = thinned(early[early["subject"] == bed])
        times = mine["time_s"] / 3600.0
        row = {"bed": bed, "hours": times, "level_m": mine["level_m"], "lane": lane}
        parts.append(pd.DataFrame(row))
    return pd.concat(parts, ignore_index=True)


def beds_chart(design: Design, facts: DayFacts) -> theme.Chart:
    """Return the levels of some beds over the day, each in a lane; missed starts and stops marked.

    A lane is as high as the tallest bed's walls.
    """
    frame, hours = lanes_frame(facts), drawn_hours(facts.doings)
    tallest = 1.08 * float(frame["level_m"].max())
    frame["place"] = frame["lane"] + frame["level_m"] / tallest
    names = list(reversed(lane_beds(facts)))
    middles = [lane + 0.5 for lane in range(len(names))]
    axis = alt.Axis(
        values=middles,
        grid=False,
        ticks=False,
        domain=False,
        labelExpr=f"{json.dumps(names)}[floor(datum.value)]",
    )
    title = f"each lane 0 to {Reader(design.units).text('size', tallest)}"
    height, strip = max(LEAST_PX, LANE_PX * len(names)), strip_px(facts.doings)
    scale = alt.Scale(domain=[0, len(names) * (1.0 + strip / height)], nice=False)
    x, y = hour_axis(hours), alt.Y("place:Q", title=title, axis=axis, scale=scale)
    base = alt.Chart(frame).encode(x, y, detail="bed:N")
    line = base.mark_line(stroke=theme.WATER, strokeWidth=1.1)
    floors = pd.DataFrame({"place": range(len(names) + 1)})
    rules = alt.Chart(floors).mark_rule(stroke=theme.LINE).encode(y)
    under, over = doing_marks(facts.doings, x)
    layers = [*under, rules, line, *over, *_miss_marks(facts, names, x, y)]
    says = f"Water level over time in beds {', '.join(reversed(names))}, each in its own lane."
    return theme.themed(alt.layer(*layers), says, height + strip)


def _miss_marks(facts: DayFacts, names: list[str], x: alt.X, y: alt.Y) -> list[alt.Chart]:
    events = facts.events
    mine = events[events["event"].isin(list(MISSES)) & events["bed"].isin(names)]
    mine = mine[mine["time_s"] <= 3600.0 * drawn_hours(facts.doings)]
    if mine.empty:
        return []
    frame = pd.DataFrame(
        {
            "hours": mine["time_s"] / 3600.0,
            "place": [names.index(bed) + 0.85 for bed in mine["bed"]],
            "what": [MISSES[event] for event in mine["event"]],
        }
    )
    shapes = alt.Scale(domain=list(MISSES.values()), range=["triangle-down", "square"])
    points = alt.Chart(frame).mark_point(size=70, filled=True, fill=theme.CLAY, opacity=1)
    legend = alt.Legend(title=None)
    return [points.encode(x, y, alt.Shape("what:N", scale=shapes, legend=legend))]
