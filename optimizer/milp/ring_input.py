"""Read a network with rings and a price list into arrays, or say everything wrong with them."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import networkx as nx
import numpy as np
import pandas as pd

from optimizer.errors import BadInput
from optimizer.milp.fronts import Floats, Whole
from optimizer.milp.ring_pipes import LawPipes, RingPipes
from optimizer.milp.tree_input import Edge, Faults, Friction, check_sizes

Sizes = tuple[int, ...]
"""The size of every pipe of a network, as a place in the price list."""


@dataclass(frozen=True, eq=False)
class RingNetwork:
    """A network ready to be sized. Node 0 is the source.

    The flow of every pipe is ``base_m3_s + turns @ loop flows``: one spanning tree carries all the
    demands, and every pipe outside it closes one loop, whose flow runs along it and back through
    the tree. Flow from a pipe's tail to its head counts as positive.

    Attributes:
        nodes: names, the source first.
        available_m: head at the source.
        demands_m3_s: flow taken at each node.
        required_m: head each node needs, -inf for none.
        edges: pipes by their two ends.
        ends: tail and head of each pipe as positions in ``nodes`` (pipes, 2).
        base_m3_s: flow of each pipe where no loop flows.
        turns: which way each loop's flow runs through each pipe: 1, -1 or 0 (pipes, loops).
        ways: which way the tree's path from the source to each node runs through each pipe
            (nodes, pipes).
        pipes: what each pipe may be built as.
        prices: price of each pipe by size (pipes, sizes).
        names: the sizes' names.
    """

    nodes: list[Hashable]
    available_m: float
    demands_m3_s: Floats
    required_m: Floats
    edges: list[Edge]
    ends: Whole
    base_m3_s: Floats
    turns: Floats
    ways: Floats
    pipes: RingPipes
    prices: Floats
    names: list[Hashable]

    @property
    def total_m3_s(self) -> float:
        """All demands together."""
        return math.fsum(self.demands_m3_s.tolist())

    def loss_m(self, edge: int, size: int, flow_m3_s: float) -> float:
        """Return the head a flow loses in a pipe of a size; odd in the flow."""
        return math.copysign(self.pipes.loss_m(edge, size, abs(flow_m3_s)), flow_m3_s)

    def losses_m(self, edges: Whole, sizes: Whole, flows_m3_s: Floats) -> Floats:
        """Return the heads that flows lose in some pipes, each of a size; odd in the flows."""
        lost = self.pipes.losses_m(edges, sizes, np.abs(flows_m3_s))
        return np.asarray(np.copysign(lost, flows_m3_s))

    def flows_m3_s(self, loops_m3_s: Floats) -> Floats:
        """Return the flow of every pipe for given loop flows."""
        return np.asarray(self.base_m3_s + self.turns @ loops_m3_s)

    @cached_property
    def least_heads_m(self) -> Floats:
        """The least head each node of a network that works can have.

        Water runs downhill, so the lowest head is at a node that takes water, and those need one.
        """
        lowest = float(np.min(self.required_m[self.demands_m3_s > 0.0], initial=self.available_m))
        return np.maximum(self.required_m, lowest)

    @cached_property
    def leaves(self) -> Leaves:
        """The pipes that lead to a node where nothing else begins."""
        pipes_at = np.bincount(self.ends.ravel(), minlength=len(self.nodes))
        pipes_at[0] = 0
        found = np.flatnonzero((pipes_at[self.ends] == 1).any(axis=1))
        outer = np.where(
            pipes_at[self.ends[found, 1]] == 1, self.ends[found, 1], self.ends[found, 0]
        )
        flows = np.abs(self.base_m3_s[found])
        sizes, limits = np.arange(self.prices.shape[1]), self.pipes.most_m3_s[found]
        lost = [
            self.losses_m(np.full(len(sizes), edge), sizes, np.full(len(sizes), flow))
            for edge, flow in zip(found.tolist(), flows.tolist(), strict=True)
        ]
        losses = np.array(lost).reshape(len(found), len(sizes))
        losses[(limits <= 0.0) | (flows[:, np.newaxis] > limits)] = np.inf
        return Leaves(found, self.ends[found].sum(axis=1) - outer, outer, losses)


@dataclass(frozen=True, eq=False)
class Leaves:
    """Pipes to leaves: their flow is what the leaf takes, whatever the sizes.

    Attributes:
        edges: the pipes.
        inner: the node each leaves.
        outer: the leaf.
        losses_m: head lost by size; infinite where a size cannot carry the flow.
    """

    edges: Whole
    inner: Whole
    outer: Whole
    losses_m: Floats


def read_rings(graph: nx.Graph[Any], sizes: pd.DataFrame, friction: Friction) -> RingNetwork:
    """Check a network and a price list, and lay its loops out.

    Args:
        graph: see :func:`optimizer.rings.size_rings`.
        sizes: columns size, bore_m, price_per_m.
        friction: the friction law.

    Raises:
        BadInput: with every fault found.
    """
    faults = Faults()
    source = _check_shape(graph, faults)
    _check_numbers(graph, faults)
    check_sizes(sizes, faults)
    if faults.found:
        raise BadInput(faults.found)
    nodes, edges = [source, *(n for n in graph if n != source)], list(graph.edges)
    demands = np.array([float(graph.nodes[n].get("demand_m3_s", 0.0)) for n in nodes])
    place = {node: i for i, node in enumerate(nodes)}
    ends = np.array([(place[a], place[b]) for a, b in edges], dtype=np.int64).reshape(-1, 2)
    ways, turns = laid_out(graph, source, nodes, edges)
    bores, per_m = (sizes[c].to_numpy(dtype=np.float64) for c in ("bore_m", "price_per_m"))
    lengths, coefficients = (
        np.array([float(graph.edges[e].get(key, 0.0)) for e in edges])
        for key in ("length_m", "loss_coefficient")
    )
    return RingNetwork(
        nodes=nodes,
        available_m=float(graph.nodes[source]["head_available_m"]),
        demands_m3_s=demands,
        required_m=np.array([graph.nodes[n].get("head_required_m", -math.inf) for n in nodes]),
        edges=edges,
        ends=ends,
        base_m3_s=demands @ ways,
        turns=turns,
        ways=ways,
        pipes=LawPipes(lengths, coefficients, bores, friction),
        prices=lengths[:, np.newaxis] * per_m[np.newaxis, :],
        names=sizes["size"].tolist(),
    )


def laid_out(
    graph: nx.Graph[Any], source: Hashable, nodes: list[Hashable], edges: list[Edge]
) -> tuple[Floats, Floats]:
    """Return the tree's paths (nodes, pipes) and the loops (pipes, loops), as 1, -1 and 0."""
    place = {node: i for i, node in enumerate(nodes)}
    along = {edge: (e, 1.0) for e, edge in enumerate(edges)}
    along |= {(b, a): (e, -1.0) for e, (a, b) in enumerate(edges)}
    ways, in_tree = np.zeros((len(nodes), len(edges))), set()
    for tail, head in nx.bfs_edges(graph, source):
        e, sign = along[tail, head]
        ways[place[head]] = ways[place[tail]]
        ways[place[head], e] += sign
        in_tree.add(e)
    closing = [e for e in range(len(edges)) if e not in in_tree]
    turns = np.zeros((len(edges), len(closing)))
    for loop, e in enumerate(closing):
        tail, head = edges[e]
        turns[:, loop] = ways[place[tail]] - ways[place[head]]
        turns[e, loop] += 1.0
    return ways, turns


