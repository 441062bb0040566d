"""Where the sump's tanks are drawn: squares of their true area, side by side.

A tank's sides are not known, only its area, and a site file says where the pump stands, not how
the tanks lie beside it. Of all rows and columns of squares with the pump in the first, the one is
drawn that covers least bed, then least pipe, and makes the plan grow least.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from optimizer.records.design import Design
from optimizer.report.shapes import Corner, Leg, legs, length_inside, rectangle

EDGE_SHARE = 0.12
"""How far from a side of its tank the pump is drawn, as a share of the side."""

GAP_SHARE = 0.06
"""Gap between tanks, as a share of a tank's side."""

BED_WEIGHT, PIPE_WEIGHT = 1000.0, 10.0

PLACED_KEPT = 64
"""Placings kept: a page asks for a design's tanks many times, and for many designs alike."""


@dataclass(frozen=True)
class Tanks:
    """Corners of every tank, the pump's first; ``clear`` where none lies over a bed."""

    corners: tuple[tuple[Corner, ...], ...]
    clear: bool

    @property
    def every(self) -> list[Corner]:
        """All corners of all tanks."""
        return [corner for tank in self.corners for corner in tank]

    def hold(self, point: Corner) -> bool:
        """Whether a point lies in a tank."""
        ends = ((tank[2], tank[0]) for tank in self.corners)
        return any(
            low[0] <= point[0] <= high[0] and low[1] <= point[1] <= high[1] for low, high in ends
        )


@dataclass(frozen=True)
class _Ground:
    """What tanks should keep clear of, as upright rectangles (low, high) and pieces of pipe."""

    beds: tuple[tuple[Corner, Corner], ...]
    pipes: tuple[Leg, ...]
    low: Corner
    high: Corner


def sump_tanks(design: Design) -> Tanks:
    """Return the tanks as drawn."""
    sump = design.sump
    return _placed(sump.count, math.sqrt(sump.area_m2), (sump.x_m, sump.y_m), _ground(design))


@lru_cache(maxsize=PLACED_KEPT)
def _placed(count: int, side: float, pump: Corner, ground: _Ground) -> Tanks:
    shares = (EDGE_SHARE, 0.5, 1.0 - EDGE_SHARE)
    choices = [
        [_square(pump, side, (u, v), step) for step in layout]
        for layout, u, v in product(_layouts(count), shares, shares)
    ]
    best = min(choices, key=lambda middles: _cost(middles, side, ground))
    corners = tuple(rectangle(middle, (1.0, 0.0), side, side) for middle in best)
    return Tanks(corners, _covered(best, side, ground) <= 0.0)


def _layouts(count: int) -> list[list[tuple[int, int]]]:
    """Return places of tanks in whole steps from the first, as rows, columns and double rows."""
    found = []
    for deep in (1, 2) if count > 3 else (1,):
        places = [(i // deep, i % deep) for i in range(count)]
        for sx, sy in product((1, -1), (1, -1)):
            found.append([(sx * a, sy * b) for a, b in places])
            found.append([(sx * b, sy * a) for a, b in places])
    return found


def _square(pump: Corner, side: float, shares: Corner, step: tuple[int, int]) -> Corner:
    """Return the middle of a tank: the pump stands at these shares of the first one's sides."""
    pitch = (1.0 + GAP_SHARE) * side
    x = pump[0] + (0.5 - shares[0]) * side + step[0] * pitch
    return x, pump[1] + (0.5 - shares[1]) * side + step[1] * pitch


def _ground(design: Design) -> _Ground:
    kinds = {kind.id: kind for kind in design.kinds}
    boxes, every = [], [(design.sump.x_m, design.sump.y_m)]
    for bed in design.beds:
        kind = kinds[bed.kind]
        corners = rectangle((bed.x_m, bed.y_m), bed.along, kind.length_m, kind.width_m)
        boxes.append(_ends(corners))
        every += corners
    routes = [s.points for s in design.stretches] + [d.points for d in design.drains]
    every += [(p[0], p[1]) for points in routes for p in points]
    pipes = tuple(leg for points in routes for leg in legs(points))
    return _Ground(tuple(boxes), pipes, *_ends(every))


def _ends(points: list[Corner] | tuple[Corner, ...]) -> tuple[Corner, Corner]:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys)), (max(xs), max(ys))


def _cost(middles: list[Corner], side: float, ground: _Ground) -> float:
    tanks = [_reach(middle, side) for middle in middles]
    pipe = sum(length_inside(leg, low, high) for leg in ground.pipes for low, high in tanks)
    low, high = _ends([ground.low, ground.high, *(c for tank in tanks for c in tank)])
    grown = (high[0] - low[0]) * (high[1] - low[1])
    return BED_WEIGHT * _covered(middles, side, ground) + PIPE_WEIGHT * pipe + grown


def _covered(middles: list[Corner], side: float, ground: _Ground) -> float:
    """Return how much bed the tanks lie over."""
    tanks = [_reach(middle, side) for middle in middles]
    return sum(_shared(tank, bed) for tank in tanks for bed in ground.beds)


def _reach(middle: Corner, side: float) -> tuple[Corner, Corner]:
    x, y = middle
    return (x - side / 2.0, y - side / 2.0), (x + side / 2.0, y + side / 2.0)


def _shared(one: tuple[Corner, Corner], two: tuple[Corner, Corner]) -> float:
    (low, high), (least, most) = one, two
    wide = min(high[0], most[0]) - max(low[0], least[0])
    tall = min(high[1], most[1]) - max(low[1], least[1])
    return max(0.0, wide) * max(0.0, tall)
