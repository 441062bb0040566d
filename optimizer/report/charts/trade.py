"""Floods an hour against inflow for one kind of bed: the trade at the heart of a design."""

from __future__ import annotations

from typing import Any

import altair as alt
import numpy as np
import pandas as pd

from optimizer.records.design import BedKind, Design
from optimizer.report import theme
from optimizer.report.flow_bands import start_band, stop_band
from optimizer.report.scales import Reader, rounded

POINTS = 160


def trade_frame(kind: BedKind) -> pd.DataFrame:
    """Return ``flow_m3_s`` and ``floods_per_hour`` over the nominal window."""
    low, high = kind.siphon.start_flow_m3_s, kind.siphon.stop_flow_m3_s
    flows = low + (high - low) * np.linspace(1e-4, 1.0, POINTS) ** 1.5
    rows = [(float(q), kind.siphon.floods_per_hour(float(q))) for q in flows]
    return pd.DataFrame(rows, columns=["flow_m3_s", "floods_per_hour"])


def bands_frame(kind: BedKind) -> pd.DataFrame:
    """Return how far the start and the stop may move: ``what``, ``low_m3_s``, ``high_m3_s``."""
    bands = (("start may lie here", start_band(kind)), ("stop may lie here", stop_band(kind)))
    rows = [(what, band.low_m3_s, band.high_m3_s) for what, band in bands]
    return pd.DataFrame(rows, columns=["what", "low_m3_s", "high_m3_s"])


def trade_chart(design: Design, kind: BedKind) -> theme.Chart:
    """Return the curve of one bed kind with start, stop, goal and the inflow set."""
    reader = Reader(design.units)
    size = reader.unit("flow").size
    curve = trade_frame(kind)
    curve["flow"] = curve["flow_m3_s"] / size
    top = 1.22 * max(float(curve["floods_per_hour"].max()), design.promise.floods_per_hour_least)
    x = alt.X(
        "flow:Q",
        title=f"inflow, {reader.name('flow')}",
        scale=alt.Scale(zero=True),
        axis=alt.Axis(tickCount=8),
    )
    y = alt.Y(
        "floods_per_hour:Q", title="floods an hour", scale=alt.Scale(domain=[0, top], nice=False)
    )
    line = alt.Chart(curve).mark_line(stroke=theme.WATER, strokeWidth=2.5).encode(x, y)
    layers = [
        _bands(kind, size, x),
        *_ends(kind, size, top, x, y),
        *_goal(design, kind, size, x, y),
        line,
        *_set_point(kind, reader, x, y),
    ]
    says = (
        f"{kind.label}: floods an hour against inflow. It starts above "
        f"{reader.text('flow', kind.siphon.start_flow_m3_s)}, stops up to "
        f"{reader.text('flow', kind.siphon.stop_flow_m3_s)}, and is set to "
        f"{reader.text('flow', kind.inflow_m3_s)}."
    )
    return theme.themed(alt.layer(*layers), says, 260)


def _bands(kind: BedKind, size: float, x: alt.X) -> alt.Chart:
    frame = bands_frame(kind)
    frame["flow"], frame["flow2"] = frame["low_m3_s"] / size, frame["high_m3_s"] / size
    names = list(frame["what"])
    fills = alt.Scale(domain=names, range=[theme.WATER_PALE, theme.CLAY_PALE])
    legend = alt.Legend(title=None, symbolType="square")
    drawn: alt.Chart = (
        alt.Chart(frame)
        .mark_rect(opacity=0.75)
        .encode(x, alt.X2("flow2:Q"), alt.Fill("what:N", scale=fills, legend=legend))
    )
    return drawn


def _ends(kind: BedKind, size: float, top: float, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    """Mark where it starts and stops by nominal coefficients."""
    flows = (kind.siphon.start_flow_m3_s, kind.siphon.stop_flow_m3_s)
    rows = [(q / size, w, top) for q, w in zip(flows, ("starts", "stops"), strict=True)]
    base = alt.Chart(pd.DataFrame(rows, columns=["flow", "words", "floods_per_hour"])).encode(x)
    rule = base.mark_rule(stroke=theme.INK, strokeDash=[5, 3])
    words = base.mark_text(align="left", baseline="top", dx=5, dy=3, color=theme.INK)
    return [rule, words.encode(y, alt.Text("words:N"))]


def _goal(design: Design, kind: BedKind, size: float, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    """Draw the least floods asked for, over the inflows that reach it."""
    least = design.promise.floods_per_hour_least
    row = {
        "flow": kind.target.low_m3_s / size,
        "flow2": kind.target.high_m3_s / size,
        "floods_per_hour": least,
        "words": f"goal: at least {least:g}",
    }
    base = alt.Chart(pd.DataFrame([row])).encode(x, y)
    bar = base.mark_rule(stroke=theme.INK, strokeWidth=1.5).encode(alt.X2("flow2:Q"))
    words = base.mark_text(align="right", baseline="top", dy=5, dx=-4, color=theme.INK)
    return [bar, words.encode(alt.X("flow2:Q"), alt.Text("words:N"))]


def _set_point(kind: BedKind, reader: Reader, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    row = {
        "flow": reader.number("flow", kind.inflow_m3_s),
        "floods_per_hour": kind.floods_per_hour,
        "words": f"set to {rounded(reader.number('flow', kind.inflow_m3_s))}",
    }
    base = alt.Chart(pd.DataFrame([row])).encode(x, y)
    mark = base.mark_point(
        shape="diamond", size=110, filled=True, fill=theme.CLAY, stroke=theme.PAPER, opacity=1
    )
    place: dict[str, Any] = {"align": "right", "baseline": "bottom", "dx": -6, "dy": -6}
    halo = base.mark_text(**place, stroke=theme.PAPER, strokeWidth=3)
    words = base.mark_text(**place, color=theme.CLAY)
    return [mark, *(layer.encode(alt.Text("words:N")) for layer in (halo, words))]
