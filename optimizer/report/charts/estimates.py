"""What readings made of each coefficient's band."""

from __future__ import annotations

from collections.abc import Sequence

import altair as alt
import pandas as pd

from optimizer.records.calibration import Estimate
from optimizer.report import theme
from optimizer.report.estimate_words import NAMES
from optimizer.report.scales import rounded

ROW_PX = 58
BEFORE_PX, AFTER_PX = 30, 14
_ROOM = 0.06


def estimates_frame(estimates: Sequence[Estimate]) -> pd.DataFrame:
    """Return one row for each coefficient, with its interval before and after.

    Columns: ``coefficient``, ``value``, ``low``, ``high``, ``bed_low``, ``bed_high``,
    ``before_low``, ``before``, ``before_high``, ``width_share``, ``told``, ``before_from``.
    """
    return pd.DataFrame(
        {
            "coefficient": each.name,
            "value": each.value,
            "low": each.low,
            "high": each.high,
            "bed_low": each.bed_low,
            "bed_high": each.bed_high,
            "before_low": each.prior.low,
            "before": each.prior.nominal,
            "before_high": each.prior.high,
            "width_share": each.width_share,
            "told": each.told,
            "before_from": each.prior.provenance,
        }
        for each in estimates
    )


def estimates_chart(estimates: Sequence[Estimate]) -> theme.Chart:
    """Return a line for each coefficient: the band before, and the intervals after.

    Every line is drawn on its own scale, from the low to the high end of the band before.
    """
    rows = pd.DataFrame(_row(each) for each in estimates)
    order = list(rows["line"])
    ends = ["low", "high", "bed_low", "bed_high"]
    least, most = min(0.0, rows[ends].min().min()), max(1.0, rows[ends].max().max())
    scale = alt.Scale(domain=[least - _ROOM, most + _ROOM], nice=False)
    axis = alt.Axis(
        values=[0, 0.5, 1],
        labelExpr="datum.value == 0 ? 'low end' : datum.value == 1 ? 'high end' : 'middle'",
    )
    x = alt.X("low:Q", title="within the band before", scale=scale, axis=axis)
    y = alt.Y("line:N", sort=order, title=None, axis=alt.Axis(labelLimit=160))
    base = alt.Chart(rows).encode(y)
    before = base.mark_bar(height=BEFORE_PX, color=theme.WATER_PALE).encode(
        alt.X("zero:Q", scale=scale), alt.X2("one:Q")
    )
    bed = base.mark_rule(stroke=theme.WATER, strokeWidth=2).encode(
        alt.X("bed_low:Q"), alt.X2("bed_high:Q")
    )
    kind = base.mark_bar(height=AFTER_PX, color=theme.WATER_MID, stroke=theme.WATER).encode(
        x, alt.X2("high:Q")
    )
    middle = base.mark_point(
        shape="diamond", size=90, filled=True, fill=theme.CLAY, stroke=theme.PAPER, opacity=1
    ).encode(alt.X("value:Q"))
    words = base.mark_text(
        align="left", baseline="top", dy=18, fontSize=theme.SMALL_PX, color=theme.QUIET
    ).encode(alt.X(datum=least), alt.Text("words:N"))
    says = (
        "Pale bar: band before the readings. Blue bar: 95 % interval of the kind of bed after "
        "them, thin line: of any one bed of the kind. Diamond: median."
    )
    title = alt.TitleParams(
        "Pale: before. Blue bar: after, 95 % sure. Line: any one bed. Diamond: median.",
        fontSize=theme.TEXT_PX,
        fontWeight="normal",
    )
    chart = alt.layer(before, bed, kind, middle, words).properties(title=title)
    return theme.themed(chart, says, ROW_PX * len(order))


def _row(each: Estimate) -> dict[str, object]:
    low, width = each.prior.low, max(each.prior.high - each.prior.low, 1e-12)

    def place(value: float) -> float:
        return (value - low) / width

    after = f"{rounded(each.low)} to {rounded(each.high)}"
    before = f"before {rounded(each.prior.low)} to {rounded(each.prior.high)}"
    return {
        "line": NAMES[each.name],
        "zero": 0.0,
        "one": 1.0,
        "low": place(each.low),
        "high": place(each.high),
        "bed_low": place(each.bed_low),
        "bed_high": place(each.bed_high),
        "value": place(each.value),
        "words": f"{rounded(each.value)}, {after}; {before}" + ("" if each.told else ": not told"),
    }
