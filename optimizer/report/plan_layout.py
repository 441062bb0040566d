"""The words on the plan, placed in pixels so that none lies on another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby, pairwise

from optimizer.records.design import Bed, BedKind, BuiltStretch, Design
from optimizer.records.header_ring import CLOSING
from optimizer.report.labels import Box, Label, Placed, place, width_px
from optimizer.report.plan_frame import Frame, around, bed_corners, line_px, text_px
from optimizer.report.plan_returns import drain_groups, drain_words, route_m, shift_m
from optimizer.report.plan_sump import sump_tanks
from optimizer.report.plan_zones import zone_prefix
from optimizer.report.scales import Reader, rounded
from optimizer.report.shapes import Leg, half_extent, legs

Spot = tuple[float, float, float]

SLANT_PX = 6.0
"""A slanting line is covered by boxes whose shorter side is at most this."""

CLEAR_PX = 1.5
"""Kept free between words and a line."""


def words_on_plan(design: Design, frame: Frame) -> list[Placed]:
    """Return every word on the plan, placed: beds, sump, levels, supply pipe, return pipe."""
    size = text_px(frame.width_px)
    pipes = _pipe_boxes(design, frame)
    beds = place(_bed_labels(design, frame, size), [], frame.box, pipes)
    taken = [_bar_box(frame), *(word.box for word in beds), *pipes]
    taken += [*_bed_boxes(design, frame), *_tank_boxes(design, frame)]
    rest = [
        _sump_label(design, frame, size),
        *_tank_labels(design, frame, size),
        *_level_labels(design, frame, size),
        *_pipe_labels(design, frame, size),
        *_drain_labels(design, frame, size),
    ]
    return beds + place(rest, taken, frame.box)


def _bar_box(frame: Frame) -> Box:
    box = frame.box
    return Box(0.0, box.bottom - 30.0, box.right * 0.35, box.bottom)


def _kinds(design: Design) -> dict[str, BedKind]:
    return {kind.id: kind for kind in design.kinds}


def _bed_boxes(design: Design, frame: Frame) -> list[Box]:
    kinds = _kinds(design)
    return [frame.box_of(bed_corners(bed, kinds[bed.kind])) for bed in design.beds]


def _tank_boxes(design: Design, frame: Frame) -> list[Box]:
    return [frame.box_of(tank, 2.0 * CLEAR_PX) for tank in sump_tanks(design).corners]


def _pipe_boxes(design: Design, frame: Frame) -> list[Box]:
    shift = shift_m(design, frame)
    routes = [(legs(s.points), s.bore_m) for s in design.stretches]
    routes += [(legs(route_m(d, shift)), d.bore_m) for d in design.drains]
    return [
        box
        for pieces, bore in routes
        for leg in pieces
        for box in line_boxes(leg, frame, line_px(bore, frame) / 2.0 + CLEAR_PX)
    ]


def line_boxes(leg: Leg, frame: Frame, margin_px: float) -> list[Box]:
    """Return boxes that cover a straight piece: one if level or upright, many small if slanting."""
    (x0, y0), (x1, y1) = frame.to_px(leg[0]), frame.to_px(leg[1])
    wide, tall = x1 - x0, y1 - y0
    count = max(1, math.ceil(min(abs(wide), abs(tall)) / SLANT_PX))
    ends = [(x0 + wide * k / count, y0 + tall * k / count) for k in range(count + 1)]
    return [around(pair, margin_px) for pair in pairwise(ends)]


def _bed_labels(design: Design, frame: Frame, size: float) -> list[Label]:
    boxes = _bed_boxes(design, frame)
    x_m, y_m = shift_m(design, frame)
    free = (-1.0 if x_m > 0.0 else 1.0, 1.0 if y_m > 0.0 else -1.0)
    ids = [bed.id for bed in design.beds]
    if not all(_fits(name, box, size) for name, box in zip(ids, boxes, strict=True)):
        ids = [str(number) for number in range(1, len(ids) + 1)]
    return [
        Label((name,), _bed_spots(name, box, size, free), size)
        for name, box in zip(ids, boxes, strict=True)
    ]


def _fits(name: str, box: Box, size: float) -> bool:
    return width_px(name, size) <= max(box.right - box.left, box.bottom - box.top) - 4.0


def _bed_spots(name: str, box: Box, size: float, free: tuple[float, float]) -> tuple[Spot, ...]:
    """Return places for a bed's name: its halves, those free of return pipe first; its middle."""
    x, y = (box.left + box.right) / 2.0, (box.top + box.bottom) / 2.0
    wide, tall = box.right - box.left, box.bottom - box.top
    long = width_px(name, size) + 2.0
    halves = [(0.0, share * tall) for share in (0.25, -0.25, 0.35, -0.35)]
    halves += [(share * wide, 0.0) for share in (0.25, -0.25, 0.0)]
    halves = [(free[0] * u, free[1] * v) for u, v in halves]
    level = [h for h in halves if long <= (wide if not h[0] else wide / 2.0)]
    upright = [h for h in halves if long <= (tall if not h[1] else tall / 2.0)]
    spots = [(x + u, y + v, 0.0) for u, v in level]
    spots += [(x + u, y + v, 270.0) for u, v in upright]
    return (*spots, (x, y, 0.0), (x, y, 270.0))


