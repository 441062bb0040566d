"""The plan drawn to scale: beds, sump, pipes as thick as their bore, words that never overlap."""

from __future__ import annotations

from typing import Any

import altair as alt
import pandas as pd

from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.plan_frame import (
    PIPE_DOMAIN_M,
    PIPE_RANGE_PX,
    Frame,
    bed_corners,
    frame_of,
    scale_bar_m,
    text_px,
)
from optimizer.report.plan_key import (
    INLET,
    RETURN,
    SAMPLE_PX,
    SUPPLY,
    TANK_MARK,
    TIMED_MARK,
    VENT,
    key_of,
)
from optimizer.report.plan_layout import words_on_plan
from optimizer.report.plan_returns import arrow_into_sump, route_m, shift_m, vents_m
from optimizer.report.plan_sump import sump_tanks
from optimizer.report.plan_zones import timed_valves_m
from optimizer.report.scales import Reader, counted

FILLS = ("#dcebf0", "#f6e6d8", "#e9e9e4", "#cfdbe6", "#efe3ee", "#f4f0d2")
DASHES = ([1, 0], [6, 3], [2, 2], [8, 2, 2, 2], [1, 3], [10, 4])
RETURN_DASH = [7, 4]
ARROWHEAD = "M0,-1L0.75,0.7L0,0.35L-0.75,0.7Z"
"""Points up, and is longer than wide: a triangle with equal sides points three ways."""
MARKS = {INLET: "circle", VENT: "triangle-up", TANK_MARK: "square", TIMED_MARK: "diamond"}


def plan_chart(design: Design, width_px: int = theme.WIDE_PX) -> theme.Chart:
    """Return the plan, the same scale both ways.

    Args:
        design: the design.
        width_px: width it will be shown at; words are laid out for it.
    """
    frame = frame_of(design, width_px)
    layers = [
        _beds(design, frame),
        _tanks(design, frame),
        _pipes(design, frame),
        *_arrow(design, frame),
        _points(design, frame),
        *_words(design, frame),
        *_scale_bar(design, frame),
        *_key(design, frame),
    ]
    floor = Reader(design.units).level(design.sump.floor_level_m)
    beds = counted(len(design.beds), "bed")
    says = f"Plan to scale: {beds} with pipes, and a sump with floor at {floor}."
    chart = alt.layer(*layers).resolve_scale(
        strokeWidth="independent", strokeDash="independent", shape="independent"
    )
    chart["padding"] = 0
    return theme.themed(chart, says, round(width_px * frame.ratio), width_px)


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


def _tanks(design: Design, frame: Frame) -> alt.Chart:
    rows = [
        {"tank": n, "corner": i, "x_m": x, "y_m": y}
        for n, corners in enumerate(sump_tanks(design).corners)
        for i, (x, y) in enumerate(corners)
    ]
    drawn: alt.Chart = (
        alt.Chart(pd.DataFrame(rows))
        .mark_line(
            interpolate="linear-closed",
            stroke=theme.WATER,
            strokeWidth=1.5 if frame.narrow else 2.5,
            fill=theme.WATER_MID,
            fillOpacity=0.6,
        )
        .encode(_x(frame), _y(frame), alt.Detail("tank:N"), alt.Order("corner:Q"))
    )
    return drawn


def _pipes(design: Design, frame: Frame) -> alt.Chart:
    """Draw supply and return pipe, told apart by dashes; both have one scale of thickness."""
    shift = shift_m(design, frame)
    lines = [
        (SUPPLY, s.id, s.bore_m, [(p[0], p[1]) for p in s.points])
        for s in design.stretches
        if s.kind != "drop"
    ]
    lines += [(RETURN, d.id, d.bore_m, route_m(d, shift)) for d in design.drains]
    rows = [
        {"pipe": pipe, "stretch": name, "bore_m": bore, "point": i, "x_m": x, "y_m": y}
        for pipe, name, bore, points in lines
        for i, (x, y) in enumerate(points)
    ]
    thick = list(PIPE_RANGE_PX[frame.narrow])
    width = alt.Scale(domain=list(PIPE_DOMAIN_M), range=thick, clamp=True, zero=False)
    dashes = alt.Scale(domain=[SUPPLY, RETURN], range=[[1, 0], RETURN_DASH])
    drawn: alt.Chart = (
        alt.Chart(pd.DataFrame(rows))
        .mark_line(stroke=theme.WATER, strokeCap="butt", strokeJoin="round", opacity=0.9)
        .encode(
            _x(frame),
            _y(frame),
            alt.StrokeWidth("bore_m:Q", scale=width, legend=None),
            alt.StrokeDash("pipe:N", scale=dashes, legend=None),
            alt.Detail("stretch:N"),
            alt.Order("point:Q"),
        )
    )
    return drawn


