"""The pictures of the study: one function a picture, each from one table of results."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import altair as alt
import pandas as pd

from optimizer.report import theme
from studies.in_step.systems import BED
from studies.in_step.theory import most_floods_inflow

WIDTH_PX = 680
PANEL_PX = 205
SIZED = (theme.INK, theme.CLAY, theme.WATER, theme.WATER_MID)
DASHES = ([1, 0], [6, 3], [2, 2], [8, 3, 2, 3])
SHAPES = ("circle", "square", "triangle-up", "diamond")


def _scale(names: list[str], values: tuple) -> alt.Scale:
    return alt.Scale(domain=names, range=list(values[: len(names)]))


def _legend(title: str | None = None) -> alt.Legend:
    columns = 3 if title else 2
    return alt.Legend(title=title, columns=columns, symbolType="stroke", symbolStrokeWidth=2.5)


def _head(title: str) -> alt.Header:
    words = {"titleFont": theme.FONT, "labelFont": theme.FONT, "titleFontWeight": "normal"}
    return alt.Header(title=title, titleColor=theme.INK, labelColor=theme.INK, **words)


def _percent(share: pd.Series) -> pd.Series:
    return share.map(lambda s: f"{100.0 * s:g} %")


def order_chart(table: pd.DataFrame) -> theme.Chart:
    """Phase order over the first days, by start and valve spread."""
    shown = table[(table["day"] <= 4.0) & ~table["run"].str.contains("start flow")]
    names = list(dict.fromkeys(shown["run"]))
    legend = _legend()
    line = (
        alt.Chart(shown)
        .mark_line(strokeWidth=2)
        .encode(
            alt.X("day:Q", title="days since the start"),
            alt.Y("order:Q", title="in step: 1 all, 0 none", scale=alt.Scale(domain=[0, 1])),
            alt.Color("run:N", scale=_scale(names, SIZED), legend=legend),
            alt.StrokeDash("run:N", scale=_scale(names, DASHES), legend=legend),
        )
    )
    says = "Phase order of 24 beds over four days: from dry it falls within hours."
    return theme.themed(line, says, 260, WIDTH_PX)


def near_start_chart(table: pd.DataFrame) -> theme.Chart:
    """Phase order over weeks with the inflow just above the start flow."""
    shown = table[table["run"].str.contains("start flow")]
    line = (
        alt.Chart(shown)
        .mark_line(strokeWidth=2, stroke=theme.CLAY)
        .encode(
            alt.X("day:Q", title="days since random phases"),
            alt.Y("order:Q", title="in step: 1 all, 0 none", scale=alt.Scale(domain=[0, 1])),
        )
    )
    says = "Phase order of 24 equal beds set 5 % over the start flow: it grows, then stays partial."
    return theme.themed(line, says, 220, WIDTH_PX)


def parting_chart(table: pd.DataFrame) -> theme.Chart:
    """How fast beds in step part: simulated against the theory's G."""
    shown = table.assign(inflow=table["inflow_l_min"].map(lambda q: f"{q:g} L/min"))
    top = 1.08 * float(shown[["strength", "parting_per_cycle"]].max().max())
    names = list(dict.fromkeys(shown["inflow"]))
    scale = alt.Scale(domain=[0, top], nice=False)
    ticks = alt.Axis(tickCount=8)
    x = alt.X("strength:Q", title="theory: G, a cycle", scale=scale, axis=ticks)
    ends = pd.DataFrame({"strength": [0.0, top], "parting_per_cycle": [0.0, top]})
    y = alt.Y("parting_per_cycle:Q", title="simulated parting, a cycle", scale=scale)
    line = alt.Chart(ends).mark_line(stroke=theme.QUIET, strokeDash=[4, 3]).encode(x, y)
    marks = (
        alt.Chart(shown)
        .mark_point(size=60, filled=False, strokeWidth=1.6)
        .encode(
            x,
            y,
            alt.Color("inflow:N", scale=_scale(names, SIZED), title="valves set to"),
            alt.Shape("inflow:N", scale=_scale(names, SHAPES), title="valves set to"),
        )
    )
    says = "Growth a cycle of the spread of beds almost in step: simulation lies on the theory."
    return theme.themed(alt.layer(line, marks), says, 300, WIDTH_PX)


