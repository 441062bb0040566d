"""The pipe that closes a straight header into a ring, and what else the ring changes.

The ring's ends are the first and the last place where a row leaves the header. The closing pipe
joins them by the places that the site names. Stretches between the two ends are shared pipe, also
the last one, which serves one row only while the header is open.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import networkx as nx

from optimizer.candidates.runs import header_axis, laid_header
from optimizer.candidates.segments import SAME_PLACE_M, Segment, enters
from optimizer.candidates.tree import elbows_on, goes_straight, laid_length_m
from optimizer.candidates.ways import Place
from optimizer.errors import BadInput, Problem
from optimizer.records.header_ring import CLOSING
from optimizer.records.network import CandidateNetwork, Point3, Stretch
from optimizer.records.site import Point, Site

STRETCHES_LEAST = 2
"""A header of fewer stretches makes no ring: the closing pipe would be a second pipe beside it."""


def ring_ends(tree: nx.DiGraph[Place], site: Site) -> tuple[Place, ...]:
    """Return the first and the last place where a row leaves the header; none without a ring.

    Raises:
        BadInput: if all rows leave it at one place.
    """
    if site.header_ring is None:
        return ()
    axis, header = header_axis(site), laid_header(site)
    line = round(header.start[1 - axis] / SAME_PLACE_M)
    leaving = {
        tail
        for tail, head in tree.edges
        if tail[1 - axis] == line and (head[1 - axis] != line or head[2] != tail[2])
    }
    ends = sorted(place for place in leaving if tree.in_degree(place))
    if len({place[axis] for place in ends}) < 2:
        raise _no_ring("every row leaves the header at one place, so it has no two ends.")
    order = sorted(ends, key=lambda place: (place[axis], place))
    return order[0], order[-1]


def closed(network: CandidateNetwork, site: Site, ends: Sequence[Point]) -> CandidateNetwork:
    """Return a network with its header closed into a ring, where the site asks for one.

    Args:
        network: the tree, with a node at both ends of the ring.
        site: the site.
        ends: where they are; empty without a ring.

    Raises:
        BadInput: if the closing pipe would cross a keep-out, or there is nothing to close.
    """
    if site.header_ring is None or not ends:
        return network
    first, last = (_node_at(network, end) for end in ends)
    into = {stretch.head: stretch for stretch in network.stretches}
    ring = _between(into, first, last)
    if len(ring) < STRETCHES_LEAST:
        raise _no_ring("the header has fewer than three places where pipe meets.")
    closing = _closing(site, network, first, last)
    named = {stretch.id: _shared(stretch) for stretch in ring}
    stretches = [
        _at_a_tee(named.get(each.id, each), into, {first, last}) for each in network.stretches
    ]
    graph = nx.DiGraph(network.graph)
    for stretch in stretches:
        graph.edges[stretch.tail, stretch.head]["stretch"] = stretch
    nx.freeze(graph)
    return replace(
        network,
        graph=graph,
        stretches=tuple(stretches),
        closing=closing,
        ring=tuple(each.id for each in named.values()),
    )


def with_ends_built(site: Site, network: CandidateNetwork) -> Site:
    """Return a site that has a bed at either end of its ring, or pipe would lead to nothing.

    Where two rows leave an end either may have it, so nothing is asked of them.
    """
    if network.closing is None:
        return site
    ends = (network.closing.tail, network.closing.head)
    leaving = [[s.row for s in network.supply if s.tail == end and s.row] for end in ends]
    alone = {rows[0] for rows in leaving if len(rows) == 1}
    rows = tuple(
        replace(row, beds_least=max(1, row.beds_least)) if row.id in alone else row
        for row in site.rows
    )
    return replace(site, rows=rows)


def _no_ring(why: str) -> BadInput:
    fix = "Take out [header_ring], or lay the rows out along a header."
    return BadInput([Problem("header_ring", f"no ring can be made: {why}", fix)])


def _node_at(network: CandidateNetwork, point: Point) -> str:
    """Return the junction at a place: where shared pipe ends that a row leaves."""
    return next(
        stretch.head
        for stretch in network.supply
        if stretch.kind != "drop"
        and max(abs(a - b) for a, b in zip(stretch.points[-1], point, strict=False)) <= SAME_PLACE_M
    )


def _between(into: dict[str, Stretch], first: str, last: str) -> list[Stretch]:
    """Return the stretches of the tree's way from one node to another, in order."""
    ways = [_up_from(into, node) for node in (first, last)]
    shared = {each.id for each in ways[0]} & {each.id for each in ways[1]}
    left, right = ([s for s in way if s.id not in shared] for way in ways)
    return [*left, *reversed(right)]


def _up_from(into: dict[str, Stretch], node: str) -> list[Stretch]:
    way: list[Stretch] = []
    while node in into:
        way.append(into[node])
        node = into[node].tail
    return way


def _shared(stretch: Stretch) -> Stretch:
    name = f"header between {stretch.tail} and {stretch.head}"
    return replace(stretch, id=name, kind="header", row=None)


def _at_a_tee(stretch: Stretch, into: dict[str, Stretch], ends: set[str]) -> Stretch:
    """Return a stretch with the tee that it begins at, where the closing pipe makes it one."""
    counts = dict(stretch.fittings)
    if stretch.tail not in ends or {"tee_run", "tee_branch"} & counts.keys():
        return stretch
    straight = goes_straight(into[stretch.tail].points, stretch.points)
    counts["tee_run" if straight else "tee_branch"] = 1
    return replace(stretch, fittings=tuple(sorted(counts.items())))


def _closing(site: Site, network: CandidateNetwork, first: str, last: str) -> Stretch:
    """Return the pipe between the ring's ends: a tee and a reducer where it begins, then elbows.

    The tee at its other end is counted with the pipe that leaves it.
    """
    assert site.header_ring is not None
    (x, y, low), (to_x, to_y, high) = (_point(network, node) for node in (first, last))
    through = site.header_ring.through
    if _apart(through[-1], (x, y)) < _apart(through[0], (x, y)):
        through = tuple(reversed(through))
    points: tuple[Point3, ...] = (
        (x, y, low),
        *((px, py, low) for px, py in through),
        (to_x, to_y, high),
    )
    _require_open_ground(points, site)
    counts = elbows_on(points) | {"reducer": 1, "tee_branch": 1}
    return Stretch(
        id=CLOSING,
        kind="header",
        tail=first,
        head=last,
        length_m=laid_length_m(points),
        points=points,
        fittings=tuple(sorted(counts.items())),
    )


def _point(network: CandidateNetwork, node: str) -> Point3:
    data = network.graph.nodes[node]
    return (data["x_m"], data["y_m"], data["level_m"])


def _apart(a: Sequence[float], b: Sequence[float]) -> float:
    return float(((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5)


def _require_open_ground(points: Sequence[Point3], site: Site) -> None:
    pieces = [Segment(CLOSING, a[:2], b[:2]) for a, b in pairwise(points)]
    crossed = [
        each.id for each in site.ground.keep_outs if any(enters(piece, each) for piece in pieces)
    ]
    if crossed:
        what = f"the closing pipe would cross keep-out {crossed[0]!r}."
        fix = "Name other places for it to pass."
        raise BadInput([Problem("header_ring.through", what, fix)])
