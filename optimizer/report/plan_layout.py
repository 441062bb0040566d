"""The plan as shapes and words: corners in metres, words placed in pixels without overlap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from optimizer.records.design import Bed, BedKind, BuiltStretch, Design
from optimizer.report.labels import Box, Label, Placed, place, width_px
from optimizer.report.scales import Reader, rounded

Corner = tuple[float, float]
Leg = tuple[Corner, Corner]

MARGIN_SHARE = 0.05
MARGIN_PX = 34.0
FLATTEST, STEEPEST_WIDE, STEEPEST_NARROW = 0.22, 0.85, 2.2
NARROW_BELOW_PX = 600.0


@dataclass(frozen=True)
class Frame:
    """The part of the ground that is drawn, and how many pixels wide it is drawn."""

    left_m: float
    low_m: float
    right_m: float
    high_m: float
    width_px: float

    @property
    def px_per_m(self) -> float:
        """Pixels to a metre, the same both ways."""
        return self.width_px / (self.right_m - self.left_m)

    @property
    def ratio(self) -> float:
        """Height over width."""
        return (self.high_m - self.low_m) / (self.right_m - self.left_m)

    def to_px(self, point: Corner) -> Corner:
        """Return a point on the ground in pixels, y downward."""
        return (point[0] - self.left_m) * self.px_per_m, (self.high_m - point[1]) * self.px_per_m

    def to_m(self, x_px: float, y_px: float) -> Corner:
        """Return the point on the ground at a pixel."""
        return self.left_m + x_px / self.px_per_m, self.high_m - y_px / self.px_per_m

    @property
    def box(self) -> Box:
        """The picture in pixels."""
        return Box(0.0, 0.0, self.width_px, self.width_px * self.ratio)


def bed_corners(bed: Bed, kind: BedKind) -> tuple[Corner, ...]:
    """Return a bed's four corners; its length lies along ``bed.along``."""
    (ax, ay), half_l, half_w = bed.along, kind.length_m / 2.0, kind.width_m / 2.0
    turns = ((1, 1), (1, -1), (-1, -1), (-1, 1))
    return tuple(
        (
            bed.x_m + s * half_l * ax - t * half_w * ay,
            bed.y_m + s * half_l * ay + t * half_w * ax,
        )
        for s, t in turns
    )


def sump_corners(design: Design) -> tuple[Corner, ...]:
    """Return the sump's corners, drawn as a square of its whole area."""
    sump = design.sump
    half = math.sqrt(sump.area_m2 * sump.count) / 2.0
    return tuple((sump.x_m + s * half, sump.y_m + t * half) for s, t in _SQUARE)


_SQUARE = ((1, 1), (1, -1), (-1, -1), (-1, 1))


def frame_of(design: Design, width_px: float) -> Frame:
    """Return a frame around everything built, with room for words and the scale bar."""
    kinds = {kind.id: kind for kind in design.kinds}
    points = [c for bed in design.beds for c in bed_corners(bed, kinds[bed.kind])]
    points += sump_corners(design)
    points += [(p[0], p[1]) for s in design.stretches for p in s.points]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    wide, tall = max(xs) - min(xs), max(ys) - min(ys)
    pad = max(MARGIN_SHARE * max(wide, tall), MARGIN_PX * wide / width_px)
    steepest = STEEPEST_NARROW if width_px < NARROW_BELOW_PX else STEEPEST_WIDE
    wide, tall = wide + 2.0 * pad, tall + 2.5 * pad
    wide = max(wide, tall / steepest)
    tall = max(tall, wide * FLATTEST)
    x, y = (max(xs) + min(xs)) / 2.0, (max(ys) + min(ys)) / 2.0 - 0.25 * pad
    return Frame(x - wide / 2.0, y - tall / 2.0, x + wide / 2.0, y + tall / 2.0, width_px)


