"""Rectangles and straight pieces on the ground, in metres."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

Corner = tuple[float, float]
Leg = tuple[Corner, Corner]

_TURNS = ((1, 1), (1, -1), (-1, -1), (-1, 1))


def rectangle(middle: Corner, along: Corner, length: float, width: float) -> tuple[Corner, ...]:
    """Return the four corners of a rectangle whose length lies along a unit vector."""
    (x, y), (ax, ay), half_l, half_w = middle, along, length / 2.0, width / 2.0
    return tuple(
        (x + s * half_l * ax - t * half_w * ay, y + s * half_l * ay + t * half_w * ax)
        for s, t in _TURNS
    )


def legs(points: Iterable[Sequence[float]]) -> list[Leg]:
    """Return the straight pieces of a route in plan; upright ones are points there."""
    return list(pairwise((p[0], p[1]) for p in points))


def half_extent(along: Corner, length: float, width: float, across: Corner) -> float:
    """Return how far a rectangle reaches from its middle in the direction of a unit vector."""
    (ax, ay), (nx, ny) = along, across
    return (length * abs(ax * nx + ay * ny) + width * abs(ax * ny - ay * nx)) / 2.0


def length_inside(leg: Leg, low: Corner, high: Corner) -> float:
    """Return how much of a straight piece lies inside an upright rectangle (clipped by sides)."""
    (x0, y0), (x1, y1) = leg
    enter, leave = 0.0, 1.0
    for start, step, least, most in (
        (x0, x1 - x0, low[0], high[0]),
        (y0, y1 - y0, low[1], high[1]),
    ):
        if step == 0.0:
            if not least < start < most:
                return 0.0
            continue
        ends = sorted(((least - start) / step, (most - start) / step))
        enter, leave = max(enter, ends[0]), min(leave, ends[1])
    whole = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    return float(max(0.0, leave - enter) * whole)
