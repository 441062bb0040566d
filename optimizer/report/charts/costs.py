"""What the money goes on: capital and the present worth of running, line by line."""

from __future__ import annotations

import altair as alt
import pandas as pd

from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.scales import counted, money
from optimizer.report.words import PAID

GROUPS = {group: PAID[group] for group in ("capital", "running")}
ROW_PX = 26
WORDS_ROOM = 1.6
"""Length of the axis over the longest bar, for the amount beside it."""
LINES_MOST = 14
"""Bars drawn for each group; smaller lines are gathered in one more."""


def cost_frame(design: Design) -> pd.DataFrame:
    """Return cents by ``group`` and ``what``, the largest first within a group.

    What lies ready costs nothing and is left out.
    """
    paid = [line for line in design.costs if line.group in GROUPS]
    rows = [{"group": c.group, "what": c.what, "cents": c.cents} for c in paid]
    frame = pd.DataFrame(rows, columns=["group", "what", "cents"])
    summed = frame.groupby(["group", "what"], sort=False)[["cents"]].sum().reset_index()
    return summed.sort_values(["group", "cents"], ascending=[True, False], kind="stable")


def gathered(frame: pd.DataFrame) -> pd.DataFrame:
    """Return the largest lines of each group and one line for all smaller ones together."""
    parts = []
    for group, lines in frame.groupby("group", sort=False):
        parts.append(lines.head(LINES_MOST))
        rest = lines.iloc[LINES_MOST:]
        if len(rest):
            row = {
                "group": group,
                "what": counted(len(rest), "smaller line"),
                "cents": rest["cents"].sum(),
            }
            parts.append(pd.DataFrame([row]))
    return pd.concat(parts, ignore_index=True) if parts else frame.reset_index(drop=True)


def cost_chart(design: Design) -> theme.Chart:
    """Return one bar for each kind of cost, its amount in words beside it."""
    frame = gathered(cost_frame(design))
    frame["amount"] = frame["cents"] / 100.0
    frame["words"] = [money(cents, design.currency) for cents in frame["cents"]]
    frame["kind"] = [GROUPS.get(group, group) for group in frame["group"]]
    frame["line"] = _lines(frame)
    most = float(frame["amount"].max()) if len(frame) else 1.0
    base = alt.Chart(frame).encode(
        alt.X(
            "amount:Q",
            title=design.currency,
            scale=alt.Scale(domain=[0, WORDS_ROOM * most], nice=False),
            axis=alt.Axis(tickCount=3),
        ),
        alt.Y("line:N", sort=list(frame["line"]), title=None),
    )
    legend = alt.Legend(title=None)
    fills = alt.Scale(domain=list(GROUPS.values()), range=[theme.WATER, theme.CLAY_PALE])
    bars = base.mark_bar(stroke=theme.QUIET, strokeWidth=0.6, height=16).encode(
        alt.Fill("kind:N", scale=fills, legend=legend)
    )
    words = base.mark_text(align="left", dx=5, color=theme.INK).encode(alt.Text("words:N"))
    says = "Cost of each kind of part, and the present worth of running costs."
    return theme.themed(alt.layer(bars, words), says, ROW_PX * len(frame))


def _lines(frame: pd.DataFrame) -> list[str]:
    """Name each bar; the same words in both groups are told apart."""
    twice = frame["what"].duplicated(keep=False)
    return [
        f"{what} ({group})" if double else what
        for what, group, double in zip(frame["what"], frame["group"], twice, strict=True)
    ]
