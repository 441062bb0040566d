"""Levels over a day: the sump against its limits, and one bed of each kind in a lane of its own."""

from __future__ import annotations

import json

import altair as alt
import numpy as np
import pandas as pd

from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.day_facts import DayFacts, Doings
from optimizer.report.scales import Reader

DRAWN_HOURS_MOST = 24.0
LANES_MOST = 6
LANE_PX = 62
LEAST_PX = 170
STRAIGHT_M = 2e-4
"""A kept level this near the straight line between its neighbours is not drawn."""

MISSES = {"stalls": "start missed", "never_breaks": "stop missed"}


def drawn_hours(doings: Doings) -> float:
    """Return how many hours from the start are drawn."""
    return min(doings.hours, DRAWN_HOURS_MOST)


def hour_axis(hours: float) -> alt.X:
    """Return the axis of hours that all charts over a day share."""
    return alt.X(
        "hours:Q",
        title="hours from the start",
        axis=alt.Axis(grid=False, tickCount=8),
        scale=alt.Scale(domain=[0, hours], nice=False),
    )


def thinned(levels: pd.DataFrame) -> pd.DataFrame:
    """Return the levels of one subject without those on a straight line."""
    level = levels["level_m"].to_numpy(dtype=np.float64)
    bend = np.full(level.size, np.inf)
    bend[1:-1] = np.abs(level[1:-1] - (level[:-2] + level[2:]) / 2.0)
    return levels[bend > STRAIGHT_M]


def lane_beds(facts: DayFacts) -> list[str]:
    """Return the beds drawn: those that missed a start or stop, then the first of each kind."""
    beds = facts.beds
    missed = beds[beds["missed_starts"] + beds["missed_stops"] > 0]["bed"]
    shut = [bed for bed, _ in facts.doings.valve_shut_h]
    firsts = beds.drop_duplicates("kind")["bed"]
    chosen = list(dict.fromkeys([*shut, *missed, *firsts]))[:LANES_MOST]
    return [bed for bed in beds["bed"] if bed in chosen]


def doings_frame(doings: Doings) -> pd.DataFrame:
    """Return ``hours``, ``words``: what is done to the plant within the hours drawn."""
    rows = [(begin, "pump stops") for begin, _ in doings.pump_off_h]
    rows += [(end, "pump runs") for _, end in doings.pump_off_h]
    rows += [(hour, f"{bed} shut") for bed, hour in doings.valve_shut_h]
    frame = pd.DataFrame(rows, columns=["hours", "words"])
    return frame[frame["hours"] < drawn_hours(doings)]


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
    top = 1.12 * max(facts.cut.allowed_m, facts.sump_m[1]) / size
    low = min(0.0, facts.sump_m[0]) / size
    title = f"sump level, {reader.name('length')}"
    y = alt.Y("level:Q", title=title, scale=alt.Scale(domain=[low, top], nice=False))
    x = hour_axis(hours)
    drawn = alt.Chart(line).mark_line(stroke=theme.WATER, strokeWidth=1.6).encode(x, y)
    says = "Level of the sump over time, between the level that covers the pump and its freeboard."
    layers = [drawn, *limit_lines(marks, y), *_doing_marks(facts.doings, x)]
    return theme.themed(alt.layer(*layers), says, 240)


def limit_lines(marks: pd.DataFrame, y: alt.Y) -> list[alt.Chart]:
    """Return dashed level lines with their ``words`` above the left end."""
    base = alt.Chart(marks).encode(y)
    rule = base.mark_rule(stroke=theme.CLAY, strokeDash=[6, 4], strokeWidth=1.5)
    words = base.mark_text(align="left", dy=-8, dx=6, color=theme.CLAY)
    return [rule, words.encode(alt.Text("words:N"), x=alt.value(0))]


def _doing_marks(doings: Doings, x: alt.X) -> list[alt.Chart]:
    frame = doings_frame(doings)
    if frame.empty:
        return []
    base = alt.Chart(frame).encode(x)
    words = base.mark_text(align="left", angle=90, dx=4, dy=-7, color=theme.INK)
    rule = base.mark_rule(stroke=theme.INK, strokeDash=[2, 3])
    return [rule, words.encode(alt.Text("words:N"), y=alt.value(0))]


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
    title = f"bed (lane: 0 to {Reader(design.units).text('size', tallest)})"
    scale = alt.Scale(domain=[0, len(names)], nice=False)
    x, y = hour_axis(hours), alt.Y("place:Q", title=title, axis=axis, scale=scale)
    base = alt.Chart(frame).encode(x, y, detail="bed:N")
    line = base.mark_line(stroke=theme.WATER, strokeWidth=1.1)
    floors = pd.DataFrame({"place": range(len(names) + 1)})
    rules = alt.Chart(floors).mark_rule(stroke=theme.LINE).encode(y)
    layers = [rules, line, *_miss_marks(facts, names, x, y), *_doing_marks(facts.doings, x)]
    says = f"Water level over time in beds {', '.join(reversed(names))}, each in its own lane."
    return theme.themed(alt.layer(*layers), says, max(LEAST_PX, LANE_PX * len(names)))


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
