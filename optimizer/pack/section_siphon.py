"""A siphon cut down its middle, to scale, with every size that is cut, drilled or set.

The wall of the bed, the bulkhead's flange and nut and the walls of bell and guard are drawn at
sizes of their own where the design does not know them; no dimension is put on those.
"""

from __future__ import annotations

from optimizer.pack.canvas import GREY, LINE_MM, PALE, THICK_MM, THIN_MM, Canvas
from optimizer.pack.lengths import Rule
from optimizer.pack.scale import Paper, scale_for
from optimizer.records.design import BedKind

WIDE_MM, HIGH_MM = 88.0, 118.0
_SIDE_MM, _TOP_MM, _FOOT_MM = 22.0, 15.0, 14.0
_FLOOR_M = 0.006
_FLANGE_M = 0.009
_GASKET_M = 0.003
FLANGE_SHARE = 1.35
"""Width of a bulkhead's flange as drawn, over its hole (assumption: as sold it varies)."""


def siphon_section(kind: BedKind, units: str) -> Canvas:
    """Return the drawing.

    Args:
        kind: the kind of bed.
        units: ``metric`` or ``us``.
    """
    canvas = Canvas(WIDE_MM, HIGH_MM)
    parts = kind.parts
    below_m = -kind.siphon.outlet_level_m
    scale = scale_for(
        max(parts.guard_bore_m, 2.0 * parts.bulkhead_hole_m) * 1.25,
        kind.depth_m + below_m,
        WIDE_MM - 2.0 * _SIDE_MM,
        HIGH_MM - _TOP_MM - _FOOT_MM,
    )
    paper = Paper(scale, WIDE_MM / 2.0, _TOP_MM + kind.depth_m * 1000.0 / scale)
    _bed(canvas, paper, kind)
    _bulkhead(canvas, paper, kind)
    _standpipe(canvas, paper, kind)
    _bell(canvas, paper, kind)
    _heights(canvas, paper, kind, Rule(units))
    _widths(canvas, paper, kind, Rule(units))
    canvas.words((1.0, 3.2), f"Siphon, 1 : {scale:g}")
    return canvas


def lift_m(kind: BedKind) -> float:
    """Return how high the bell's foot is drawn over the floor.

    On the bulkhead's flange where that, at the size it is drawn, is wider than the bell's bore.
    """
    wide = FLANGE_SHARE * kind.parts.bulkhead_hole_m > kind.parts.bell_bore_m
    return _GASKET_M + _FLANGE_M if wide else 0.0


def _outside_m(known_m: float, bore_m: float) -> float:
    """Return an outside diameter; a tenth over the bore where it is not known."""
    return known_m or 1.1 * bore_m


def _bed(canvas: Canvas, paper: Paper, kind: BedKind) -> None:
    """Medium beside the guard, floor with its hole, water at the level where the siphon starts."""
    guard = kind.parts.guard_bore_m / 2.0
    left, right = _edges(paper)
    hole = kind.parts.bulkhead_hole_m / 2.0
    top, floor = paper.y(kind.depth_m), paper.y(0.0)
    prime = paper.y(kind.siphon.prime_level_m)
    for edge, side in ((left, -1.0), (right, 1.0)):
        canvas.box((edge, top), (paper.x(side * guard), floor), PALE, 0.0)
        under = paper.y(-_FLOOR_M)
        canvas.box((edge, floor), (paper.x(side * hole), under), GREY, LINE_MM)
        canvas.line((paper.x(side * guard), top), (paper.x(side * guard), floor), LINE_MM, "1.6 1")
    canvas.line((left, top), (right, top), THIN_MM, "3 1 0.6 1")
    canvas.line((left, prime), (right, prime), THIN_MM)
    canvas.water(right - 2.5, prime)
    canvas.words((left, top - 0.8), "rim of the bed")


def _bulkhead(canvas: Canvas, paper: Paper, kind: BedKind) -> None:
    """Flange inside, gasket under it on the wet side, nut below; as sold, no sizes."""
    hole = kind.parts.bulkhead_hole_m / 2.0
    pipe = _outside_m(kind.parts.standpipe_outside_m, kind.parts.standpipe_bore_m) / 2.0
    for side in (-1.0, 1.0):
        inner, outer = side * pipe, side * FLANGE_SHARE * hole
        canvas.box(paper.at(inner, _GASKET_M + _FLANGE_M), paper.at(outer, _GASKET_M), "#fff")
        canvas.box(paper.at(inner, _GASKET_M), paper.at(outer, 0.0), "#000", 0.0)
        canvas.box(
            paper.at(inner, -_FLOOR_M), paper.at(side * 1.25 * hole, -_FLOOR_M - 0.014), "#fff"
        )
        canvas.box(paper.at(inner, 0.0), paper.at(side * 0.97 * hole, -_FLOOR_M), "#fff", THIN_MM)