def crowd_chart(tables: Mapping[str, pd.DataFrame]) -> theme.Chart:
    """Whether patterns grow in a spread-out crowd, over the inflows that work."""
    names = ["one group", "two groups"]
    lines = tables["window"].melt("inflow_l_min", ["pattern_1", "pattern_2"], "mode", "growth")
    lines["mode"] = lines["mode"].map(dict(zip(("pattern_1", "pattern_2"), names, strict=True)))
    points = tables["crowd"].dropna(subset=["growth_per_cycle"])
    growth = points["growth_per_cycle"] / points["strength"]
    points = points.assign(mode=points["mode"].map({1: names[0], 2: names[1]}), growth=growth)
    scale = alt.Scale(domain=[-0.5, 0.4], nice=False, clamp=True)
    x = alt.X("inflow_l_min:Q", title="inflow of a bed, L/min", scale=alt.Scale(zero=False))
    y = alt.Y("growth:Q", title="growth of the pattern a cycle, over G", scale=scale)
    colour = alt.Color("mode:N", scale=_scale(names, (theme.WATER, theme.CLAY)), title="pattern")
    shape = alt.Shape("mode:N", scale=_scale(names, SHAPES), title="pattern")
    drawn = alt.Chart(lines[lines["growth"] <= 0.4]).mark_line(strokeWidth=2).encode(x, y, colour)
    marks = alt.Chart(points).mark_point(size=60, strokeWidth=1.6).encode(x, y, colour, shape)
    zero = alt.Chart(pd.DataFrame({"growth": [0.0]})).mark_rule(stroke=theme.INK).encode(y)
    flows = [60_000.0 * q for q in (BED.start_flow_m3_s, most_floods_inflow(BED))]
    named = pd.DataFrame({"inflow_l_min": flows, "words": ["start flow", "most floods"]})
    rule = alt.Chart(named).mark_rule(stroke=theme.QUIET, strokeDash=[5, 3]).encode(x)
    words = alt.Chart(named).mark_text(align="left", dx=5, color=theme.INK)
    said = words.encode(x, alt.Text("words:N"), alt.Y(value=290))
    says = "Lines: theory. Marks: simulation. Above 0 a spread-out crowd gathers, below it spreads."
    return theme.themed(alt.layer(rule, said, zero, drawn, marks), says, 300, WIDTH_PX)


def staying_chart(table: pd.DataFrame) -> theme.Chart:
    """Hours in step after a dry start against how evenly the valves are set."""
    shown = table.assign(
        sump=table["swing_m"].map(
            lambda s: f"sump swings {s:g} m" if s else "sump held level (no tie)"
        ),
        percent=100.0 * table["spread"],
    )
    names = sorted(set(shown["sump"]), reverse=True)
    scale = alt.Scale(type="log", domain=[1, 100], clamp=True)
    axis = alt.Axis(values=[1, 2, 5, 10, 20, 50, 100], format="~r")
    base = alt.Chart().encode(
        alt.X(
            "percent:Q",
            title="valves set to within, %",
            scale=alt.Scale(type="log"),
            axis=alt.Axis(values=[0.1, 1, 3, 7]),
        ),
        alt.Color("sump:N", scale=_scale(names, SIZED[1:]), title=None),
    )
    drawn = base.mark_line(strokeWidth=1.6).encode(
        alt.Y("model_h:Q", title="hours in step", scale=scale, axis=axis)
    )
    marks = base.mark_point(size=45, strokeWidth=1.5).encode(
        alt.Y("in_step_h:Q", scale=scale, axis=axis),
        alt.Shape("sump:N", scale=_scale(names, SHAPES), title=None),
    )
    says = "Lines: phase model. Marks: simulation of 24 beds from dry, by inflow of a bed."
    return _panels(alt.layer(drawn, marks, data=shown), "inflow_l_min:N", "L/min a bed", says)


def _panels(
    chart: alt.LayerChart, by: str, title: str, says: str, sort: list[str] | None = None
) -> theme.Chart:
    column = alt.Column(by, header=_head(title), sort=sort or alt.Undefined)
    found = chart.properties(width=PANEL_PX, height=240).facet(column)
    return found.properties(description=says).properties(config=alt.Config(**theme.config()))


