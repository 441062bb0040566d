"""The pump's curve with the points it runs at, and the watts it draws there."""

from __future__ import annotations

import altair as alt
import numpy as np
import pandas as pd

from optimizer.physics.pump import PumpCurve
from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.scales import Reader

LEVELS = ("lowest sump level", "valve-setting level", "highest sump level")
SHAPES = ("triangle-down", "diamond", "triangle-up")
POINTS = 60


def curve_of(design: Design) -> PumpCurve:
    """Return the curve of all running pumps together."""
    pump = design.pump
    return PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts, pump.count)


def duty_frame(check: CheckReport) -> pd.DataFrame:
    """Return the three duty points: ``level``, ``flow_m3_s``, ``head_m``, ``watts``."""
    columns = (LEVELS, check.pump_flow_m3_s, check.pump_head_m, check.pump_watts)
    rows = list(zip(*columns, strict=True))
    return pd.DataFrame(rows, columns=["level", "flow_m3_s", "head_m", "watts"])


def pump_head_chart(design: Design, check: CheckReport) -> theme.Chart:
    """Return head against flow with the duty points."""
    curve, reader = curve_of(design), Reader(design.units)
    flows = np.linspace(0.0, curve.end_flow_m3_s, POINTS)
    line = [(reader.number("flow", q), reader.number("length", curve.head_m(q))) for q in flows]
    duty = duty_frame(check)
    duty["value"] = duty["head_m"] / reader.unit("length").size
    title = f"head, {reader.name('length')}"
    says = "Head the pump gives against its flow, with the points it runs at."
    return _curve_chart(line, duty, title, reader, says)


def pump_watts_chart(design: Design, check: CheckReport) -> theme.Chart | None:
    """Return watts against flow with the duty points; None where watts are not known."""
    if not design.pump.watts:
        return None
    curve, reader = curve_of(design), Reader(design.units)
    flows = np.linspace(0.0, curve.end_flow_m3_s, POINTS)
    line = [(reader.number("flow", q), float(curve.watts_at(q))) for q in flows]
    duty = duty_frame(check)
    duty["value"] = duty["watts"]
    says = "Watts drawn from the mains against flow, with the points the pump runs at."
    return _curve_chart(line, duty, "drawn from the mains, W", reader, says)


def _curve_chart(
    line: list[tuple[float, float]], duty: pd.DataFrame, title: str, reader: Reader, says: str
) -> theme.Chart:
    flow_title = f"flow of all pumps together, {reader.name('flow')}"
    x = alt.X("flow:Q", title=flow_title, axis=alt.Axis(grid=False, tickCount=8))
    y = alt.Y("value:Q", title=title, scale=alt.Scale(zero=True))
    curve = alt.Chart(pd.DataFrame(line, columns=["flow", "value"])).encode(x, y)
    duty["flow"] = duty["flow_m3_s"] / reader.unit("flow").size
    shapes = alt.Scale(domain=list(LEVELS), range=list(SHAPES))
    legend = alt.Legend(title="runs at")
    marks = (
        alt.Chart(duty)
        .mark_point(size=110, filled=True, fill=theme.CLAY, stroke=theme.PAPER, opacity=1)
        .encode(x, y, alt.Shape("level:N", scale=shapes, legend=legend))
    )
    setting = alt.Chart(duty[duty["level"] == LEVELS[1]])
    drop = setting.mark_rule(stroke=theme.CLAY, strokeDash=[3, 3]).encode(x)
    drawn = curve.mark_line(stroke=theme.WATER, strokeWidth=2.5)
    return theme.themed(alt.layer(drop, drawn, marks), says, 240)