def scale_bar_m(frame: Frame, units: str) -> float:
    """Return a round length that takes up to a quarter of the picture: 1, 2 or 5 times a ten."""
    step = 0.3048 if units == "us" else 1.0
    room = (frame.right_m - frame.left_m) / 4.0 / step
    ten = 10.0 ** math.floor(math.log10(room))
    return step * ten * max(n for n in (1, 2, 5) if n * ten <= room)


def text_px(frame: Frame) -> float:
    """Return the size of words on the plan."""
    return 10.0 if frame.width_px < NARROW_BELOW_PX else 12.0


def words_on_plan(design: Design, frame: Frame) -> list[Placed]:
    """Return every word on the plan, placed: beds first, then sump, levels, pipes."""
    size = text_px(frame)
    beds = place(_bed_labels(design, frame, size), [], frame.box)
    taken = [_bar_box(frame), *(word.box for word in beds)]
    taken += [*_bed_boxes(design, frame), *_pipe_boxes(design, frame)]
    rest = [
        _sump_label(design, frame, size),
        *_level_labels(design, frame, size),
        *_pipe_labels(design, frame, size),
    ]
    return beds + place(rest, taken, frame.box)


def _bar_box(frame: Frame) -> Box:
    box = frame.box
    return Box(0.0, box.bottom - 34.0, box.right * 0.35, box.bottom)


def _bed_boxes(design: Design, frame: Frame) -> list[Box]:
    kinds = {kind.id: kind for kind in design.kinds}
    return [_around([frame.to_px(c) for c in bed_corners(b, kinds[b.kind])]) for b in design.beds]


def _pipe_boxes(design: Design, frame: Frame) -> list[Box]:
    """Boxes around level and upright legs; a slanting leg's box would cover what it does not."""
    legs = [leg for s in design.stretches for leg in pairwise((p[0], p[1]) for p in s.points)]
    ends = [(frame.to_px(a), frame.to_px(b)) for a, b in legs]
    straight = [e for e in ends if min(abs(e[0][0] - e[1][0]), abs(e[0][1] - e[1][1])) < 1.0]
    return [_around(e, 3.0) for e in straight]


def _around(points: Sequence[Corner], margin: float = 0.0) -> Box:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Box(min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin)


def _bed_labels(design: Design, frame: Frame, size: float) -> list[Label]:
    kinds = {kind.id: kind for kind in design.kinds}
    spots = [_bed_places(bed, kinds[bed.kind], frame) for bed in design.beds]
    ids = [bed.id for bed in design.beds]
    if not all(_fits(name, spot[2], size) for name, spot in zip(ids, spots, strict=True)):
        ids = [str(number) for number in range(1, len(ids) + 1)]
    return [
        Label((name,), _turned(name, spot, size), size)
        for name, spot in zip(ids, spots, strict=True)
    ]


def _bed_places(bed: Bed, kind: BedKind, frame: Frame) -> tuple[Corner, Corner, Corner]:
    """Return a bed's middle, the middle of its free half, and its size, all in pixels."""
    box = _around([frame.to_px(c) for c in bed_corners(bed, kind)])
    middle = frame.to_px((bed.x_m, bed.y_m))
    wide, tall = box.right - box.left, box.bottom - box.top
    shift = (wide / 4.0, 0.0) if tall > wide else (0.0, -tall / 4.0)
    return middle, (middle[0] + shift[0], middle[1] + shift[1]), (wide, tall)


def _fits(name: str, room: Corner, size: float) -> bool:
    return width_px(name, size) <= max(room) - 4.0


def _turned(
    name: str, spot: tuple[Corner, Corner, Corner], size: float
) -> tuple[tuple[float, float, float], ...]:
    """Return places for a bed's name: level in its free half if it fits, else upright."""
    middle, half, (wide, tall) = spot
    level_room = wide / 2.0 if tall > wide else wide
    first = 0.0 if width_px(name, size) <= level_room - 2.0 else 270.0
    return ((*half, first), (*middle, 0.0), (*middle, 270.0))


