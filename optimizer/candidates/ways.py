"""The graph of all ways pipe may go, with levels at its places."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx

from optimizer.candidates.runs import Runs
from optimizer.candidates.segments import (
    SAME_PLACE_M,
    Segment,
    along,
    crossing,
    first_entered,
    foot_share,
)
from optimizer.records.network import Dropped, Position
from optimizer.records.site import Point, Site

PUMP_TAG = "pump"
"""Marks the pump's own place; no row may have this name."""

Place = tuple[int, int, str]
"""A place: coordinates in whole micrometres, so that equal places are equal keys, and its row.

Places on a row's own pipe carry the row's id, all others an empty text. Where a row's pipe only
crosses other pipe, the two are different places.
"""


def place_of(point: Point, row: str = "") -> Place:
    """Return the key of a point."""
    return (round(point[0] / SAME_PLACE_M), round(point[1] / SAME_PLACE_M), row)


def point_of(place: Place) -> Point:
    """Return the point of a place."""
    return (place[0] * SAME_PLACE_M, place[1] * SAME_PLACE_M)


def place_of_pump(site: Site) -> Place:
    """Return the place of the pump in the sump: its own, also where other pipe passes over it."""
    return place_of(site.ground.sump, PUMP_TAG)


def place_of_bed(position: Position, site: Site) -> Place:
    """Return the place of a position: on its row's pipe, or its own if it is a named position."""
    named = {row.id for row in site.rows if row.named}
    owner = "" if position.row in named else position.row
    return place_of((position.x_m, position.y_m), owner)


def ways(
    runs: Runs, positions: tuple[Position, ...], site: Site
) -> tuple[nx.Graph[Place], tuple[Dropped, ...]]:
    """Return the graph of ways (``length_m``, ``run`` on edges).

    Rows stand apart from the rest; :mod:`optimizer.candidates.entries` joins them. Also returned:
    every piece left out because it enters a keep-out.
    """
    rows = {id(row): row.run for row in runs.rows}
    graph: nx.Graph[Place] = nx.Graph()
    dropped: list[Dropped] = []
    for segment, stops in _stops(runs, positions):
        for start, end in pairwise(sorted(stops)):
            piece = Segment(segment.run, along(segment, start), along(segment, end))
            if piece.length_m <= SAME_PLACE_M or place_of(piece.start) == place_of(piece.end):
                continue
            blocking = first_entered(piece, site.ground.keep_outs)
            if blocking:
                dropped.append(Dropped(piece.run, f"it would cross keep-out {blocking.id!r}"))
            else:
                _add(graph, piece, rows.get(id(segment), ""))
    graph.add_nodes_from([place_of_bed(p, site) for p in positions])
    graph.add_edge(place_of_pump(site), place_of(site.ground.sump), length_m=0.0, run="sump")
    return graph, tuple(dropped)


def give_levels(graph: nx.Graph[Place], known: dict[Place, float]) -> dict[Place, float]:
    """Return a level for every place: its own, or that of the nearest place along the pipe."""
    reached = nx.multi_source_dijkstra_path(graph, sorted(known), weight="length_m")
    return {place: known[path[0]] for place, path in reached.items()}


def _stops(runs: Runs, positions: tuple[Position, ...]) -> list[tuple[Segment, list[float]]]:
    """Return every piece with the shares at which something joins it."""
    joinable = [*runs.trunk, *runs.rows]
    stops: list[list[float]] = [[0.0, 1.0] for _ in joinable]
    for i, trunk in enumerate(runs.trunk):
        for j in range(i + 1, len(joinable)):
            met = crossing(trunk, joinable[j])
            if met:
                stops[i].append(met[0])
                stops[j].append(met[1])
    for i, trunk in enumerate(runs.trunk):
        stops[i] += [foot_share(trunk, link.end) for link in runs.links if _on(trunk, link.end)]
    by_row = {row.run: len(runs.trunk) + i for i, row in enumerate(runs.rows)}
    for position in positions:
        if position.row in by_row:
            index = by_row[position.row]
            stops[index].append(foot_share(joinable[index], (position.x_m, position.y_m)))
    pairs = list(zip(joinable, stops, strict=True))
    return pairs + [(link, [0.0, 1.0]) for link in runs.links]


def _on(segment: Segment, point: Point) -> bool:
    return place_of(along(segment, foot_share(segment, point))) == place_of(point)


def _add(graph: nx.Graph[Place], piece: Segment, row: str) -> None:
    tail, head = place_of(piece.start, row), place_of(piece.end, row)
    if not graph.has_edge(tail, head) or graph.edges[tail, head]["length_m"] > piece.length_m:
        graph.add_edge(tail, head, length_m=piece.length_m, run=piece.run)