def _arrow(design: Design, frame: Frame) -> list[alt.Chart]:
    arrow = arrow_into_sump(design, shift_m(design, frame))
    if arrow is None:
        return []
    row = {"x_m": arrow.at[0], "y_m": arrow.at[1], "bearing": arrow.bearing_degrees}
    head = alt.Chart(pd.DataFrame([row])).mark_point(
        shape=ARROWHEAD, size=110 if frame.narrow else 260, filled=True, fill=theme.INK, opacity=1
    )
    return [head.encode(_x(frame), _y(frame), alt.Angle("bearing:Q", scale=None))]


def _points(design: Design, frame: Frame) -> alt.Chart:
    """Mark where water enters each bed, where its siphon leaves by a vented tee, a tank, valves."""
    ends = [(INLET, s.points[-1]) for s in design.stretches if s.kind == "drop"]
    vents = [(VENT, at) for _, at in vents_m(design, shift_m(design, frame))]
    tanks = [(TANK_MARK, (t.x_m, t.y_m)) for t in (design.tank,) if t is not None]
    timed = [(TIMED_MARK, at) for at in timed_valves_m(design)]
    marks = (*ends, *vents, *tanks, *timed)
    rows = [{"mark": mark, "x_m": p[0], "y_m": p[1]} for mark, p in marks]
    return _marks(rows, frame)


def _marks(rows: list[dict[str, Any]], frame: Frame) -> alt.Chart:
    shapes = alt.Scale(domain=list(MARKS), range=list(MARKS.values()))
    size = 16 if frame.narrow else 34
    drawn: alt.Chart = (
        alt.Chart(pd.DataFrame(rows, columns=["mark", "x_m", "y_m"]))
        .mark_point(size=size, fill=theme.PAPER, stroke=theme.INK, strokeWidth=1.2, opacity=1)
        .encode(_x(frame), _y(frame), alt.Shape("mark:N", scale=shapes, legend=None))
    )
    return drawn


def _words(design: Design, frame: Frame) -> list[alt.Chart]:
    rows = []
    for placed in words_on_plan(design, frame):
        x_m, y_m = frame.to_m(placed.x_px, placed.y_px)
        rows.append({"words": placed.words, "angle": placed.angle, "x_m": x_m, "y_m": y_m})
    size = text_px(frame.width_px)
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


def _key(design: Design, frame: Frame) -> list[alt.Chart]:
    """Draw a sample of each line and mark with its words, in the key's own strip."""
    size, top = text_px(frame.width_px), frame.box.bottom
    rows, marks = [], []
    for entry in key_of(design, frame.width_px, size):
        x, y = frame.to_m(entry.x_px, top + entry.y_px)
        x2, _ = frame.to_m(entry.x_px + SAMPLE_PX, top)
        rows.append({"words": entry.words, "x_m": x, "x2_m": x2, "y_m": y})
        marks.append({"mark": entry.words, "x_m": (x + x2) / 2.0, "y_m": y})
    frame_rows = pd.DataFrame(rows)
    lines = alt.Chart(frame_rows[~frame_rows["words"].isin(list(MARKS))]).mark_rule(
        stroke=theme.WATER, strokeWidth=4
    )
    dashes = alt.Scale(domain=[SUPPLY, RETURN], range=[[1, 0], RETURN_DASH])
    words = alt.Chart(frame_rows).mark_text(align="left", dx=8, fontSize=size, color=theme.INK)
    return [
        lines.encode(
            _x(frame),
            alt.X2("x2_m:Q"),
            _y(frame),
            alt.StrokeDash("words:N", scale=dashes, legend=None),
        ),
        _marks([mark for mark in marks if mark["mark"] in MARKS], frame),
        words.encode(_x(frame, "x2_m"), _y(frame), alt.Text("words:N")),
    ]