def numbers_chart(table: pd.DataFrame) -> theme.Chart:
    """How many siphons drain together, against the binomial distribution."""
    names = list(dict.fromkeys(table["start"]))
    shown = table.assign(percent=100.0 * table["share"])
    most = int(table["hunter"].iloc[0])
    x = alt.X(
        "together:Q",
        title=f"siphons draining together, of {int(table['together'].max())}",
        axis=alt.Axis(tickCount=12),
    )
    y = alt.Y("percent:Q", title="share of time, %")
    rule = pd.DataFrame({"together": [most], "words": [f"Hunter's 99 %: {most}"]})
    mark = alt.Chart(rule).mark_rule(stroke=theme.INK, strokeDash=[5, 3]).encode(x)
    words = alt.Chart(rule).mark_text(align="left", dx=5, color=theme.INK)
    colours = (theme.QUIET, theme.CLAY, theme.INK, theme.WATER, theme.WATER_MID)
    dashes = ([3, 3], [1, 0], [1, 0], [1, 0], [8, 3])
    drawn = (
        alt.Chart(shown)
        .mark_line(strokeWidth=2, point=alt.OverlayMarkDef(size=22))
        .encode(
            x,
            y,
            alt.Color("start:N", scale=_scale(names, colours), legend=_legend()),
            alt.StrokeDash("start:N", scale=_scale(names, dashes), legend=_legend()),
        )
    )
    layers = alt.layer(mark, words.encode(x, alt.Text("words:N"), alt.Y(value=12)), drawn)
    says = (
        "Share of time with so many siphons draining, by start, beside the binomial distribution."
    )
    return theme.themed(layers, says, 280, WIDTH_PX)


def days_chart(table: pd.DataFrame) -> theme.Chart:
    """Share of each day with more than Hunter's number draining: every system, by start."""
    shown = table.assign(percent=100.0 * table["share_above"], valves=_percent(table["spread"]))
    names = list(dict.fromkeys(shown["valves"]))
    x = alt.X("day:O", title="day", axis=alt.Axis(labelAngle=0))
    scale = alt.Scale(type="symlog", constant=0.3, domain=[0, 50])
    y = alt.Y("percent:Q", title="of the day above Hunter's number, %", scale=scale)
    axis = alt.Axis(values=[0, 0.3, 1, 3, 10, 30], format="~r", grid=True)
    base = alt.Chart(shown)
    marks = base.mark_point(size=40, strokeWidth=1.4, opacity=0.8).encode(
        x,
        y.axis(axis),
        alt.XOffset("valves:N", sort=names),
        alt.Color("valves:N", scale=_scale(names, SIZED), title="valves set to within"),
        alt.Shape("valves:N", scale=_scale(names, SHAPES), title="valves set to within"),
    )
    one = base.mark_rule(stroke=theme.QUIET, strokeDash=[4, 3]).encode(alt.Y(datum=1.0))
    says = "Share of each day above Hunter's number; the dashed line is the 1 % it promises."
    return _panels(alt.layer(one, marks), "start:N", "start", says)


def timer_chart(table: pd.DataFrame) -> theme.Chart:
    """The same with a pump that a timer stops."""
    means = table.groupby(["stops", "spread", "day"], as_index=False)["share_above"].mean()
    shown = means.assign(percent=100.0 * means["share_above"], valves=_percent(means["spread"]))
    names, stops = list(dict.fromkeys(shown["valves"])), list(dict.fromkeys(table["stops"]))
    scale = alt.Scale(type="symlog", constant=0.3, domain=[0, 50])
    axis = alt.Axis(values=[0, 0.3, 1, 3, 10, 30], format="~r", grid=True)
    base = alt.Chart(shown)
    y = alt.Y("percent:Q", title="of the day above Hunter's number, %", scale=scale, axis=axis)
    drawn = base.mark_line(strokeWidth=1.6, point=alt.OverlayMarkDef(size=40)).encode(
        alt.X("day:O", title="day", axis=alt.Axis(labelAngle=0)),
        y,
        alt.Color("valves:N", scale=_scale(names, SIZED), legend=_legend("valves set to within")),
        alt.StrokeDash(
            "valves:N", scale=_scale(names, DASHES), legend=_legend("valves set to within")
        ),
    )
    one = base.mark_rule(stroke=theme.QUIET, strokeDash=[4, 3]).encode(alt.Y(datum=1.0))
    says = "Share of each day above Hunter's number when a timer stops the pump."
    return _panels(alt.layer(one, drawn), "stops:N", "pump stops", says, stops)


def every_chart(tables: Mapping[str, pd.DataFrame]) -> dict[str, theme.Chart]:
    """Return every picture by the name of its file."""
    of_one: Mapping[str, tuple[Callable[[pd.DataFrame], theme.Chart], str]] = {
        "order": (order_chart, "orders"),
        "near_start": (near_start_chart, "orders"),
        "parting": (parting_chart, "parting"),
        "staying": (staying_chart, "staying"),
        "numbers": (numbers_chart, "numbers"),
        "days": (days_chart, "days"),
        "timer": (timer_chart, "timer"),
    }
    found = {name: draw(tables[table]) for name, (draw, table) in of_one.items()}
    return found | {"crowd": crowd_chart(tables)}
