"""Straight pieces along which pipe may run, and where they meet. Plan geometry only."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from optimizer.records.site import KeepOut, Point

SAME_PLACE_M = 1e-6
"""Points closer than this are one place (a micrometre: rounding, never a decision)."""


@dataclass(frozen=True)
class Segment:
    """A straight piece of a named run, from ``start`` to ``end``."""

    run: str
    start: Point
    end: Point

    @property
    def length_m(self) -> float:
        """Length in metres."""
        return math.dist(self.start, self.end)


def along(segment: Segment, share: float) -> Point:
    """Return the point a share (0 to 1) of the way along the segment."""
    (x0, y0), (x1, y1) = segment.start, segment.end
    return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))


def foot_share(segment: Segment, point: Point) -> float:
    """Return where along the segment (0 to 1) lies its nearest point to ``point``."""
    (x0, y0), (x1, y1) = segment.start, segment.end
    dx, dy = x1 - x0, y1 - y0
    square = dx * dx + dy * dy
    if square == 0.0:
        return 0.0
    share = ((point[0] - x0) * dx + (point[1] - y0) * dy) / square
    return min(1.0, max(0.0, share))


def nearest(segments: list[Segment], point: Point) -> tuple[int, float]:
    """Return the index of the segment nearest to ``point``, and the share along it."""
    shares = [foot_share(segment, point) for segment in segments]
    gaps = [
        math.dist(along(segment, share), point)
        for segment, share in zip(segments, shares, strict=True)
    ]
    index = min(range(len(segments)), key=lambda i: (round(gaps[i], 9), i))
    return index, shares[index]


def crossing(first: Segment, second: Segment) -> tuple[float, float] | None:
    """Return the shares at which two segments meet, or None (parallel pieces never cross)."""
    (ax, ay), (bx, by) = first.start, first.end
    (cx, cy), (dx, dy) = second.start, second.end
    rx, ry, sx, sy = bx - ax, by - ay, dx - cx, dy - cy
    cross = rx * sy - ry * sx
    if abs(cross) < SAME_PLACE_M * SAME_PLACE_M:
        return None
    t = ((cx - ax) * sy - (cy - ay) * sx) / cross
    u = ((cx - ax) * ry - (cy - ay) * rx) / cross
    slack_t = SAME_PLACE_M / max(first.length_m, SAME_PLACE_M)
    slack_u = SAME_PLACE_M / max(second.length_m, SAME_PLACE_M)
    if -slack_t <= t <= 1 + slack_t and -slack_u <= u <= 1 + slack_u:
        return min(1.0, max(0.0, t)), min(1.0, max(0.0, u))
    return None


def first_entered(segment: Segment, areas: Iterable[KeepOut]) -> KeepOut | None:
    """Return the first rectangle through whose inside the segment passes, if any."""
    return next((area for area in areas if enters(segment, area)), None)


def enters(segment: Segment, area: KeepOut) -> bool:
    """Return whether the segment passes through the inside of a rectangle.

    The segment is clipped to the rectangle axis by axis; what is left must have some length.
    """
    low, high = 0.0, 1.0
    for axis in (0, 1):
        start, delta = segment.start[axis], segment.end[axis] - segment.start[axis]
        least, most = sorted((area.low[axis], area.high[axis]))
        if abs(delta) < SAME_PLACE_M:
            if not least + SAME_PLACE_M < start < most - SAME_PLACE_M:
                return False
            continue
        near, far = sorted(((least - start) / delta, (most - start) / delta))
        low, high = max(low, near), min(high, far)
    return (high - low) * segment.length_m > SAME_PLACE_M
