"""A bed cut across, to scale: container, medium, stand, inlet, siphon and the levels that matter.

The siphon is drawn in the middle; it may stand anywhere a hand can reach it. Legs and valve are
drawn at sizes of their own.
"""

from __future__ import annotations

from optimizer.pack.canvas import GREY, LINE_MM, PALE, THICK_MM, THIN_MM, Canvas
from optimizer.pack.lengths import Rule
from optimizer.pack.scale import Paper, scale_for
from optimizer.records.design import Bed, BedKind

WIDE_MM, HIGH_MM = 88.0, 118.0
_LEFT_MM, _RIGHT_MM, _TOP_MM, _FOOT_MM = 12.0, 22.0, 12.0, 16.0
_PIPE_MM = 1.6


def bed_section(kind: BedKind, bed: Bed, units: str) -> Canvas:
    """Return the drawing.

    Args:
        kind: the kind of bed.
        bed: a bed of that kind; its inlet's height over the floor is drawn.
        units: ``metric`` or ``us``.
    """
    canvas, rule = Canvas(WIDE_MM, HIGH_MM), Rule(units)
    inlet = bed.outlet_level_m - bed.floor_level_m
    high, low = max(inlet, kind.depth_m), min(-kind.stand_height_m, kind.siphon.outlet_level_m)
    scale = scale_for(
        kind.width_m, high - low, WIDE_MM - _LEFT_MM - _RIGHT_MM, HIGH_MM - _TOP_MM - _FOOT_MM
    )
    middle = _LEFT_MM + kind.width_m * 500.0 / scale
    paper = Paper(scale, middle, _TOP_MM + high * 1000.0 / scale)
    _stand(canvas, paper, kind)
    _container(canvas, paper, kind)
    _siphon(canvas, paper, kind)
    _inlet(canvas, paper, kind, inlet)
    _sizes(canvas, paper, kind, inlet, rule)
    canvas.words((1.0, 3.2), f"Bed across its width, 1 : {scale:g}")
    return canvas


def _stand(canvas: Canvas, paper: Paper, kind: BedKind) -> None:
    half, ground = kind.width_m / 2.0, -kind.stand_height_m
    for side in (-1.0, 1.0):
        edge = paper.x(side * half * 0.82)
        canvas.box((edge - 1.5, paper.y(0.0)), (edge + 1.5, paper.y(ground)), "#fff", THIN_MM)
    left, right = paper.x(-half) - 6.0, paper.x(half) + 6.0
    canvas.line((left, paper.y(ground)), (right, paper.y(ground)), THICK_MM)
    for i in range(int((right - left) / 3.0)):
        x = left + 3.0 * i
        canvas.line((x + 1.5, paper.y(ground)), (x, paper.y(ground) + 1.5), THIN_MM)


def _container(canvas: Canvas, paper: Paper, kind: BedKind) -> None:
    half, prime = kind.width_m / 2.0, kind.siphon.prime_level_m
    canvas.box(paper.at(-half, kind.depth_m), paper.at(half, 0.0), PALE, 0.0)
    canvas.box(paper.at(-half, prime), paper.at(half, 0.0), GREY, 0.0)
    canvas.line(paper.at(-half, prime), paper.at(half, prime), THIN_MM)
    canvas.water(paper.x(half) - 4.0, paper.y(prime))
    drain = kind.siphon.drain_level_m
    canvas.line(paper.at(-half, drain), paper.at(half, drain), THIN_MM, "1.6 1")
    for side in (-1.0, 1.0):
        canvas.line(paper.at(side * half, kind.depth_m), paper.at(side * half, 0.0), THICK_MM)
    canvas.line(paper.at(-half, 0.0), paper.at(half, 0.0), THICK_MM)


def _siphon(canvas: Canvas, paper: Paper, kind: BedKind) -> None:
    parts, out = kind.parts, kind.siphon.outlet_level_m
    guard, bell, pipe = (
        bore / 2.0 for bore in (parts.guard_bore_m, parts.bell_bore_m, parts.standpipe_bore_m)
    )
    canvas.box(paper.at(-guard, kind.depth_m), paper.at(guard, 0.0), "#fff", LINE_MM, "1.6 1")
    canvas.box(paper.at(-bell, parts.bell_height_m), paper.at(bell, 0.0), "#fff", LINE_MM)
    canvas.box(paper.at(-pipe, parts.standpipe_length_m), paper.at(pipe, out), GREY, LINE_MM)


def _inlet(canvas: Canvas, paper: Paper, kind: BedKind, inlet_m: float) -> None:
    """The drop pipe beside the bed, its valve, and the elbow down over the rim."""
    side, y = paper.x(-kind.width_m / 2.0) - 4.0, paper.y(inlet_m)
    inside = paper.x(-kind.width_m / 4.0)
    canvas.line((side, paper.y(-kind.stand_height_m) - 2.0), (side, y), _PIPE_MM)
    canvas.line((side, y), (inside, y), _PIPE_MM)
    canvas.line((inside, y - _PIPE_MM / 2.0), (inside, y + 2.0), _PIPE_MM)
    v = paper.y(0.3 * kind.depth_m)
    canvas.shape([(side - 1.8, v - 2.2), (side + 1.8, v - 2.2), (side, v)], "#fff", LINE_MM)
    canvas.shape([(side - 1.8, v + 2.2), (side + 1.8, v + 2.2), (side, v)], "#fff", LINE_MM)


def _sizes(canvas: Canvas, paper: Paper, kind: BedKind, inlet_m: float, rule: Rule) -> None:
    half, top, ground = kind.width_m / 2.0, kind.depth_m, -kind.stand_height_m
    x, y = paper.x, paper.y
    far = x(half)
    width = f"inside {rule.nearest(kind.width_m)}"
    foot = y(min(ground, kind.siphon.outlet_level_m))
    canvas.across(x(-half), far, foot + 9.0, width, y(ground) + 2.0)
    if inlet_m > top:
        gap = f"{rule.nearest(inlet_m - top)}|over rim"
        canvas.upright(y(inlet_m), y(top), far + 5.0, gap, far)
        canvas.line((x(-half / 2.0), y(inlet_m)), (far + 5.0, y(inlet_m)), THIN_MM, "1.6 1")
    canvas.upright(y(top), y(0.0), far + 5.0, f"{rule.nearest(top)}|deep", far)
    canvas.upright(y(0.0), y(ground), far + 5.0, f"{rule.nearest(-ground)}|stand", far)
    drop = -kind.siphon.outlet_level_m
    beside = x(kind.parts.guard_bore_m / 2.0)
    canvas.upright(y(0.0), y(-drop), beside, f"|{rule.nearest(drop)}|to outlet", x(0.0))
