"""The pictures of the study: one function a picture."""

from __future__ import annotations

from collections.abc import Mapping

import altair as alt
import pandas as pd

from optimizer.report import theme
from studies.bed_types.findings import AREA_M2, TOLD_GOALS

WIDTH_PX = 680
NAMES = {"tub": "tub, 0.6 m2", "box": "box, 1.44 m2", "wide": "wide bed, 2.88 m2"}
COLOURS = (theme.CLAY, theme.INK, theme.WATER)
DASHES = ([2, 2], [7, 3], [1, 0])
PARTS = {
    "energy": "energy, 10 years",
    "plant": "pump, pipe, sump, site",
    "bed_parts": "beds with siphons and work",
}
SHADES = (theme.CLAY, theme.WATER_MID, theme.WATER_PALE)


def _kinds(costs: pd.DataFrame) -> tuple[alt.Color, alt.StrokeDash]:
    names = [NAMES[kind] for kind in NAMES if kind in set(costs["kind"])]
    places = [list(NAMES.values()).index(name) for name in names]
    legend = alt.Legend(title=None, symbolType="stroke", symbolStrokeWidth=2.5)
    return (
        alt.Color(
            "bed:N",
            scale=alt.Scale(domain=names, range=[COLOURS[n] for n in places]),
            legend=legend,
        ),
        alt.StrokeDash(
            "bed:N", scale=alt.Scale(domain=names, range=[DASHES[n] for n in places]), legend=legend
        ),
    )


def _named(costs: pd.DataFrame) -> pd.DataFrame:
    return costs.assign(bed=costs["kind"].map(NAMES))


def _goal_axis() -> alt.X:
    return alt.X("goal:Q", title="floods an hour asked for", axis=alt.Axis(tickCount=12))


def cost_chart(costs: pd.DataFrame) -> theme.Chart:
    """Least cost of a square metre against the goal."""
    shown = _named(costs.assign(per_m2=costs["cost"] / AREA_M2))
    y = alt.Y("per_m2:Q", title="EUR a m2 of growing area, ten years")
    line = alt.Chart(shown).mark_line(strokeWidth=2, interpolate="step-before")
    says = "Least cost of a square metre against floods asked for: three bed types that cross."
    return theme.themed(line.encode(_goal_axis(), y, *_kinds(costs)), says, 320, WIDTH_PX)


def water_chart(costs: pd.DataFrame) -> theme.Chart:
    """Water pumped against the goal, beside the water that the floods themselves move."""
    shown = _named(costs.assign(water=costs["total_l_min"] * 0.06 / AREA_M2))
    shallow = costs[costs["kind"] == "wide"].iloc[0]
    moved = shallow["water_per_flood_l"] * shallow["beds"] / AREA_M2 / 1000.0
    ends = pd.DataFrame({"goal": [0.0, float(shown["goal"].max())]})
    ends = ends.assign(water=ends["goal"] * moved)
    words = ends.tail(1).assign(words="what the floods of tub and wide bed move")
    x, y = _goal_axis(), alt.Y("water:Q", title="m3 an hour pumped for a m2 of growing area")
    floor = alt.Chart(ends).mark_line(stroke=theme.QUIET, strokeWidth=1.2).encode(x, y)
    said = alt.Chart(words).mark_text(align="right", dy=64, color=theme.QUIET)
    line = alt.Chart(shown).mark_line(strokeWidth=2, interpolate="step-before")
    layers = (floor, said.encode(x, y, alt.Text("words:N")), line.encode(x, y, *_kinds(costs)))
    says = "Water pumped climbs in stairs: siphons come in few bores and need a flow to start."
    return theme.themed(alt.layer(*layers), says, 300, WIDTH_PX)


def parts_chart(costs: pd.DataFrame) -> theme.Chart:
    """What the money goes on, at a few goals."""
    told = _named(costs[costs["goal"].isin(TOLD_GOALS)])
    shown = told.melt(["bed", "goal"], list(PARTS), "part", "money")
    place = {part: n for n, part in enumerate(PARTS)}
    shown = shown.assign(
        per_m2=shown["money"] / AREA_M2,
        nth=shown["part"].map(place),
        part=shown["part"].map(PARTS),
    )
    head = alt.Header(title=None, labelFont=theme.FONT, labelColor=theme.INK, labelFontSize=12)
    words = list(PARTS.values())
    bars = (
        alt.Chart(shown)
        .mark_bar(stroke=theme.PAPER, strokeWidth=0.5)
        .encode(
            alt.X("goal:O", title="floods an hour asked for", axis=alt.Axis(labelAngle=0)),
            alt.Y("per_m2:Q", title="EUR a m2, ten years"),
            alt.Color(
                "part:N",
                scale=alt.Scale(domain=words, range=list(SHADES)),
                legend=alt.Legend(title=None),
            ),
            alt.Order("nth:Q", sort="descending"),
        )
        .properties(width=190, height=260)
    )
    column = alt.Column("bed:N", header=head, sort=list(NAMES.values()))
    says = "Cost of a square metre by what it goes on: beds weigh at few floods, energy at many."
    return bars.facet(column).properties(description=says, config=alt.Config(**theme.config()))


def every_chart(tables: Mapping[str, pd.DataFrame]) -> dict[str, theme.Chart]:
    """Return every picture by the name of its file."""
    costs = tables["costs"]
    return {
        "cost": cost_chart(costs),
        "water": water_chart(costs),
        "parts": parts_chart(costs),
    }
