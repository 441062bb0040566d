"""The pictures of the study: one function a picture."""

from __future__ import annotations

from collections.abc import Mapping

import altair as alt
import pandas as pd

from optimizer.report import theme

WIDTH_PX = 680


def _words(row: pd.Series) -> str:
    parts = [
        "sump" if row["same_sump"] else "",
        "pump" if row["same_pump"] else "",
        "header" if row["wide"] else "",
    ]
    named = [part for part in parts if part]
    return f"the final's {', '.join(named)} now" if named else "only for now"


def _ends(plans: pd.DataFrame) -> pd.DataFrame:
    """Return the plans with nothing or all of the shared pipe wide, named."""
    kept = plans[plans["wide"].isin((0, plans["wide"].max()))]
    return kept.assign(plan=kept.apply(_words, axis=1))


def plans_chart(plans: pd.DataFrame) -> theme.Chart:
    """What each plan costs above the proven bound, by what it goes on."""
    shown = _ends(plans[plans["years"] == 2.0])
    shown = shown.assign(over=shown["worth"] - shown["bound"])
    order = list(shown.sort_values("worth")["plan"])
    y = alt.Y("plan:N", sort=order, title=None, axis=alt.Axis(labelLimit=260))
    top = 1.12 * float(shown["over"].max())
    title = "EUR above what no plan can cost less than, brought to today"
    x = alt.X("over:Q", title=title, scale=alt.Scale(domain=[0.0, top], nice=False))
    bars = alt.Chart(shown).mark_bar(color=theme.WATER, height=16).encode(x, y)
    words = alt.Chart(shown).mark_text(align="left", dx=4, color=theme.INK)
    said = words.encode(x, y, alt.Text("over:Q", format=",.0f"))
    says = "Cost of every plan above the proven bound, second phase after two years."
    return theme.themed(alt.layer(bars, said), says, 240, WIDTH_PX)


def years_chart(plans: pd.DataFrame) -> theme.Chart:
    """What looking ahead saves, by the years until the second phase."""
    ends = _ends(plans)
    plain = ends[ends["plan"] == "only for now"].set_index("years")["worth"]
    kept = ends[ends["plan"].isin(NAMES)]
    shown = kept.assign(saves=kept["years"].map(plain) - kept["worth"])
    line = (
        alt.Chart(shown)
        .mark_line(strokeWidth=2, point=alt.OverlayMarkDef(size=45))
        .encode(
            alt.X("years:Q", title="years until the second phase", axis=alt.Axis(tickCount=5)),
            alt.Y("saves:Q", title="EUR saved, brought to today"),
            alt.Color(
                "plan:N",
                scale=alt.Scale(domain=list(NAMES), range=[theme.WATER, theme.CLAY, theme.INK]),
                legend=alt.Legend(title=None, symbolType="stroke"),
            ),
            alt.StrokeDash(
                "plan:N",
                scale=alt.Scale(domain=list(NAMES), range=[[1, 0], [6, 3], [2, 2]]),
                legend=alt.Legend(title=None, symbolType="stroke"),
            ),
        )
    )
    says = "What looking ahead saves over building only for now, by years to the second phase."
    return theme.themed(line, says, 260, WIDTH_PX)


NAMES = ("the final's sump now", "the final's header now", "the final's pump now")


def every_chart(tables: Mapping[str, pd.DataFrame]) -> dict[str, theme.Chart]:
    """Return every picture by the name of its file."""
    return {"plans": plans_chart(tables["plans"]), "years": years_chart(tables["plans"])}
