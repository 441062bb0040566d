"""Read a networkx tree and a price list of sizes into arrays, or say everything wrong with them."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import Any, Protocol

import networkx as nx
import numpy as np
import pandas as pd

from optimizer.errors import BadInput, Problem
from optimizer.milp.fronts import Floats

Edge = tuple[Hashable, Hashable]
COLUMNS = ("size", "bore_m", "price_per_m")


class Friction(Protocol):
    """A friction law: head lost by a flow in a pipe, in metres."""

    def head_loss_m(
        self, flow_m3_s: float, length_m: float, bore_m: float, loss_coefficient: float = 0.0
    ) -> float:
        """Return the head lost, in metres."""
        ...


@dataclass(frozen=True)
class SizedTree:
    """A tree ready to be sized.

    Attributes:
        root: the source node.
        available_m: head at the source.
        edges: stretches, each after the one upstream of it.
        leaving: node to the positions, in ``edges``, of the stretches that leave it.
        required_m: node to the head it needs, -inf for none.
        flows_m3_s: flow of each stretch.
        losses_m: head lost, by stretch and size.
        prices: price, by stretch and size.
        names: the sizes' names.
    """

    root: Hashable
    available_m: float
    edges: list[Edge]
    leaving: dict[Hashable, list[int]]
    required_m: dict[Hashable, float]
    flows_m3_s: list[float]
    losses_m: Floats
    prices: Floats
    names: list[Hashable]


def read_tree(tree: nx.DiGraph[Any], sizes: pd.DataFrame, friction: Friction) -> SizedTree:
    """Check a tree and a price list, and work out flows, losses and prices.

    Args:
        tree: edges point away from one root; see ``size_tree`` for the attributes.
        sizes: columns size, bore_m, price_per_m.
        friction: the friction law.

    Raises:
        BadInput: with every fault found.
    """
    faults = Faults()
    root = _check_shape(tree, faults)
    _check_numbers(tree, root, faults)
    check_sizes(sizes, faults)
    if faults.found:
        raise BadInput(faults.found)
    edges: list[Edge] = [(a, b) for a in nx.bfs_tree(tree, root) for b in tree.successors(a)]
    flows = _flows(tree, edges)
    bores, per_m = (sizes[c].to_numpy(dtype=np.float64) for c in ("bore_m", "price_per_m"))
    lengths = np.array([float(tree.edges[e]["length_m"]) for e in edges])
    return SizedTree(
        root,
        float(tree.nodes[root]["head_available_m"]),
        edges,
        _leaving(tree, edges),
        {n: float(d.get("head_required_m", -math.inf)) for n, d in tree.nodes(data=True)},
        flows,
        _losses(tree, edges, flows, bores, friction),
        lengths[:, np.newaxis] * per_m[np.newaxis, :],
        sizes["size"].tolist(),
    )


def _leaving(tree: nx.DiGraph[Any], edges: list[Edge]) -> dict[Hashable, list[int]]:
    leaving: dict[Hashable, list[int]] = {node: [] for node in tree}
    for place, (tail, _) in enumerate(edges):
        leaving[tail].append(place)
    return leaving


def _flows(tree: nx.DiGraph[Any], edges: list[Edge]) -> list[float]:
    """Flow of each stretch: the demands of every node at or below its downstream end."""
    parts = {n: [float(d.get("demand_m3_s", 0.0))] for n, d in tree.nodes(data=True)}
    through: dict[Hashable, float] = {}
    for tail, head in reversed(edges):
        through[head] = math.fsum(parts[head])
        parts[tail].append(through[head])
    return [through[head] for _, head in edges]


def _losses(
    tree: nx.DiGraph[Any],
    edges: list[Edge],
    flows: list[float],
    bores: Floats,
    friction: Friction,
) -> Floats:
    known: dict[tuple[float, float, float], list[float]] = {}
    rows = []
    for edge, flow in zip(edges, flows, strict=True):
        data = tree.edges[edge]
        key = (flow, float(data["length_m"]), float(data.get("loss_coefficient", 0.0)))
        if key not in known:
            known[key] = [float(friction.head_loss_m(*key[:2], d, key[2])) for d in bores.tolist()]
        rows.append(known[key])
    return np.array(rows, dtype=np.float64).reshape(len(edges), len(bores))


@dataclass
class Faults:
    """Faults found so far."""

    found: list[Problem] = field(default_factory=list)

    def add(self, where: str, what: str, fix: str) -> None:
        """Note one fault."""
        self.found.append(Problem(where, what, fix))

    def number(self, where: str, data: dict[str, Any], key: str, least: float | None) -> None:
        """Note a value that is missing, not a finite number, or below what is allowed."""
        value = data.get(key)
        if value is None:
            self.add(where, f"has no {key}.", f"Give {key} as a number.")
        elif not _is_number(value):
            self.add(where, f"has {key} = {value!r}.", "Give a finite number.")
        elif least is not None and float(value) < least:
            self.add(where, f"has {key} = {value}.", f"Give a number of {least:g} or more.")


def _is_number(value: object) -> bool:
    try:
        return not isinstance(value, (bool, str)) and math.isfinite(float(value))  # type: ignore[arg-type]  # caught
    except (TypeError, ValueError):
        return False


def _check_shape(tree: nx.DiGraph[Any], faults: Faults) -> Hashable | None:
    """The root, or None where the graph is no tree."""
    if not tree.is_directed() or len(tree) == 0:
        faults.add("tree", "is empty or has no directions.", "Point every edge away from the root.")
        return None
    roots = [n for n in tree if tree.in_degree(n) == 0]
    if len(roots) != 1:
        faults.add("tree", f"has {len(roots)} roots: {roots}.", "Keep one source.")
    for node in tree:
        if tree.in_degree(node) > 1:
            parents = list(tree.predecessors(node))
            faults.add(f"node {node}", f"has parents {parents}.", "Keep one edge into each node.")
    if not nx.is_directed_acyclic_graph(tree):
        loop = [a for a, *_ in nx.find_cycle(tree)]
        faults.add("tree", f"runs in a circle through {loop}.", "Open it by leaving one edge out.")
    return None if faults.found else roots[0]


def _check_numbers(tree: nx.DiGraph[Any], root: Hashable | None, faults: Faults) -> None:
    for tail, head, data in tree.edges(data=True):
        faults.number(f"edge {tail} to {head}", data, "length_m", 0.0)
        if "loss_coefficient" in data:
            faults.number(f"edge {tail} to {head}", data, "loss_coefficient", 0.0)
    for node, data in tree.nodes(data=True):
        if "demand_m3_s" in data:
            faults.number(f"node {node}", data, "demand_m3_s", 0.0)
        if "head_required_m" in data:
            faults.number(f"node {node}", data, "head_required_m", None)
    if root is not None:
        faults.number(f"root {root}", tree.nodes[root], "head_available_m", None)


def check_sizes(sizes: pd.DataFrame, faults: Faults) -> None:
    """Note what is wrong with a price list."""
    missing = [c for c in COLUMNS if c not in sizes.columns]
    if missing or sizes.empty:
        faults.add("sizes", f"lack {missing or 'rows'}.", f"Give the columns {', '.join(COLUMNS)}.")
        return
    for row, data in enumerate(sizes.to_dict("records")):
        values = {str(key): value for key, value in data.items()}
        faults.number(f"sizes row {row}", values, "price_per_m", 0.0)
        faults.number(f"sizes row {row}", values, "bore_m", None)
        if _is_number(values["bore_m"]) and float(values["bore_m"]) <= 0:
            faults.add(f"sizes row {row}", "has a bore of 0 or less.", "Give the inside diameter.")
    twice = sizes["size"][sizes["size"].duplicated()].tolist()
    if twice:
        faults.add("sizes", f"name {twice} more than once.", "Name each size once.")
