"""Every bed's inflow inside the flows at which its siphon starts and stops."""

from __future__ import annotations

from typing import Any

import altair as alt
import pandas as pd

from optimizer.records.check import CheckReport
from optimizer.records.design import Bed, BedKind, Design
from optimizer.report import theme
from optimizer.report.scales import Reader, counted
from optimizer.report.words import BANDS

SINGLE_BEDS_MOST = 12
"""With more beds than this the chart shows one line for each kind of bed."""

COLOURS = (theme.WATER_PALE, theme.WATER_MID, theme.WATER)
HEIGHTS_PX = {"nominal": 26, "most": 16, "whole": 6}
ROW_PX = 44


def windows_frame(design: Design, check: CheckReport) -> pd.DataFrame:
    """Return one row for each line of the chart: a bed, or a kind where beds are many.

    Flows in m3/s: ``set_m3_s``, ``least_m3_s`` and ``greatest_m3_s`` (over sump levels and the
    valve setting error), and ``<band>_low_m3_s``, ``<band>_high_m3_s`` for each band (missing where
    no inflow works).
    """
    kinds = {kind.id: kind for kind in design.kinds}
    if len(design.beds) <= SINGLE_BEDS_MOST:
        groups = [(bed.id, kinds[bed.kind], [bed]) for bed in design.beds]
    else:
        groups = [(_kind_name(k, design), k, _beds_of(k, design)) for k in design.kinds]
    rows = [_row(name, kind, beds, design, check) for name, kind, beds in groups if beds]
    return pd.DataFrame(rows)


def _beds_of(kind: BedKind, design: Design) -> list[Bed]:
    return [bed for bed in design.beds if bed.kind == kind.id]


def _kind_name(kind: BedKind, design: Design) -> str:
    return f"{kind.label} ({counted(len(_beds_of(kind, design)), 'bed')})"


def _row(
    name: str, kind: BedKind, beds: list[Bed], design: Design, check: CheckReport
) -> dict[str, Any]:
    error, ids = design.promise.valve_setting_error, {bed.id for bed in beds}
    flows = [q for run in check.beds if run.bed in ids for q in run.inflow_m3_s]
    flows = flows or [kind.inflow_m3_s]
    row: dict[str, Any] = {"line": name, "kind": kind.id, "set_m3_s": kind.inflow_m3_s}
    row["least_m3_s"] = min(flows) * (1.0 - error)
    row["greatest_m3_s"] = max(flows) * (1.0 + error)
    for band in BANDS:
        window = kind.windows.get(band)
        works = window is not None and window.low_m3_s < window.high_m3_s
        row[f"{band}_low_m3_s"] = window.low_m3_s if window and works else None
        row[f"{band}_high_m3_s"] = window.high_m3_s if window and works else None
    return row


def windows_chart(design: Design, check: CheckReport) -> theme.Chart:
    """Return nested bars of the windows, the set inflow and its range on each line."""
    frame, reader = windows_frame(design, check), Reader(design.units)
    bars = _bars(frame, reader)
    lines = list(frame["line"])
    y = alt.Y("line:N", sort=lines, title=None)
    layers = [_band_layer(bars[bars["band"] == BANDS[b]], b, reader, y) for b in BANDS]
    layers += [*_set_layers(frame, reader, y), *_none_works(frame, y)]
    says = (
        "Bars: inflows at which each siphon starts and stops. Diamond: the inflow its valve is set "
        "to. Whisker: how far that inflow moves with the sump level and the valve setting error."
    )
    return theme.themed(alt.layer(*layers), says, ROW_PX * len(lines))


def _bars(frame: pd.DataFrame, reader: Reader) -> pd.DataFrame:
    rows = [
        {
            "line": row["line"],
            "band": BANDS[band],
            "low": reader.number("flow", row[f"{band}_low_m3_s"]),
            "high": reader.number("flow", row[f"{band}_high_m3_s"]),
        }
        for row in frame.to_dict("records")
        for band in BANDS
        if pd.notna(row[f"{band}_low_m3_s"])
    ]
    return pd.DataFrame(rows, columns=["line", "band", "low", "high"])


def _band_layer(rows: pd.DataFrame, band: str, reader: Reader, y: alt.Y) -> alt.Chart:
    colours = alt.Scale(domain=list(BANDS.values()), range=list(COLOURS))
    legend = alt.Legend(title="Starts and stops at", symbolType="square")
    axis = alt.X(
        "low:Q",
        title=f"inflow, {reader.name('flow')}",
        scale=alt.Scale(zero=True),
        axis=alt.Axis(tickCount=8),
    )
    drawn: alt.Chart = (
        alt.Chart(rows)
        .mark_bar(height=HEIGHTS_PX[band], stroke=theme.WATER, strokeWidth=0.6)
        .encode(axis, alt.X2("high:Q"), y, alt.Color("band:N", scale=colours, legend=legend))
    )
    return drawn


def _set_layers(frame: pd.DataFrame, reader: Reader, y: alt.Y) -> list[alt.Chart]:
    shown = frame[["line"]].copy()
    for name in ("set", "least", "greatest"):
        shown[name] = frame[f"{name}_m3_s"] / reader.unit("flow").size
    shown["words"] = [reader.text("flow", q) for q in frame["set_m3_s"]]
    base = alt.Chart(shown).encode(y)
    span = base.mark_rule(stroke=theme.CLAY, strokeWidth=2).encode(
        alt.X("least:Q"), alt.X2("greatest:Q")
    )
    ends = [
        base.mark_tick(color=theme.CLAY, thickness=2, height=14).encode(alt.X(f"{end}:Q"))
        for end in ("least", "greatest")
    ]
    mark = base.mark_point(
        shape="diamond", size=90, filled=True, fill=theme.CLAY, stroke=theme.PAPER, opacity=1
    ).encode(alt.X("set:Q"))
    return [span, *ends, mark]


def _none_works(frame: pd.DataFrame, y: alt.Y) -> list[alt.Chart]:
    """Say in words where a band leaves no inflow that surely works."""
    empty = frame[frame["whole_low_m3_s"].isna()]
    if empty.empty:
        return []
    shown = pd.DataFrame({"line": empty["line"], "words": "whole band: no inflow is sure"})
    words = alt.Chart(shown).mark_text(
        align="left", baseline="top", dy=14, dx=2, fontSize=theme.SMALL_PX, color=theme.CLAY
    )
    return [words.encode(alt.X(datum=0), y, alt.Text("words:N"))]
