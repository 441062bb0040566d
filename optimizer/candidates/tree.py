"""From the graph of ways to the supply tree.

The shortest way to every position is kept, places passed straight through are merged, and the
elbows of each route are counted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx

from optimizer.candidates.ways import Place
from optimizer.records.network import Point3

STRAIGHT_RAD = math.radians(10.0)
"""A turn below this angle is made by the pipe itself, without an elbow (common practice)."""

HALF_ELBOW_RAD = math.radians(60.0)
"""A turn below this angle takes a 45 degree elbow, above it a 90 degree elbow."""


@dataclass(frozen=True)
class Leg:
    """A merged way between two kept places: the places passed, in order."""

    places: tuple[Place, ...]
    length_m: float
    run: str

    @property
    def tail(self) -> Place:
        """First place."""
        return self.places[0]

    @property
    def head(self) -> Place:
        """Last place."""
        return self.places[-1]


def shortest_tree(graph: nx.Graph[Place], source: Place) -> nx.DiGraph[Place]:
    """Return the tree of shortest ways from the source to every place it reaches.

    Where several ways are equally short the first in coordinate order is taken, so that the same
    site always gives the same tree.
    """
    distance = nx.single_source_dijkstra_path_length(graph, source, weight="length_m")
    tree: nx.DiGraph[Place] = nx.DiGraph()
    tree.add_node(source)
    for place in sorted(distance, key=lambda p: (distance[p], p)):
        if place == source:
            continue
        before = min(
            (p for p in graph.adj[place] if p in tree),
            key=lambda p: (round(distance[p] + graph.edges[p, place]["length_m"], 6), p),
        )
        tree.add_edge(before, place, **graph.edges[before, place])
    return tree


def keep_serving(tree: nx.DiGraph[Place], served: Iterable[Place]) -> nx.DiGraph[Place]:
    """Return the part of the tree that leads to a served place."""
    needed: set[Place] = set()
    for place in served:
        at: Place | None = place
        while at is not None and at not in needed:
            needed.add(at)
            at = next(iter(tree.predecessors(at)), None)
    return tree.subgraph(needed).copy()


def merged_legs(tree: nx.DiGraph[Place], source: Place, kept: set[Place]) -> list[Leg]:
    """Return the tree's legs between kept places and branchings, parents first."""
    legs: list[Leg] = []
    stack = [source]
    while stack:
        tail = stack.pop(0)
        for first in sorted(tree.successors(tail)):
            places = [tail, first]
            while places[-1] not in kept and tree.out_degree(places[-1]) == 1:
                places.append(next(iter(tree.successors(places[-1]))))
            legs.append(_leg(tree, places))
            stack.append(places[-1])
    return legs


def _leg(tree: nx.DiGraph[Place], places: list[Place]) -> Leg:
    edges = [tree.edges[a, b] for a, b in pairwise(places)]
    return Leg(tuple(places), sum(e["length_m"] for e in edges), str(edges[-1]["run"]))


def laid_length_m(points: Iterable[Point3]) -> float:
    """Return the length of pipe along a route: in plan, and up or down beside it."""
    total = 0.0
    for (x1, y1, level1), (x2, y2, level2) in pairwise(points):
        total += ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 + abs(level2 - level1)
    return total


def elbows_on(points: tuple[Point3, ...]) -> dict[str, int]:
    """Count the elbows that a route needs, by loss name."""
    counts = {"elbow_90": 0, "elbow_45": 0}
    directions = [d for a, b in pairwise(points) if (d := _direction(a, b)) is not None]
    for before, after in pairwise(directions):
        angle = math.acos(
            max(-1.0, min(1.0, sum(p * q for p, q in zip(before, after, strict=True))))
        )
        if angle >= HALF_ELBOW_RAD:
            counts["elbow_90"] += 1
        elif angle >= STRAIGHT_RAD:
            counts["elbow_45"] += 1
    return {name: count for name, count in counts.items() if count}


def goes_straight(incoming: tuple[Point3, ...], outgoing: tuple[Point3, ...]) -> bool:
    """Return whether water leaves a tee in the direction it came, seen in plan."""
    last = _direction(*(_flat(p) for p in incoming[-2:]))
    first = _direction(*(_flat(p) for p in outgoing[:2]))
    if last is None or first is None:
        return False
    return sum(p * q for p, q in zip(last, first, strict=True)) > math.cos(STRAIGHT_RAD)


def _flat(point: Point3) -> Point3:
    return (point[0], point[1], 0.0)


def _direction(start: Point3, end: Point3) -> Point3 | None:
    length = math.dist(start, end)
    if length == 0.0:
        return None
    return (
        (end[0] - start[0]) / length,
        (end[1] - start[1]) / length,
        (end[2] - start[2]) / length,
    )