def _sump_label(design: Design, frame: Frame, size: float) -> Label:
    reader, sump = Reader(design.units), design.sump
    riser = next((s for s in design.stretches if s.kind == "riser"), None)
    name = "sump" if sump.count == 1 else f"sump, {sump.count} tanks"
    floor = f"{name}, floor at {reader.level(sump.floor_level_m)}"
    pipe = f", riser {riser.nominal} {reader.text('flow', riser.flow_m3_s)}" if riser else ""
    box = frame.box_of(sump_tanks(design).every)
    x, y, gap = (box.left + box.right) / 2.0, (box.top + box.bottom) / 2.0, size
    variants = (f"{floor}{pipe}", floor, "sump")
    half = width_px(variants[0], size) / 2.0
    lefts = [x, max(x, half + 2.0), box.left + half, box.right - half]
    heights = (box.bottom + gap, box.top - gap, box.bottom + 2.4 * gap)
    spots = [(x, height, 0.0) for height in heights[:2]]
    spots += [(left, height, 0.0) for height in heights for left in lefts]
    spots += [(box.left - gap, y, 270.0), (box.right + gap, y, 270.0)]
    short = width_px(floor, size) / 2.0
    spots += [(box.left + short, height, 0.0) for height in heights]
    return Label(variants, tuple(spots), size)


def _tank_labels(design: Design, frame: Frame, size: float) -> list[Label]:
    """What the tank over the beds is, beside its mark."""
    if design.tank is None:
        return []
    x, y = frame.to_px((design.tank.x_m, design.tank.y_m))
    level = Reader(design.units).level(design.tank.water_level_m)
    variants = (f"tank, water at {level}", "tank")
    half = width_px(variants[0], size) / 2.0
    gaps = (1.2 * size, 2.4 * size, 3.6 * size)
    spots = [(x - half - size, y, 0.0), (x + half + size, y, 0.0)]
    spots += [(x + side, y + up * gap, 0.0) for gap in gaps for up in (-1.0, 1.0)
              for side in (-half, half, 0.0)]  # fmt: skip
    return [Label(variants, tuple(spots), size)]


def pipe_groups(design: Design) -> list[list[BuiltStretch]]:
    """Return runs of header and lateral pipe of one size, each in the order of the water."""
    pipes = [s for s in design.stretches if s.kind not in ("drop", "riser")]
    ordered = sorted(enumerate(pipes), key=lambda item: (_run(item[1]), item[0]))
    grouped = groupby((s for _, s in ordered), key=lambda s: (_run(s), s.nominal))
    return [list(group) for _, group in grouped]


def _run(stretch: BuiltStretch) -> tuple[str, str]:
    own = stretch.id if stretch.id == CLOSING else ""
    return stretch.kind, stretch.row or own


def _pipe_labels(design: Design, frame: Frame, size: float) -> list[Label]:
    groups = sorted(pipe_groups(design), key=lambda g: -sum(s.length_m for s in g))
    return [_pipe_label(group, design, frame, size) for group in groups]


