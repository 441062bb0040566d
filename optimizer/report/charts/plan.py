"""The plan drawn to scale: beds, sump, pipes as thick as their bore, words that never overlap."""

from __future__ import annotations

import altair as alt
import pandas as pd

from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.plan_layout import (
    Frame,
    bed_corners,
    frame_of,
    scale_bar_m,
    sump_corners,
    text_px,
    words_on_plan,
)
from optimizer.report.scales import Reader

FILLS = ("#dcebf0", "#f6e6d8", "#e9e9e4", "#cfdbe6", "#efe3ee", "#f4f0d2")
DASHES = ([1, 0], [6, 3], [2, 2], [8, 2, 2, 2], [1, 3], [10, 4])
PIPE_DOMAIN_M = (0.012, 0.11)
PIPE_RANGE_PX = (1.5, 9.0)


def plan_chart(design: Design, width_px: int = theme.WIDE_PX) -> theme.Chart:
    """Return the plan, the same scale both ways.

    Args:
        design: the design.
        width_px: width it will be shown at; words are laid out for it.
    """
    frame = frame_of(design, width_px)
    layers = [
        _beds(design, frame),
        _outline(sump_corners(design), frame),
        _pipes(design, frame),
        _drops(design, frame),
        *_words(design, frame),
        *_scale_bar(design, frame),
    ]
    floor = Reader(design.units).level(design.sump.floor_level_m)
    says = f"Plan to scale: {len(design.beds)} beds, their pipes, and a sump with floor at {floor}."
    chart = alt.layer(*layers).resolve_scale(strokeWidth="independent", strokeDash="independent")
    height_px = round(width_px * frame.ratio)
    return theme.themed(chart, says, height_px, width_px).properties(padding=0)


def plan_ratio(design: Design, width_px: int = theme.WIDE_PX) -> float:
    """Return height over width of the plan drawn for a width."""
    return frame_of(design, width_px).ratio


def _x(frame: Frame, field: str = "x_m") -> alt.X:
    domain = alt.Scale(domain=[frame.left_m, frame.right_m], nice=False, zero=False)
    return alt.X(f"{field}:Q", axis=None, scale=domain)


def _y(frame: Frame, field: str = "y_m") -> alt.Y:
    domain = alt.Scale(domain=[frame.low_m, frame.high_m], nice=False, zero=False)
    return alt.Y(f"{field}:Q", axis=None, scale=domain)


def _beds(design: Design, frame: Frame) -> alt.Chart:
    kinds = {kind.id: kind for kind in design.kinds}
    rows = [
        {"bed": bed.id, "kind": kinds[bed.kind].label, "corner": i, "x_m": x, "y_m": y}
        for bed in design.beds
        for i, (x, y) in enumerate(bed_corners(bed, kinds[bed.kind]))
    ]
    labels = [kind.label for kind in design.kinds]
    count = len(labels)
    fills = alt.Scale(domain=labels, range=[FILLS[i % len(FILLS)] for i in range(count)])
    dashes = alt.Scale(domain=labels, range=[DASHES[i % len(DASHES)] for i in range(count)])
    drawn: alt.Chart = (
        alt.Chart(pd.DataFrame(rows))
        .mark_line(interpolate="linear-closed", stroke=theme.QUIET, strokeWidth=1.2)
        .encode(
            _x(frame),
            _y(frame),
            alt.Fill("kind:N", scale=fills, legend=None),
            alt.StrokeDash("kind:N", scale=dashes, legend=None),
            alt.Detail("bed:N"),
            alt.Order("corner:Q"),
        )
    )
    return drawn


def _outline(corners: tuple[tuple[float, float], ...], frame: Frame) -> alt.Chart:
    rows = [{"corner": i, "x_m": x, "y_m": y} for i, (x, y) in enumerate(corners)]
    drawn: alt.Chart = (
        alt.Chart(pd.DataFrame(rows))
        .mark_line(
            interpolate="linear-closed",
            stroke=theme.WATER,
            strokeWidth=2.5,
            fill=theme.WATER_MID,
            fillOpacity=0.6,
        )
        .encode(_x(frame), _y(frame), alt.Order("corner:Q"))
    )
    return drawn


def _pipes(design: Design, frame: Frame) -> alt.Chart:
    rows = [
        {"stretch": s.id, "bore_m": s.bore_m, "point": i, "x_m": p[0], "y_m": p[1]}
        for s in design.stretches
        if s.kind != "drop"
        for i, p in enumerate(s.points)
    ]
    width = alt.Scale(domain=list(PIPE_DOMAIN_M), range=list(PIPE_RANGE_PX), clamp=True, zero=False)
    drawn: alt.Chart = (
        alt.Chart(pd.DataFrame(rows))
        .mark_line(stroke=theme.WATER, strokeCap="butt", strokeJoin="round", opacity=0.9)
        .encode(
            _x(frame),
            _y(frame),
            alt.StrokeWidth("bore_m:Q", scale=width, legend=None),
            alt.Detail("stretch:N"),
            alt.Order("point:Q"),
        )
    )
    return drawn


def _drops(design: Design, frame: Frame) -> alt.Chart:
    ends = {s.id: s.points[-1] for s in design.stretches if s.kind == "drop"}
    rows = [{"drop": key, "x_m": p[0], "y_m": p[1]} for key, p in ends.items()]
    drawn: alt.Chart = (
        alt.Chart(pd.DataFrame(rows, columns=["drop", "x_m", "y_m"]))
        .mark_point(shape="circle", size=26, filled=True, fill=theme.PAPER, stroke=theme.WATER)
        .encode(_x(frame), _y(frame))
    )
    return drawn


def _words(design: Design, frame: Frame) -> list[alt.Chart]:
    rows = []
    for placed in words_on_plan(design, frame):
        x_m, y_m = frame.to_m(placed.x_px, placed.y_px)
        rows.append({"words": placed.words, "angle": placed.angle, "x_m": x_m, "y_m": y_m})
    size = text_px(frame)
    base = alt.Chart(pd.DataFrame(rows, columns=["words", "angle", "x_m", "y_m"])).encode(
        _x(frame), _y(frame), alt.Text("words:N"), alt.Angle("angle:Q", scale=None)
    )
    halo = base.mark_text(fontSize=size, stroke=theme.PAPER, strokeWidth=3, opacity=0.85)
    return [halo, base.mark_text(fontSize=size, color=theme.INK)]


def _scale_bar(design: Design, frame: Frame) -> list[alt.Chart]:
    reader, length = Reader(design.units), scale_bar_m(frame, design.units)
    x0, y0 = frame.to_m(8.0, frame.box.bottom - 10.0)
    says = f"{reader.number('length', length):.10g} {reader.name('length')}"
    row = {"x_m": x0, "x2_m": x0 + length, "y_m": y0, "words": says}
    base = alt.Chart(pd.DataFrame([row])).encode(_x(frame), _y(frame))
    bar = base.mark_rule(stroke=theme.INK, strokeWidth=3).encode(alt.X2("x2_m:Q"))
    words = base.mark_text(align="left", dy=-10, fontSize=11, color=theme.INK)
    return [bar, words.encode(alt.Text("words:N"))]
