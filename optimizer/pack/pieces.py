"""Straight pieces of pipe between fittings, and the sticks they are cut from."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from optimizer.candidates.tree import STRAIGHT_RAD
from optimizer.milp.cutting_stock import CuttingPlan, cutting_plan
from optimizer.pack.lengths import Rule
from optimizer.pack.needs import Size, angle_rad, pipes_by_size
from optimizer.records.design import BuiltDrain, BuiltStretch, Design, Point3
from optimizer.records.header_tank import TANK
from optimizer.records.shelf import ShelfPart

KERF_M = 0.003
"""What one saw cut takes (assumption: a hand or mitre saw takes 2 to 3 mm)."""

OVERFLOW = "overflow of the tank"

HAIR_M = 1e-6
"""A piece no longer than this is rounding of arithmetic, none to cut."""


@dataclass(frozen=True)
class Piece:
    """A straight piece, centre to centre of the fittings at its ends."""

    pipe: str
    length_m: float
    stretch: str


@dataclass(frozen=True)
class PipeCuts:
    """All pieces of one pipe and how to cut them.

    Attributes:
        part: the pipe on the shelf.
        pieces: every piece.
        plan: the cutting plan, in steps of the builder's rule.
        joined: couplings for pieces longer than a stick.
    """

    part: ShelfPart
    pieces: tuple[Piece, ...]
    plan: CuttingPlan
    joined: int

    @property
    def length_m(self) -> float:
        """Pipe laid."""
        return math.fsum(piece.length_m for piece in self.pieces)

    @property
    def bought_m(self) -> float:
        """Pipe bought, in whole sticks."""
        return self.plan.count * self.part.stock_length_m


def pieces_of(design: Design) -> list[Piece]:
    """Return every piece of new pipe, supply and return; pipe already there has none."""
    supply = (p for s in design.stretches if not s.standing for p in _of_stretch(s))
    returns = (p for d in design.drains if not d.standing for p in _of_drain(d))
    return [*supply, *returns, *_of_overflow(design)]


def cuts_of(design: Design, kerf_m: float = KERF_M) -> list[PipeCuts]:
    """Return how to cut every pipe of a design from whole sticks, widest pipe last.

    A piece longer than a stick takes whole sticks and a rest, joined by couplings.

    Args:
        design: a design with its shelf.
        kerf_m: what one saw cut takes, 0 or more.
    """
    by_pipe: dict[str, list[Piece]] = {}
    for piece in pieces_of(design):
        by_pipe.setdefault(piece.pipe, []).append(piece)
    parts = {p.id: p for p in design.shelf if p.table == "pipes"}
    rule = Rule(design.units)
    order = sorted(by_pipe, key=lambda name: (parts[name].series, parts[name].outside_m))
    return [_cuts(parts[name], by_pipe[name], rule, kerf_m) for name in order]


def kit_cuts_of(design: Design, kerf_m: float = KERF_M) -> list[PipeCuts]:
    """Return how to cut standpipes, bells and guards, for those who make the kits themselves.

    A standpipe reaches from its rim down to the siphon's outlet; a guard as high as the bed. A
    guard that is a basket is no pipe, and a siphon that stands is not made again.

    Args:
        design: a design with its shelf.
        kerf_m: what one saw cut takes, 0 or more.
    """
    pipes = pipes_by_size(design)
    series = {p.id: p.series for p in design.shelf if p.table == "kits"}
    kinds = {kind.id: kind for kind in design.kinds}
    by_pipe: dict[str, list[Piece]] = {}
    parts: dict[str, ShelfPart] = {}
    for bed in (bed for bed in design.beds if not bed.siphon_standing):
        kind = kinds[bed.kind]
        sizes = kind.parts
        for what, nominal, length_m in (
            ("standpipe", sizes.standpipe, sizes.standpipe_length_m - kind.siphon.outlet_level_m),
            ("bell", sizes.bell, sizes.bell_height_m),
            ("guard", sizes.guard, kind.depth_m),
        ):
            part = pipes.get(Size(series[kind.kit], nominal))
            if part is not None:
                parts[part.id] = part
                piece = Piece(part.id, length_m, f"{what} {bed.id}")
                by_pipe.setdefault(part.id, []).append(piece)
    rule = Rule(design.units)
    order = sorted(parts.values(), key=lambda part: (part.series, part.outside_m))
    return [_cuts(part, by_pipe[part.id], rule, kerf_m) for part in order]


def _cuts(part: ShelfPart, pieces: Sequence[Piece], rule: Rule, kerf_m: float) -> PipeCuts:
    stock, kerf = rule.steps_down(part.stock_length_m), rule.steps_up(kerf_m)
    demand: Counter[int] = Counter()
    joined = 0
    for piece in pieces:
        whole, rest = divmod(rule.steps_up(piece.length_m), stock)
        demand[stock] += whole
        demand[rest] += int(rest > 0)
        joined += max(0, whole + int(rest > 0) - 1)
    plan = cutting_plan({length: n for length, n in demand.items() if length and n}, stock, kerf)
    return PipeCuts(part, tuple(pieces), plan, joined)


def _of_stretch(stretch: BuiltStretch) -> Iterator[Piece]:
    if stretch.kind == "drop":
        low, high = stretch.points[0], stretch.points[-1]
        rise = abs(high[2] - low[2])
        lengths = [rise, stretch.length_m - rise]
    else:
        lengths = _closed(straight_lengths_m(stretch.points), stretch.length_m)
    yield from (Piece(stretch.pipe, each, stretch.id) for each in lengths if each > HAIR_M)


def _of_drain(drain: BuiltDrain) -> Iterator[Piece]:
    plan = tuple((x, y, 0.0) for x, y, _ in drain.points)
    lengths = _closed(straight_lengths_m(plan), drain.length_m)
    yield from (Piece(drain.pipe, each, drain.id) for each in lengths if each > HAIR_M)


def _of_overflow(design: Design) -> Iterator[Piece]:
    """Yield the pieces of a tank's overflow, which runs down beside its riser."""
    if design.tank is None:
        return
    riser = next(s for s in design.stretches if s.head == TANK)
    lengths = _closed(straight_lengths_m(riser.points), design.tank.overflow_length_m)
    pipe = design.tank.overflow_pipe
    yield from (Piece(pipe, each, OVERFLOW) for each in lengths if each > HAIR_M)


def straight_lengths_m(points: Sequence[Point3]) -> list[float]:
    """Return the lengths between a route's turns; a rise counts beside the way in plan."""
    lengths: list[float] = []
    heading: Point3 | None = None
    for a, b in pairwise(points):
        length = math.dist(a[:2], b[:2]) + abs(b[2] - a[2])
        straight = math.dist(a, b)
        if straight == 0.0:
            continue
        x, y, z = ((q - p) / straight for p, q in zip(a, b, strict=True))
        if heading is not None and angle_rad(heading, (x, y, z)) < STRAIGHT_RAD:
            lengths[-1] += length
        else:
            lengths.append(length)
        heading = (x, y, z)
    return lengths


def _closed(lengths: list[float], total_m: float) -> list[float]:
    """Return the lengths with the last one such that they add up to the stretch's own."""
    if not lengths:
        return [total_m]
    return [*lengths[:-1], total_m - math.fsum(lengths[:-1])]