def _sump_label(design: Design, frame: Frame, size: float) -> Label:
    reader = Reader(design.units)
    riser = next((s for s in design.stretches if s.kind == "riser"), None)
    floor = f"sump, floor at {reader.level(design.sump.floor_level_m)}"
    pipe = f", riser {riser.nominal} {reader.text('flow', riser.flow_m3_s)}" if riser else ""
    box = _around([frame.to_px(c) for c in sump_corners(design)])
    x, gap = (box.left + box.right) / 2.0, size
    variants = (f"{floor}{pipe}", floor, "sump")
    half = width_px(variants[0], size) / 2.0
    lefts = [x, max(x, half + 2.0), box.left + half, box.right - half]
    heights = (box.bottom + gap, box.top - gap, box.bottom + 2.4 * gap)
    return Label(variants, tuple((left, y, 0.0) for y in heights for left in lefts), size)


def pipe_groups(design: Design) -> list[list[BuiltStretch]]:
    """Return runs of header and lateral pipe of one size, each in the order of the water."""
    pipes = [s for s in design.stretches if s.kind not in ("drop", "riser")]
    ordered = sorted(enumerate(pipes), key=lambda item: (_run(item[1]), item[0]))
    grouped = groupby((s for _, s in ordered), key=lambda s: (_run(s), s.nominal))
    return [list(group) for _, group in grouped]


def _run(stretch: BuiltStretch) -> tuple[str, str]:
    return stretch.kind, stretch.row or ""


def _pipe_labels(design: Design, frame: Frame, size: float) -> list[Label]:
    reader = Reader(design.units)
    groups = sorted(pipe_groups(design), key=lambda g: -sum(s.length_m for s in g))
    beside = _half_bed_px(design, frame)
    return [_pipe_label(group, frame, reader, size, beside) for group in groups]


def _half_bed_px(design: Design, frame: Frame) -> float:
    """Half the width of the widest bed: how far a label stands off to clear a row."""
    return max(kind.width_m for kind in design.kinds) / 2.0 * frame.px_per_m


def _pipe_label(
    group: Sequence[BuiltStretch], frame: Frame, reader: Reader, size: float, beside: float
) -> Label:
    name, flows = group[0].nominal, [s.flow_m3_s for s in group]
    high, low = max(flows), min(flows)
    same = rounded(reader.number("flow", high)) == rounded(reader.number("flow", low))
    flow = reader.text("flow", high) if same else reader.span("flow", high, low)
    legs = [_longest_leg(s) for s in group]
    offs = (0.5 * size + 8.0, beside + 0.7 * size)
    places = [spot for off in offs for leg in legs for spot in _beside(leg, frame, off)]
    return Label((f"{name}, {flow}", name), tuple(places), size)


def _longest_leg(stretch: BuiltStretch) -> Leg:
    legs = pairwise((p[0], p[1]) for p in stretch.points)
    return max(legs, key=lambda leg: math.dist(*leg))


def _beside(leg: Leg, frame: Frame, off: float) -> list[tuple[float, float, float]]:
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
    reader, kinds = Reader(design.units), {kind.id: kind for kind in design.kinds}
    groups: dict[tuple[str, str, float], list[Bed]] = {}
    for bed in design.beds:
        groups.setdefault((bed.row, bed.kind, round(bed.floor_level_m, 3)), []).append(bed)
    return [
        _level_label((kinds[kind].label, f"floor {reader.level(level)}"), beds, kinds, frame, size)
        for (_, kind, level), beds in groups.items()
    ]


def _level_label(
    words: tuple[str, str],
    beds: Sequence[Bed],
    kinds: dict[str, BedKind],
    frame: Frame,
    size: float,
) -> Label:
    box = _around([frame.to_px(c) for bed in beds for c in bed_corners(bed, kinds[bed.kind])])
    x, y, gap = (box.right + box.left) / 2.0, (box.bottom + box.top) / 2.0, 0.8 * size
    places = (
        (x, box.top - gap, 0.0),
        (x, box.bottom + gap, 0.0),
        (box.right + gap, y, 270.0),
        (box.left - gap, y, 270.0),
    )
    return Label((", ".join(words), words[1], words[1].removeprefix("floor ")), places, size)