def _check_shape(graph: nx.Graph[Any], faults: Faults) -> Hashable | None:
    """Return the source, or None where there is not one."""
    if graph.is_directed() or graph.is_multigraph():
        faults.add(
            "network",
            "has directions, or two pipes between the same two nodes.",
            "Give a plain networkx Graph, with a node between two pipes side by side.",
        )
    sources = [n for n, data in graph.nodes(data=True) if "head_available_m" in data]
    if len(sources) != 1:
        faults.add(
            "network",
            f"has {len(sources)} sources: {sources}.",
            "Give head_available_m at one node, the source.",
        )
        return None
    joined = nx.node_connected_component(graph.to_undirected(), sources[0])
    for node in graph:
        if node not in joined:
            faults.add(f"node {node}", "is not joined to the source.", "Give it a pipe.")
    for node, _ in nx.selfloop_edges(graph):
        faults.add(f"edge {node} to {node}", "joins a node to itself.", "Leave it out.")
    source: Hashable = sources[0]
    return source


def _check_numbers(graph: nx.Graph[Any], faults: Faults) -> None:
    for tail, head, data in graph.edges(data=True):
        faults.number(f"edge {tail} to {head}", data, "length_m", 0.0)
        if "loss_coefficient" in data:
            faults.number(f"edge {tail} to {head}", data, "loss_coefficient", 0.0)
    for node, data in graph.nodes(data=True):
        where = f"node {node}"
        if "head_available_m" in data:
            faults.number(where, data, "head_available_m", None)
        if "demand_m3_s" in data:
            faults.number(where, data, "demand_m3_s", 0.0)
        if "head_required_m" in data:
            faults.number(where, data, "head_required_m", None)
        elif "demand_m3_s" in data and data["demand_m3_s"] != 0:
            faults.add(
                where,
                "takes water but has no head_required_m.",
                "Give the head it needs: in a ring every flow hangs on all heads.",
            )
