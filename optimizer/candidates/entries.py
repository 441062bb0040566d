"""Where each row's pipe joins the shared pipe: at one place.

A row fed from two sides, or a row's pipe that feeds other rows beyond it, would make what shared
pipe carries hang on where in the row the beds stand, not only on how many there are.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import networkx as nx

from optimizer.candidates.runs import Runs
from optimizer.candidates.segments import along, crossing
from optimizer.candidates.ways import Place, place_of


@dataclass(frozen=True)
class Joint:
    """A place of shared pipe and the place of a row's pipe that may join it there."""

    shared: Place
    own: Place


def joints_of(runs: Runs) -> dict[str, list[Joint]]:
    """Return, per row, its lead-in and every place where shared pipe crosses it."""
    joints: dict[str, list[Joint]] = {}
    for row in runs.rows:
        found = [Joint(place_of(row.start), place_of(row.start, row.run))]
        for trunk in runs.trunk:
            met = crossing(trunk, row)
            if met:
                shared, own = along(trunk, met[0]), along(row, met[1])
                found.append(Joint(place_of(shared), place_of(own, row.run)))
        joints[row.run] = found
    return joints


def join_rows(
    graph: nx.Graph[Place],
    joints: dict[str, list[Joint]],
    source: Place,
    beds: Iterable[Place],
) -> None:
    """Join every row to shared pipe by an edge of no length.

    Of a row's joints the one that reaches most of its beds is taken, of those the nearest to the
    source along the pipe, of those the first in coordinate order. A row with no joint in reach of
    the source is left apart.
    """
    distance = nx.single_source_dijkstra_path_length(graph, source, weight="length_m")
    wanted = set(beds)

    def order(joint: Joint) -> tuple[int, float, Place]:
        reached = wanted & nx.single_source_dijkstra_path_length(graph, joint.own).keys()
        return (-len(reached), round(distance[joint.shared], 6), joint.own)

    chosen: dict[str, Joint] = {}
    for row, found in joints.items():
        open_joints = [j for j in found if j.shared in distance and j.own in graph]
        if open_joints:
            chosen[row] = min(open_joints, key=order)
    for row, joint in chosen.items():
        graph.add_edge(joint.shared, joint.own, length_m=0.0, run=row)


def merge_joints(
    tree: nx.DiGraph[Place], source: Place, served: Iterable[Place]
) -> nx.DiGraph[Place]:
    """Return the tree with both places of every joint made one: a bed's place where one is a bed's.

    Two beds never share a place, and the source keeps its own.
    """
    beds = set(served)
    groups: dict[Place, list[Place]] = {}
    for shared, own in tree.edges:
        if tree.edges[shared, own]["length_m"] == 0.0 and shared != source:
            groups.setdefault(shared, [shared]).append(own)
    names: dict[Place, Place] = {}
    for shared, places in groups.items():
        name = next((place for place in places if place in beds), shared)
        names |= dict.fromkeys(places, name)
    merged: nx.DiGraph[Place] = nx.relabel_nodes(tree, names, copy=True)
    merged.remove_edges_from(list(nx.selfloop_edges(merged)))
    return merged
