"""The ground as drawn: what part of it, at what scale, and the shapes of beds on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.records.design import Bed, BedKind, Design
from optimizer.report.labels import Box
from optimizer.report.plan_key import key_height_px, key_of
from optimizer.report.plan_sump import sump_tanks
from optimizer.report.shapes import Corner, rectangle

MARGIN_SHARE = 0.05
MARGIN_PX = 34.0
FLATTEST, STEEPEST_WIDE, STEEPEST_NARROW = 0.22, 0.85, 2.2
NARROW_BELOW_PX = 600.0
PIPE_DOMAIN_M = (0.012, 0.11)
PIPE_RANGE_PX = {False: (1.5, 9.0), True: (0.9, 5.4)}
"""Bores and how thick they are drawn, on a wide plan and on a narrow one; wider bores no more."""


@dataclass(frozen=True)
class Frame:
    """The part of the ground that is drawn, and how many pixels wide it is drawn.

    The lowest ``key_px`` belong to the key: nothing else is drawn there.
    """

    left_m: float
    low_m: float
    right_m: float
    high_m: float
    width_px: float
    key_px: float = 0.0

    @property
    def px_per_m(self) -> float:
        """Pixels to a metre, the same both ways."""
        return self.width_px / (self.right_m - self.left_m)

    @property
    def ratio(self) -> float:
        """Height over width."""
        return (self.high_m - self.low_m) / (self.right_m - self.left_m)

    @property
    def narrow(self) -> bool:
        """Whether it is drawn for a phone."""
        return self.width_px < NARROW_BELOW_PX

    def to_px(self, point: Corner) -> Corner:
        """Return a point on the ground in pixels, y downward."""
        return (point[0] - self.left_m) * self.px_per_m, (self.high_m - point[1]) * self.px_per_m

    def to_m(self, x_px: float, y_px: float) -> Corner:
        """Return the point on the ground at a pixel."""
        return self.left_m + x_px / self.px_per_m, self.high_m - y_px / self.px_per_m

    def box_of(self, points: Sequence[Corner], margin_px: float = 0.0) -> Box:
        """Return the box in pixels around points on the ground."""
        return around([self.to_px(point) for point in points], margin_px)

    @property
    def box(self) -> Box:
        """The picture in pixels, without the key."""
        return Box(0.0, 0.0, self.width_px, self.width_px * self.ratio - self.key_px)


def around(points: Sequence[Corner], margin: float = 0.0) -> Box:
    """Return the box around points, with a margin."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Box(min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin)


def bed_corners(bed: Bed, kind: BedKind) -> tuple[Corner, ...]:
    """Return a bed's four corners; its length lies along ``bed.along``."""
    return rectangle((bed.x_m, bed.y_m), bed.along, kind.length_m, kind.width_m)


def frame_of(design: Design, width_px: float) -> Frame:
    """Return a frame around everything built, with room for words and the scale bar."""
    kinds = {kind.id: kind for kind in design.kinds}
    points = [c for bed in design.beds for c in bed_corners(bed, kinds[bed.kind])]
    points += [c for tank in sump_tanks(design).corners for c in tank]
    points += [(p[0], p[1]) for s in design.stretches for p in s.points]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    wide, tall = max(xs) - min(xs), max(ys) - min(ys)
    pad = max(MARGIN_SHARE * max(wide, tall), MARGIN_PX * wide / width_px)
    steepest = STEEPEST_NARROW if width_px < NARROW_BELOW_PX else STEEPEST_WIDE
    wide, tall = wide + 2.0 * pad, tall + 2.5 * pad
    wide = max(wide, tall / steepest)
    tall = max(tall, wide * FLATTEST)
    x, y = (max(xs) + min(xs)) / 2.0, (max(ys) + min(ys)) / 2.0 - 0.25 * pad
    key = key_height_px(key_of(design, width_px, text_px(width_px)))
    low = y - tall / 2.0 - key * wide / width_px
    return Frame(x - wide / 2.0, low, x + wide / 2.0, y + tall / 2.0, width_px, key)


def scale_bar_m(frame: Frame, units: str) -> float:
    """Return a round length that takes up to a quarter of the picture: 1, 2 or 5 times a ten."""
    step = 0.3048 if units == "us" else 1.0
    room = (frame.right_m - frame.left_m) / 4.0 / step
    ten = 10.0 ** math.floor(math.log10(room))
    return step * ten * max(n for n in (1, 2, 5) if n * ten <= room)


def text_px(width_px: float) -> float:
    """Return the size of words on a plan of a width."""
    return 10.0 if width_px < NARROW_BELOW_PX else 12.0


def line_px(bore_m: float, frame: Frame) -> float:
    """Return how thick a pipe is drawn."""
    (low, high), (thin, thick) = PIPE_DOMAIN_M, PIPE_RANGE_PX[frame.narrow]
    share = min(max((bore_m - low) / (high - low), 0.0), 1.0)
    return thin + share * (thick - thin)