def _pipe_label(group: Sequence[BuiltStretch], design: Design, frame: Frame, size: float) -> Label:
    reader, flows = Reader(design.units), [s.flow_m3_s for s in group]
    name, high, low = group[0].nominal, max(flows), min(flows)
    same = rounded(reader.number("flow", high)) == rounded(reader.number("flow", low))
    flow = reader.text("flow", high) if same else reader.span("flow", high, low)
    longest = [max(legs(s.points), key=lambda leg: math.dist(*leg)) for s in group]
    spots = _along(longest, design, group[0].row, frame, size)
    return Label((f"{name}, {flow}", name), spots, size)


def _drain_labels(design: Design, frame: Frame, size: float) -> list[Label]:
    """One label for each run of return pipe, the longest first, on its own side of the row."""
    reader, shift = Reader(design.units), shift_m(design, frame)
    labels = []
    for group in sorted(drain_groups(design), key=lambda g: -sum(d.length_m for d in g)):
        routes = [legs(route_m(drain, shift)) for drain in group]
        longest = [max(route, key=lambda leg: math.dist(*leg)) for route in routes]
        spots = _along(longest, design, group[0].row, frame, size)
        labels.append(Label((drain_words(group, reader),), spots, size))
    return labels


def _along(
    pieces: Sequence[Leg], design: Design, row: str | None, frame: Frame, size: float
) -> tuple[Spot, ...]:
    """Return places beside straight pieces: close by, then clear of the row, then a line on."""
    spots = []
    for off, over_the_row in ((0.5 * size + 8.0, False), (0.7 * size, True), (2.0 * size, True)):
        for leg in pieces:
            clear = _row_half_px(leg, design, row, frame) if over_the_row else 0.0
            spots += _beside(leg, frame, off + clear)
    return tuple(spots)


def _row_half_px(leg: Leg, design: Design, row: str | None, frame: Frame) -> float:
    """Return how far the beds of a row reach to the side of a straight piece."""
    (x0, y0), (x1, y1) = leg
    long = math.dist(*leg) or 1.0
    side, kinds = ((y0 - y1) / long, (x1 - x0) / long), _kinds(design)
    reaches = [
        half_extent(bed.along, kinds[bed.kind].length_m, kinds[bed.kind].width_m, side)
        for bed in design.beds
        if row in (None, bed.row)
    ]
    return max(reaches, default=0.0) * frame.px_per_m


def _beside(leg: Leg, frame: Frame, off: float) -> list[Spot]:
    """Return places beside a leg, to either side, near its middle and towards its ends."""
    (x0, y0), (x1, y1) = frame.to_px(leg[0]), frame.to_px(leg[1])
    upright = abs(y1 - y0) > abs(x1 - x0)
    spots = []
    for share in (0.5, 0.25, 0.75, 0.1, 0.9):
        x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
        turns = [(x - off, y, 270.0), (x + off, y, 270.0)]
        spots += turns if upright else [(x, y - off, 0.0), (x, y + off, 0.0)]
    return spots


def _level_labels(design: Design, frame: Frame, size: float) -> list[Label]:
    """One label for each level in a row: the inside floor of its beds."""
    reader, kinds = Reader(design.units), _kinds(design)
    groups: dict[tuple[str, str, float], list[Bed]] = {}
    for bed in design.beds:
        groups.setdefault((bed.row, bed.kind, round(bed.floor_level_m, 3)), []).append(bed)
    return [
        _level_label(
            (kinds[kind].label, f"floor {reader.level(level)}"),
            zone_prefix(design, row),
            beds,
            kinds,
            frame,
            size,
        )
        for (row, kind, level), beds in groups.items()
    ]


def _level_label(
    words: tuple[str, str],
    zone: str,
    beds: Sequence[Bed],
    kinds: dict[str, BedKind],
    frame: Frame,
    size: float,
) -> Label:
    box = frame.box_of([c for bed in beds for c in bed_corners(bed, kinds[bed.kind])])
    x, y, gap = (box.right + box.left) / 2.0, (box.bottom + box.top) / 2.0, 0.8 * size
    places = (
        (x, box.top - gap, 0.0),
        (x, box.bottom + gap, 0.0),
        (box.right + gap, y, 270.0),
        (box.left - gap, y, 270.0),
    )
    variants = (", ".join(words), words[1], words[1].removeprefix("floor "))
    shortest = (zone.removesuffix(": "),) if zone else ()
    return Label((*(f"{zone}{each}" for each in variants), *shortest), places, size)
