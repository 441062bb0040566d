"""Small things a shop sells that a design has no price for: couplings, clips, glue, tape."""

from __future__ import annotations

import math
from collections.abc import Sequence

from optimizer.pack.lengths import Rule
from optimizer.pack.needs import Need
from optimizer.pack.pieces import PipeCuts
from optimizer.pack.shopping_line import Line
from optimizer.records.design import Design
from optimizer.report.scales import counted

CLIP_SPACING_M = 0.9
"""Greatest distance between pipe clips (common practice, no source: 3 ft for small pipe)."""

SOCKETS = {
    "elbow_90": 2,
    "elbow_45": 2,
    "tee": 3,
    "reducer": 2,
    "union": 2,
    "cap": 1,
    "adapter": 1,
    "clean_out": 1,
    "strainer": 1,
    "non_return_valve": 2,
    "bulkhead": 1,
}
"""Joints to glue or weld at one fitting (common practice: one for each socket)."""

GLUED = ("pvc",)
NO_PRICE = "no price in the catalog"


def small_lines(design: Design, needs: Sequence[Need], cuts: Sequence[PipeCuts]) -> list[Line]:
    """Return couplings, clips, joints to make and tape, by size where they have one."""
    lines: list[Line] = []
    rule = Rule(design.units)
    for each in cuts:
        label = each.part.nominal
        if each.joined:
            lines.append(_line(f"coupling {label}", each.joined, "pieces longer than a stick"))
        clips = sum(_clips(piece.length_m) for piece in each.pieces)
        lines.append(
            _line(f"pipe clip {label}", clips, f"every {rule.long(CLIP_SPACING_M)} at most")
        )
    lines += _joint_lines(design, needs, cuts)
    return lines


def _clips(length_m: float) -> int:
    """Return the clips of one piece: spaced evenly, at least one."""
    return max(1, math.ceil(length_m / CLIP_SPACING_M - 1e-9))


def _joint_lines(design: Design, needs: Sequence[Need], cuts: Sequence[PipeCuts]) -> list[Line]:
    valves = sum(not bed.valve_standing for bed in design.beds)
    sockets = sum(SOCKETS.get(need.kind, 2) * need.count for need in needs)
    joints = sockets + 2 * valves + 2 * sum(each.joined for each in cuts)
    materials = {stretch.material.lower() for stretch in design.stretches}
    glued = any(material.startswith(GLUED) for material in materials)
    what = "primer and cement for plastic pipe" if glued else "the joints of your kind of pipe"
    threads = sum(need.count for need in needs if need.kind == "adapter") + valves
    sets = (
        (what, f"enough for {counted(joints, 'joint')}"),
        ("thread tape", counted(threads, "thread")),
    )
    return [Line("Small things", name, "", 1, "set", None, None, note=note) for name, note in sets]


def _line(what: str, count: int, note: str) -> Line:
    return Line("Small things", what, "", count, "piece", None, None, note=f"{note}; {NO_PRICE}")
