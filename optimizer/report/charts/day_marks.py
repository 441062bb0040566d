"""What all charts over a day share: the axis of hours, limit lines, numbered marks of doings."""

from __future__ import annotations

from itertools import count

import altair as alt
import pandas as pd

from optimizer.report import theme
from optimizer.report.day_doings import Doings, doings_in_order

DRAWN_HOURS_MOST = 24.0
ROW_PX = 18
TAG_SHARE = 0.08
"""Share of the hours drawn that a numbered tag takes up on a narrow screen."""


def drawn_hours(doings: Doings) -> float:
    """Return how many hours from the start are drawn."""
    return min(doings.hours, DRAWN_HOURS_MOST)


def hour_axis(hours: float) -> alt.X:
    """Return the axis of hours that all charts over a day share."""
    return alt.X(
        "hours:Q",
        title="hours from the start",
        axis=alt.Axis(grid=False, tickCount=8, labelOverlap="greedy", labelSeparation=6),
        scale=alt.Scale(domain=[0, hours], nice=False),
    )


def limit_lines(marks: pd.DataFrame, y: alt.Y, *, below: bool = False) -> list[alt.Chart]:
    """Return dashed level lines with their ``words`` at the left end, on a pale ground.

    Args:
        marks: the lines, with the column that ``y`` names and ``words``.
        y: the axis.
        below: whether words stand below their line rather than above.
    """
    dy = 10 if below else -9
    base = alt.Chart(marks).encode(y)
    rule = base.mark_rule(stroke=theme.CLAY, strokeDash=[6, 4], strokeWidth=1.5)
    ground = base.mark_text(
        align="left", dy=dy, dx=6, color=theme.PAPER, stroke=theme.PAPER, strokeWidth=4
    )
    words = base.mark_text(align="left", dy=dy, dx=6, color=theme.CLAY)
    return [rule, *(m.encode(alt.Text("words:N"), x=alt.value(0)) for m in (ground, words))]


def doings_frame(doings: Doings) -> pd.DataFrame:
    """Return ``hours``, ``until``, ``mark``, ``row``: what is done within the hours drawn.

    Marks count from 1 in order of time; ``row`` keeps those of neighbours apart.
    """
    hours, ends, rows = drawn_hours(doings), dict[int, float](), []
    for mark, each in enumerate(doings_in_order(doings), 1):
        if each.begin_h >= hours:
            continue
        row = next(r for r in count() if each.begin_h >= ends.get(r, 0.0))
        ends[row] = each.begin_h + TAG_SHARE * hours
        rows.append((each.begin_h, min(each.end_h, hours), str(mark), row))
    return pd.DataFrame(rows, columns=["hours", "until", "mark", "row"])


def strip_px(doings: Doings) -> int:
    """Return the height of the strip over a chart in which doings are tagged."""
    frame = doings_frame(doings)
    return 0 if frame.empty else ROW_PX * (int(frame["row"].max()) + 1) + 4


def doing_marks(doings: Doings, x: alt.X) -> tuple[list[alt.Chart], list[alt.Chart]]:
    """Return what lies under and what lies over a chart's own lines: bands; rules and tags.

    Args:
        doings: what is done.
        x: the axis of hours.
    """
    frame = doings_frame(doings)
    if frame.empty:
        return [], []
    edge = 0.012 * drawn_hours(doings)
    frame["tag_h"] = frame["hours"].clip(edge, drawn_hours(doings) - edge)
    base = alt.Chart(frame)
    band = base.mark_rect(fill=theme.LINE, opacity=0.6).encode(x, alt.X2("until:Q"))
    rule = base.mark_rule(stroke=theme.INK, strokeDash=[2, 3]).encode(x)
    tags = [
        part
        for row, mine in frame.groupby("row")
        for part in _tags(mine, ROW_PX * (float(str(row)) + 0.5))
    ]
    return [band], [rule, *tags]


def _tags(frame: pd.DataFrame, y_px: float) -> list[alt.Chart]:
    """Return a row of numbers in rings, so many pixels from the top."""
    base = alt.Chart(frame).encode(alt.X("tag_h:Q"), y=alt.value(y_px))
    ring = base.mark_point(
        shape="circle", size=190, filled=True, fill=theme.PAPER, stroke=theme.INK, opacity=1
    )
    return [ring, base.mark_text(color=theme.INK, fontSize=theme.SMALL_PX).encode(text="mark:N")]
