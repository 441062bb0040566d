"""What a design costs with each pump as the only one."""

from __future__ import annotations

import altair as alt
import pandas as pd

from optimizer.report import theme
from optimizer.report.scales import counted

PARTS = {
    "capital": "bought once",
    "replacements": "pump replacements",
    "energy_worth": "energy, present worth",
}
FILLS = (theme.WATER, theme.WATER_PALE, theme.CLAY_PALE)
ROW_PX = 24
ROOM = 1.6
PUMPS_MOST = 15
"""Bars drawn; dearer pumps are in the table."""


def pumps_chart(frame: pd.DataFrame, currency: str) -> theme.Chart | None:
    """Return a bar for each pump that can do, the cheapest design first, in parts of its cost.

    Args:
        frame: one row a pump: ``label``, ``count``, ``cost``, ``gap_to_best``, ``allowed`` and the
            columns of :data:`PARTS`; rows without a cost are left out.
        currency: the site's currency.
    """
    able = frame[frame["cost"].notna()].head(PUMPS_MOST) if "cost" in frame else frame.head(0)
    if able.empty:
        return None
    rows, totals = [], []
    for pump in able.to_dict("records"):
        name = f"{int(pump['count'])} x {pump['label']}"
        gap = pump["gap_to_best"]
        more = "" if pd.isna(gap) or not gap else f" ({gap:+,.0f})"
        other = "" if pump["allowed"] else ", not on the list"
        totals.append({"pump": name, "cost": pump["cost"], "words": f"{pump['cost']:,.0f}{more}"})
        totals[-1]["words"] += other
        rows += [
            {"pump": name, "part": words, "order": number, "amount": pump[column]}
            for number, (column, words) in enumerate(PARTS.items())
        ]
    most = float(able["cost"].max())
    order = [total["pump"] for total in totals]
    x = alt.X(
        "amount:Q",
        title=f"cost, {currency} (in brackets: above the cheapest on the list)",
        scale=alt.Scale(domain=[0, ROOM * most], nice=False),
        axis=alt.Axis(tickCount=4),
    )
    y = alt.Y("pump:N", sort=order, title=None, axis=alt.Axis(labelLimit=260))
    fills = alt.Scale(domain=list(PARTS.values()), range=list(FILLS))
    bars = (
        alt.Chart(pd.DataFrame(rows))
        .mark_bar(height=14, stroke=theme.QUIET, strokeWidth=0.5)
        .encode(
            x, y, alt.Fill("part:N", scale=fills, legend=alt.Legend(title=None)), alt.Order("order")
        )
    )
    ends = alt.Chart(pd.DataFrame(totals)).mark_text(align="left", dx=5, color=theme.INK)
    words = ends.encode(alt.X("cost:Q"), y, alt.Text("words:N"))
    says = f"Cost with each of {counted(len(order), 'pump')} as the only one."
    return theme.themed(alt.layer(bars, words), says, ROW_PX * len(order) + 10)