def _standpipe(canvas: Canvas, paper: Paper, kind: BedKind) -> None:
    parts, bottom = kind.parts, kind.siphon.outlet_level_m
    bore = parts.standpipe_bore_m / 2.0
    wall = _outside_m(parts.standpipe_outside_m, parts.standpipe_bore_m) / 2.0
    flare = parts.rim_diameter_m / 2.0 - bore
    crest = parts.standpipe_length_m
    for side in (-1.0, 1.0):
        canvas.box(
            paper.at(side * bore, crest - max(flare, 0.0)), paper.at(side * wall, bottom), GREY
        )
        if flare > 1e-6:
            canvas.shape(
                [
                    paper.at(side * bore, crest - flare),
                    paper.at(side * (bore + flare), crest),
                    paper.at(side * (wall + flare), crest),
                    paper.at(side * wall, crest - flare),
                ],
                GREY,
            )
    canvas.line(
        paper.at(0.0, kind.parts.bell_height_m + 0.02), paper.at(0.0, bottom - 0.01), THIN_MM,
        "4 1 1 1",
    )  # fmt: skip


def _bell(canvas: Canvas, paper: Paper, kind: BedKind) -> None:
    """Bell with a closed top, slots cut upward from its foot."""
    parts, foot = kind.parts, lift_m(kind)
    bore, top, slot = (
        parts.bell_bore_m / 2.0,
        foot + parts.bell_height_m,
        foot + parts.slot_height_m,
    )
    wall = _outside_m(parts.bell_outside_m, parts.bell_bore_m) / 2.0
    thick = wall - bore
    for side in (-1.0, 1.0):
        canvas.box(paper.at(side * bore, top + thick), paper.at(side * wall, slot), GREY)
        canvas.box(
            paper.at(side * bore, slot), paper.at(side * wall, foot), "#fff", THIN_MM, "0.7 0.5"
        )
    canvas.box(paper.at(-wall, top + thick), paper.at(wall, top), GREY)
    canvas.line(paper.at(-wall - 0.012, slot), paper.at(-bore, slot), THICK_MM)


def _heights(canvas: Canvas, paper: Paper, kind: BedKind, rule: Rule) -> None:
    """Upright dimensions: left what is cut, right what is set."""
    parts, siphon = kind.parts, kind.siphon
    crest, top, prime = parts.standpipe_length_m, kind.depth_m, siphon.prime_level_m
    bell = _outside_m(parts.bell_outside_m, parts.bell_bore_m) / 2.0
    pipe = _outside_m(parts.standpipe_outside_m, parts.standpipe_bore_m) / 2.0
    x, y = paper.x, paper.y
    edge, far = _edges(paper)
    canvas.upright(y(crest), y(0.0), 4.5, f"standpipe {rule.nearest(crest)}", x(-pipe))
    bell_words, foot = f"bell inside {rule.nearest(parts.bell_height_m)}", lift_m(kind)
    canvas.upright(y(foot + parts.bell_height_m), y(foot), 10.5, bell_words, x(-bell))
    slot = foot + parts.slot_height_m
    canvas.line((edge, y(slot)), paper.at(-bell, slot), THIN_MM)
    canvas.words((edge + 0.5, y(slot) - 0.7), f"slots {rule.nearest(parts.slot_height_m)}")
    under = f"{rule.nearest(top - crest)}|under rim"
    canvas.upright(y(top), y(crest), far + 1.5, under, far)
    canvas.line((x(pipe), y(crest)), (far + 1.5, y(crest)), THIN_MM)
    drop = -siphon.outlet_level_m
    canvas.upright(y(0.0), y(-drop), far + 1.5, f"{rule.nearest(drop)}|below", far)
    canvas.line((x(pipe), y(-drop)), (far + 1.5, y(-drop)), THIN_MM)
    canvas.words((far - 1.0, y(prime) + 3.4), f"starts at {rule.nearest(prime)}", "end")


def _edges(paper: Paper) -> tuple[float, float]:
    """Return how far the bed is drawn, left and right."""
    half = WIDE_MM / 2.0 - _SIDE_MM + 4.0
    return paper.middle_mm - half, paper.middle_mm + half


def _widths(canvas: Canvas, paper: Paper, kind: BedKind, rule: Rule) -> None:
    """Level dimensions: bell and guard over the drawing, bore and hole under it."""
    parts = kind.parts
    guard, bell = parts.guard_bore_m / 2.0, parts.bell_bore_m / 2.0
    top = paper.y(kind.depth_m)
    x = paper.x
    canvas.across(x(-guard), x(guard), top - 8.2, f"guard bore {rule.nearest(2 * guard)}", top)
    canvas.across(
        x(-bell), x(bell), top - 4.2, f"bell {rule.nearest(2 * bell)}", paper.y(parts.bell_height_m)
    )
    hole, bore = parts.bulkhead_hole_m / 2.0, parts.standpipe_bore_m / 2.0
    foot = paper.y(kind.siphon.outlet_level_m)
    canvas.across(x(-hole), x(hole), foot + 11.0, f"hole {rule.nearest(2 * hole)}", paper.y(-0.02))
    canvas.across(x(-bore), x(bore), foot + 5.5, f"bore {rule.nearest(2 * bore)}", foot)
