"""What the answer leans on: a tornado of single changes, a grid of pairs, a spread of draws."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from optimizer.report import theme
from optimizer.report.scales import rounded

ROW_PX = 30
ENDS = ("at its low value", "at its high value")
SPREADS = ("best design of each draw", "base design kept")


def tornado_chart(frame: pd.DataFrame, currency: str) -> theme.Chart | None:
    """Return a bar for each change from the base cost to the least cost at each end of its range.

    Args:
        frame: ``words``, ``unit``, ``low``, ``high``, ``base_cost``, ``cost_at_low``,
            ``cost_at_high``; one row a change, the widest first. An end without a design is left
            out.
        currency: the site's currency.
    """
    rows = [
        {
            "change": _ranged(each),
            "end": end,
            "cost": each[f"cost_at_{which}"],
            "base": each["base_cost"],
        }
        for each in frame.to_dict("records")
        for which, end in zip(("low", "high"), ENDS, strict=True)
        if pd.notna(each[f"cost_at_{which}"])
    ]
    if not rows:
        return None
    bars = pd.DataFrame(rows)
    order = [_ranged(each) for each in frame.to_dict("records")]
    low, high = float(bars["cost"].min()), float(bars["cost"].max())
    room = 0.05 * max(high - low, 1.0)
    x = alt.X(
        "cost:Q",
        title=f"least cost, present worth, {currency}",
        scale=alt.Scale(domain=[low - room, high + room], nice=False, zero=False),
        axis=alt.Axis(tickCount=5),
    )
    y = alt.Y("change:N", sort=order, title=None, axis=alt.Axis(labelLimit=340))
    fills = alt.Scale(domain=list(ENDS), range=[theme.WATER_MID, theme.CLAY_PALE])
    drawn = (
        alt.Chart(bars)
        .mark_bar(height=15, stroke=theme.QUIET, strokeWidth=0.6)
        .encode(x, alt.X2("base:Q"), y, alt.Fill("end:N", scale=fills, legend=_legend()))
    )
    rule = alt.Chart(bars.head(1)).mark_rule(stroke=theme.INK).encode(alt.X("base:Q"))
    moved = bars[(bars["cost"] - bars["base"]).abs() > 0.0]
    says = f"Least cost when one thing changes: {len(moved)} of {len(bars)} ends move it."
    return theme.themed(alt.layer(drawn, rule), says, ROW_PX * len(order) + 10)


def _ranged(each: Mapping[Any, Any]) -> str:
    """Name a change with its range, as ``price of energy, 0.15 - 0.6 per kWh``."""
    span = f"{rounded(each['low'])} - {rounded(each['high'])} {each['unit']}"
    return f"{each['words']}, {span}".strip()


def _legend() -> alt.Legend:
    return alt.Legend(title=None)


def pairs_chart(
    frame: pd.DataFrame, first: tuple[str, str], second: tuple[str, str], currency: str
) -> theme.Chart | None:
    """Return a grid over two changes: the least cost in each cell, a frame where choices change.

    Args:
        frame: a column for each change, ``cost`` and ``decisions_changed``.
        first: column of the change across, and its words.
        second: column of the change upward, and its words.
        currency: the site's currency.
    """
    cells = frame[frame["cost"].notna()] if "cost" in frame else frame.head(0)
    if cells.empty:
        return None
    cells = pd.DataFrame(
        {
            "across": [rounded(value) for value in cells[first[0]]],
            "upward": [rounded(value) for value in cells[second[0]]],
            "cost": cells["cost"],
            "words": [f"{cost:,.0f}" for cost in cells["cost"]],
            "other": [bool(text) for text in cells["decisions_changed"]],
        }
    )
    x = alt.X("across:N", sort=None, title=first[1], axis=alt.Axis(labelAngle=0))
    order = sorted(set(cells["upward"]), key=float, reverse=True)
    y = alt.Y("upward:N", sort=order, title=second[1])
    colours = alt.Scale(range=[theme.PAPER, theme.WATER_MID], interpolate="rgb")
    legend = alt.Legend(title=f"least cost, {currency}")
    base = alt.Chart(cells).encode(x, y)
    fill = base.mark_rect(stroke=theme.LINE).encode(
        alt.Fill("cost:Q", scale=colours, legend=legend)
    )
    frames = alt.Chart(cells[cells["other"]]).mark_rect(
        fillOpacity=0, stroke=theme.CLAY, strokeWidth=2.5
    )
    words = base.mark_text(color=theme.INK).encode(alt.Text("words:N"))
    says = f"Least cost over {first[1]} and {second[1]}; framed where choices change."
    layers = alt.layer(fill, frames.encode(x, y), words)
    return theme.themed(layers, says, 46 * len(order) + 40)


def draws_chart(frame: pd.DataFrame, currency: str) -> theme.Chart | None:
    """Return the share of draws that cost no more than an amount, best design and base kept.

    Args:
        frame: ``cost`` and ``kept_cost`` of each draw, ``broken`` where the base design fails.
        currency: the site's currency.
    """
    if "cost" not in frame or not frame["cost"].notna().any():
        return None
    curves = [
        _rising(frame["cost"].dropna(), SPREADS[0], len(frame)),
        _rising(frame[frame["broken"] == ""]["kept_cost"].dropna(), SPREADS[1], len(frame)),
    ]
    lines = pd.concat(curves, ignore_index=True)
    hues = alt.Scale(domain=list(SPREADS), range=[theme.WATER, theme.CLAY])
    dashes = alt.Scale(domain=list(SPREADS), range=[[1, 0], [6, 3]])
    x = alt.X("cost:Q", title=f"cost, {currency}", scale=alt.Scale(zero=False))
    y = alt.Y(
        "share:Q",
        title="share of draws that cost no more",
        axis=alt.Axis(format="%"),
        scale=alt.Scale(domain=[0, 1]),
    )
    drawn = (
        alt.Chart(lines)
        .mark_line(interpolate="step-after", strokeWidth=2.5)
        .encode(
            x,
            y,
            alt.Color("which:N", scale=hues, legend=_legend()),
            alt.StrokeDash("which:N", scale=dashes, legend=_legend()),
            alt.Order("share:Q"),
        )
    )
    says = (
        "Share of all draws by cost. A curve ends below all of them where draws have no design, or "
        "where the base design breaks a promise."
    )
    return theme.themed(alt.layer(drawn), says, 260)


def _rising(costs: pd.Series[float], which: str, draws: int) -> pd.DataFrame:
    """Return the share of all draws, those without a cost too, that cost no more than each."""
    ordered = sorted(float(cost) for cost in costs)
    shares = [(rank + 1) / draws for rank in range(len(ordered))]
    return pd.DataFrame({"cost": ordered, "share": shares, "which": which})
