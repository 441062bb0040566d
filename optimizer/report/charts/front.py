"""A front as a picture: cost against what it buys, with what lies between its points."""

from __future__ import annotations

from typing import Any, Literal

import altair as alt
import pandas as pd

from optimizer.report import theme
from optimizer.report.scales import Reader, counted

OVER = {
    "floods_per_hour": ("least floods of every bed, per hour", None, "floods"),
    "growing_area_m2": ("growing area", "area", "growing_area_m2"),
    "sump_volume_m3": ("sump volume", "volume", "sump_volume_m3"),
    "energy_kwh_per_year": ("energy, kWh a year", None, "energy_kwh_per_year"),
}
"""What a front may be drawn over: title, quantity of the reader's units, column."""

COSTS = {"energy_kwh_per_year": "cost_without_energy"}
ROOM = 0.06
MARKS = ("not beaten", "beaten by another")
RIGHT = 0.7
"""Share of the width from which a name stands left of its point."""


def front_chart(frame: pd.DataFrame, over: str, currency: str, units: str) -> theme.Chart | None:
    """Return cost over a front's quantity; None where no point was designed.

    Args:
        frame: a front's rows, with ``on_front``, ``least_until_next``, ``most_until_next``.
        over: a key of :data:`OVER`.
        currency: the site's currency.
        units: the reader's units.
    """
    title, quantity, column = OVER[over]
    reader, cost = Reader(units), COSTS.get(over, "cost")
    if cost not in frame or not frame[cost].notna().any():
        return None
    drawn = frame[frame[cost].notna()].sort_values(column).reset_index(drop=True)
    scale = reader.unit(quantity).size if quantity else 1.0
    title = f"{title}, {reader.name(quantity)}" if quantity else title
    points = _points(drawn, column, cost, scale)
    x = alt.X("x:Q", title=title, scale=_domain(points["x"]), axis=alt.Axis(grid=False))
    y = alt.Y("cost:Q", title=_cost_title(over, currency), scale=_domain(points["cost"]))
    shapes = alt.Scale(domain=list(MARKS), range=["circle", "cross"])
    fills = alt.Scale(domain=list(MARKS), range=[theme.WATER, theme.CLAY_PALE])
    legend = alt.Legend(title=None)
    dots = (
        alt.Chart(points)
        .mark_point(size=90, filled=True, stroke=theme.QUIET, strokeWidth=0.7, opacity=1)
        .encode(
            x,
            y,
            alt.Shape("mark:N", scale=shapes, legend=legend),
            alt.Fill("mark:N", scale=fills, legend=legend),
        )
    )
    layers = [*_between(drawn, column, cost, scale, x), dots, *_names(points, x, y)]
    says = f"Least cost against {title}: {counted(len(points), 'design')}."
    return theme.themed(alt.layer(*layers), says, 320)


def _points(drawn: pd.DataFrame, column: str, cost: str, scale: float) -> pd.DataFrame:
    """Return what is drawn as points; those not beaten come last, on top of others."""
    points = pd.DataFrame(
        {
            "x": drawn[column] / scale,
            "cost": drawn[cost],
            "mark": [MARKS[0] if on else MARKS[1] for on in drawn["on_front"]],
            "pump": drawn["chosen_pump"],
        }
    )
    return points.sort_values(["mark", "x"], key=_by_mark, kind="stable").reset_index(drop=True)


def _by_mark(values: pd.Series[Any]) -> pd.Series[Any]:
    return values.map(lambda each: -MARKS.index(each) if each in MARKS else each)


def _cost_title(over: str, currency: str) -> str:
    if over in COSTS:
        return f"all cost but energy, present worth, {currency}"
    return f"cost, present worth, {currency}"


def _domain(values: pd.Series[float]) -> alt.Scale:
    low, high = float(values.min()), float(values.max())
    room = ROOM * (high - low) if high > low else ROOM * max(1.0, abs(high))
    return alt.Scale(domain=[low - room, high + room], nice=False, zero=False)


def _between(
    drawn: pd.DataFrame, column: str, cost: str, scale: float, x: alt.X
) -> list[alt.Chart]:
    """Shade where the least cost lies between neighbours."""
    if "least_until_next" not in drawn:
        return []
    frame = pd.DataFrame(
        {
            "x": drawn[column] / scale,
            "x_next": (drawn[column] / scale).shift(-1),
            "least": drawn["least_until_next"],
            "most": drawn["most_until_next"],
        }
    ).dropna()
    if column == "energy_kwh_per_year":  # sorted by energy: a row's neighbour comes before it
        return [_straight(drawn, column, cost, scale)]
    if frame.empty:
        return []
    shade = alt.Chart(frame).mark_rect(fill=theme.WATER_PALE, opacity=0.8)
    return [shade.encode(x, alt.X2("x_next:Q"), alt.Y("least:Q"), alt.Y2("most:Q"))]


def _straight(drawn: pd.DataFrame, column: str, cost: str, scale: float) -> alt.Chart:
    frame = pd.DataFrame({"x": drawn[column] / scale, "cost": drawn[cost]})
    line = alt.Chart(frame).mark_line(stroke=theme.WATER_MID, strokeDash=[4, 3])
    straight: alt.Chart = line.encode(alt.X("x:Q"), alt.Y("cost:Q"))
    return straight


def _names(points: pd.DataFrame, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    """Name the pump at each point where it differs from the point before."""
    best = points[points["mark"] == MARKS[0]]
    named = best[best["pump"] != best["pump"].shift()]
    edge = points["x"].min() + RIGHT * (points["x"].max() - points["x"].min())
    left, right = named[named["x"] <= edge], named[named["x"] > edge]
    return [_words(left, "left", 8, x, y), _words(right, "right", -8, x, y)]


def _words(
    part: pd.DataFrame, align: Literal["left", "right"], away: int, x: alt.X, y: alt.Y
) -> alt.Chart:
    marks = alt.Chart(part).mark_text(
        align=align, dx=away, dy=12, color=theme.INK, fontSize=theme.SMALL_PX
    )
    words: alt.Chart = marks.encode(x, y, alt.Text("pump:N"))
    return words
