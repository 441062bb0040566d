"""A design that was built, as what stands on a site: matched by place, so a site may grow."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from optimizer.records.design import Bed, BuiltDrain, BuiltStretch, Design
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.site import Row, Site
from optimizer.records.standing import StandingDrain, StandingSiphon, StandingStretch

FOUND_AGAIN_M = 1e-3
"""Places this near are the same ones, found again: far less than pipe is cut to."""

Point = tuple[float, ...]


def with_built(site: Site, network: CandidateNetwork, design: Design) -> Site:
    """Return a site on which all of a design stands: to keep it costs nothing.

    Pipe is found again by its place in plan: a stretch of the network that lies along a built one
    stands in that one's size, also where the site has grown and the built one is now cut in two. A
    stretch laid in two sizes is not found again. Beds are found by name, siphons by bed type.

    Args:
        site: the site, of the design or grown from it.
        network: its candidate network.
        design: what was built there.
    """
    standing = replace(
        site.standing,
        pump=design.pump.id,
        pump_count=design.pump.count + design.pump.spares,
        sump=design.sump.id,
        sump_count=design.sump.count,
        stretches=tuple(_stretches(network, design)),
        drains=tuple(_drains(network, design.drains)),
        siphons=tuple(_siphons(design)),
    )
    rows = tuple(_row(row, design.beds) for row in site.rows)
    return replace(site, standing=standing, rows=rows)


def _stretches(network: CandidateNetwork, design: Design) -> Iterator[StandingStretch]:
    laid = {each.id: each for each in design.stretches}
    valves = {bed.drop: bed.valve for bed in design.beds}
    pipes = [each for each in design.stretches if each.kind != "drop"]
    for stretch in network.stretches:
        built: BuiltStretch | None
        if stretch.kind == "drop":
            built = laid.get(stretch.id)
            if built is not None and _is_near(stretch.points[0], built.points[0]):
                yield StandingStretch(stretch.id, built.pipe, valves[built.id])
            continue
        built = next((p for p in pipes if _lies_along(stretch, p.points)), None)
        if built is not None:
            yield StandingStretch(stretch.id, built.pipe)


def pieces_along(stretch: Stretch, laid: Sequence[BuiltStretch]) -> tuple[BuiltStretch, ...]:
    """Return the laid pipes that a stretch lies along, or that lie along it."""
    return tuple(
        each
        for each in laid
        if _lies_along(stretch, each.points) or _lies_along(each, stretch.points)
    )


def _drains(network: CandidateNetwork, drains: Sequence[BuiltDrain]) -> Iterator[StandingDrain]:
    for stretch in network.stretches:
        if stretch.kind == "drop":
            continue
        upward = ((drain, tuple(reversed(drain.points))) for drain in drains)
        built = next((d for d, points in upward if _lies_along(stretch, points)), None)
        if built is not None and built.slope > 0.0:
            yield StandingDrain(f"return {stretch.id}", built.pipe, built.slope)


def _siphons(design: Design) -> Iterator[StandingSiphon]:
    for kind in design.kinds:
        siphon = kind.siphon
        yield StandingSiphon(
            bed_type=kind.id,
            kit=kind.kit,
            crest_level_m=siphon.crest_level_m,
            drain_level_m=siphon.drain_level_m,
            drain_drop_m=-siphon.outlet_level_m,
        )


def _row(row: Row, beds: Sequence[Bed]) -> Row:
    kinds = Counter(bed.kind for bed in beds if bed.row == row.id)
    if not kinds:
        return row
    kind, count = kinds.most_common(1)[0]
    return replace(row, standing_beds=min(count, row.positions), standing_type=kind)


def _lies_along(stretch: Stretch | BuiltStretch, route: Sequence[Point]) -> bool:
    """Return whether a stretch lies on a route in plan and runs the same way."""
    along = [0.0]
    for point in stretch.points:
        later = [p for p in _places_along(point, route) if p >= along[-1] - FOUND_AGAIN_M]
        if not later:
            return False
        along.append(min(later))
    return along[-1] > along[1]


def _places_along(point: Point, route: Sequence[Point]) -> Iterator[float]:
    """Yield how far along a route a point lies on it, in plan, each time the route passes it."""
    before = 0.0
    for a, b in pairwise(route):
        length = math.dist(a[:2], b[:2])
        passed = math.dist(a[:2], point[:2])
        if abs(passed + math.dist(point[:2], b[:2]) - length) <= FOUND_AGAIN_M**2:
            yield before + passed
        before += length


def _is_near(a: Point, b: Point) -> bool:
    return math.dist(a[:2], b[:2]) <= FOUND_AGAIN_M
