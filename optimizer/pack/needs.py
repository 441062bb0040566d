"""The fittings a supply needs where it turns, branches, changes size and ends, node by node.

This counts what a builder puts in, from the network as built. The design's own price counts by
simple rules (A9): a reducer at every tee outlet, a tee for every branch that could have been built.
The shopping list shows where the two differ.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from optimizer.candidates.tree import HALF_ELBOW_RAD, STRAIGHT_RAD
from optimizer.formulate.stretch_ways import NO_PART, TEE_OUTLETS
from optimizer.records.design import BuiltStretch, Design, Point3
from optimizer.records.header_tank import TANK
from optimizer.records.shelf import ShelfPart


@dataclass(frozen=True)
class Size:
    """A size of a range of pipe."""

    series: str
    nominal: str


@dataclass(frozen=True)
class Need:
    """A number of one fitting.

    Attributes:
        kind: the kind of fitting.
        size: its size; what the shop's price goes by.
        count: how many.
        at: the node or stretch it belongs to.
        other: the other size of a reducer or adapter; None for all else.
    """

    kind: str
    size: Size
    count: int
    at: str
    other: Size | None = None


def pipe_sizes(design: Design) -> dict[str, Size]:
    """Return the size of every pipe on the shelf, by its id."""
    return {p.id: Size(p.series, p.nominal) for p in design.shelf if p.table == "pipes"}


def pipes_by_size(design: Design) -> dict[Size, ShelfPart]:
    """Return every pipe on the shelf by its size."""
    return {Size(p.series, p.nominal): p for p in design.shelf if p.table == "pipes"}


def fittings_on_shelf(design: Design) -> dict[tuple[str, Size], ShelfPart]:
    """Return every fitting on the shelf by kind and size."""
    return {(p.kind, Size(p.series, p.nominal)): p for p in design.shelf if p.table == "fittings"}


def supply_needs(design: Design) -> list[Need]:
    """Return every fitting of the supply, pump joints included."""
    sizes = pipe_sizes(design)
    ending, leaving = _meeting(design.stretches)
    needs = [*_pump_needs(design, sizes), *_overflow_needs(design, sizes)]
    for stretch in design.stretches:
        needs += _own_needs(stretch, sizes[stretch.pipe])
        if stretch.id in ending:
            needs += _end_needs(stretch, leaving.get(stretch.head, []), sizes)
    return needs


def _meeting(
    stretches: Sequence[BuiltStretch],
) -> tuple[set[str], dict[str, list[BuiltStretch]]]:
    """Return the stretches whose end is counted with them, and by node what else meets there.

    Where both sides of a ring meet, the tee goes with the first; the other joins it like a pipe
    that leaves there.
    """
    ending: dict[str, str] = {}
    meeting: dict[str, list[BuiltStretch]] = {}
    for stretch in stretches:
        meeting.setdefault(stretch.tail, []).append(stretch)
        if stretch.kind != "drop" and ending.setdefault(stretch.head, stretch.id) != stretch.id:
            meeting.setdefault(stretch.head, []).append(stretch)
    return set(ending.values()), meeting


def _pump_needs(design: Design, sizes: Mapping[str, Size]) -> Iterator[Need]:
    """Yield what joins the pumps to the pipe: an adapter each; side by side also tees and valves.

    Without a valve of its own a pump that stands still lets the others' water back.
    """
    count = design.pump.count
    for stretch in design.stretches:
        if stretch.tail == "pump" and not stretch.standing:
            size = sizes[stretch.pipe]
            yield Need("adapter", size, count, "pump")
            if count > 1:
                yield Need("tee", size, count - 1, "pump")
                own = any(f.name == "non_return_valve" for f in stretch.fittings)
                yield Need("non_return_valve", size, count - int(own), "pump")


def _overflow_needs(design: Design, sizes: Mapping[str, Size]) -> Iterator[Need]:
    """Yield the fittings of a tank's overflow."""
    if design.tank is not None:
        size = sizes[design.tank.overflow_pipe]
        for part in design.tank.overflow_parts:
            yield Need(part.kind, size, part.count, "overflow of the tank")


def _own_needs(stretch: BuiltStretch, size: Size) -> Iterator[Need]:
    """Yield the fittings along a stretch; pipe that is there already has its own."""
    if stretch.standing:
        return
    for fitting in stretch.fittings:
        # the reducer between two sizes of one stretch is found where they meet
        if fitting.name not in NO_PART and fitting.name != "reducer":
            yield Need(fitting.name, size, fitting.count, stretch.id)


def _end_needs(
    stretch: BuiltStretch, leaving: list[BuiltStretch], sizes: Mapping[str, Size]
) -> Iterator[Need]:
    """Yield what stands where a stretch ends: tees, a clean-out, an elbow, a cap, reducers."""
    own, node = sizes[stretch.pipe], stretch.head
    there = sum(after.standing for after in leaving) if stretch.standing else 0
    if node == TANK or (stretch.standing and there == len(leaving)):
        return  # it ends over the tank's water, or all that meets here stands already
    if not leaving:
        yield Need("cap", own, 1, node)
        return
    drops = [s for s in leaving if s.kind == "drop"]
    closed = len(leaving) == 1 and any(f.name in TEE_OUTLETS for d in drops for f in d.fittings)
    if closed:
        yield Need("tee", own, 1, node)
        yield Need("clean_out", own, 1, node)
    elif len(leaving) > 1:
        yield Need("tee", own, len(leaving) - max(there, 1), node)
    elif not drops:
        yield from turn_needs(stretch.points, leaving[0].points, sizes[leaving[0].pipe], node)
    for after in leaving:
        if not (stretch.standing and after.standing):
            yield from joint_needs(own, sizes[after.pipe], node)


def joint_needs(from_size: Size, to_size: Size, node: str) -> Iterator[Need]:
    """Yield what joins two sizes of pipe: a reducer, or an adapter between two ranges."""
    if from_size.series != to_size.series:
        yield Need("adapter", to_size, 1, node, from_size)
    elif from_size.nominal != to_size.nominal:
        yield Need("reducer", to_size, 1, node, from_size)


def turn_needs(
    before: tuple[Point3, ...], after: tuple[Point3, ...], size: Size, node: str
) -> Iterator[Need]:
    """Yield the elbow where one pipe goes on into another at an angle, without a tee."""
    angle = _turn_rad(before, after)
    if angle >= HALF_ELBOW_RAD:
        yield Need("elbow_90", size, 1, node)
    elif angle >= STRAIGHT_RAD:
        yield Need("elbow_45", size, 1, node)


def _turn_rad(before: tuple[Point3, ...], after: tuple[Point3, ...]) -> float:
    """Return the angle between the last piece of one route and the first of the next."""
    first, last = _last_step(before), _last_step(tuple(reversed(after)))
    if first is None or last is None:
        return 0.0
    return math.pi - angle_rad(first, last)


def angle_rad(first: Point3, second: Point3) -> float:
    """Return the angle between two directions, both of length one."""
    dot = sum(a * b for a, b in zip(first, second, strict=True))
    return math.acos(max(-1.0, min(1.0, dot)))


def _last_step(points: tuple[Point3, ...]) -> Point3 | None:
    """Return the direction in which a route arrives; None for a route of one place."""
    end = points[-1]
    for point in reversed(points[:-1]):
        length = math.dist(point, end)
        if length > 0.0:
            x, y, z = ((e - p) / length for e, p in zip(end, point, strict=True))
            return (x, y, z)
    return None
