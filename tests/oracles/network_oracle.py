"""Flows of a supply network by an independent road: outlet and chord flows, a general root finder.

Why it proves the point: the check solves node heads on a sparse system with its own damping and
array laws. This oracle has no node heads among its unknowns: it takes a spanning tree, makes the
flow of every outlet and every chord (an edge outside the tree) unknown, adds flows up the tree,
adds losses down the tree, and asks ``scipy.optimize.root`` to close every outlet and every ring.
Its friction factor is its own fixed-point Colebrook. It shares no code with ``optimizer``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import root

G = 9.80665


@dataclass(frozen=True)
class Edge:
    """A pipe from tail to head; ``valve_loss`` in ``valve_bore`` is in series with it."""

    id: str
    tail: str
    head: str
    length: float
    bore: float
    roughness: float = 0.0
    k: float = 0.0
    valve_loss: float = 0.0
    valve_bore: float = 1.0


Loss = Callable[[np.ndarray], np.ndarray]


def darcy_loss(edges: list[Edge], viscosity: float) -> Loss:
    """(f L/d + sum K) V^2/2g; laminar to Re 2000, Colebrook from 4000, a power law between."""
    length, bore, rough, k, kv, bv = (
        np.array([getattr(e, name) for e in edges])
        for name in ("length", "bore", "roughness", "k", "valve_loss", "valve_bore")
    )

    def colebrook(re: np.ndarray) -> np.ndarray:
        f = np.full_like(re, 0.03)
        for _ in range(60):
            f = (-2.0 * np.log10(rough / bore / 3.7 + 2.51 / (re * np.sqrt(f)))) ** -2.0
        return f

    def loss(q: np.ndarray) -> np.ndarray:
        v = 4.0 * q / (np.pi * bore**2)
        re = np.maximum(np.abs(v) * bore / viscosity, 1e-9)
        f4000 = colebrook(np.full_like(re, 4000.0))
        blend = 0.032 * (re / 2000.0) ** np.log2(f4000 / 0.032)
        f = np.where(re < 2000.0, 64.0 / re, np.where(re < 4000.0, blend, colebrook(re)))
        v_valve = 4.0 * q / (np.pi * bv**2)
        return ((f * length / bore + k) * v * np.abs(v) + kv * v_valve * np.abs(v_valve)) / (2 * G)

    return loss


def hazen_williams_loss(edges: list[Edge], c: float) -> Loss:
    """h = 10.667 L Q^1.852 / (C^1.852 D^4.871)."""
    length, bore = (np.array([getattr(e, name) for e in edges]) for name in ("length", "bore"))

    def loss(q: np.ndarray) -> np.ndarray:
        return 10.667 * length * np.sign(q) * (np.abs(q) / c) ** 1.852 / bore**4.871

    return loss


def solve(
    edges: list[Edge],
    loss: Loss,
    source: str,
    source_head: Callable[[float], float],
    outlets: dict[str, float],
    start: float,
    draws: dict[str, float] | None = None,
) -> tuple[dict[str, float], dict[str, float]]:
    """Flows by edge and heads by node.

    ``source_head`` gives the head at ``source`` for the total flow leaving it; ``outlets`` are end
    nodes at a given head; ``draws`` are given flows out of nodes; ``start`` is a first guess of an
    outlet's flow.
    """
    index = {e.id: i for i, e in enumerate(edges)}
    parent = _spanning_tree(edges, source)
    chords = [e for e in edges if e not in {p for p, _ in parent.values()}]
    order = list(parent)
    draws = draws or {}
    names = list(outlets)

    def flows_of(x: np.ndarray) -> tuple[np.ndarray, float]:
        need = dict(draws)
        for name, q in zip(names, x[: len(names)], strict=True):
            need[name] = need.get(name, 0.0) + q
        flows = np.zeros(len(edges))
        for e, q in zip(chords, x[len(names) :], strict=True):
            flows[index[e.id]] = q
            need[e.tail] = need.get(e.tail, 0.0) + q
            need[e.head] = need.get(e.head, 0.0) - q
        for node in reversed(order):
            e, up = parent[node]
            flows[index[e.id]] = need.get(node, 0.0) * (1.0 if e.head == node else -1.0)
            need[up] = need.get(up, 0.0) + need.get(node, 0.0)
        return flows, need.get(source, 0.0)

    def heads_of(x: np.ndarray) -> tuple[np.ndarray, np.ndarray, dict[str, float]]:
        flows, total = flows_of(x)
        lost = loss(flows)
        heads = {source: source_head(total)}
        for node in order:
            e, up = parent[node]
            heads[node] = heads[up] - lost[index[e.id]] * (1.0 if e.head == node else -1.0)
        return flows, lost, heads

    def open_ends(x: np.ndarray) -> np.ndarray:
        _, lost, heads = heads_of(x)
        ends = [heads[name] - level for name, level in outlets.items()]
        return np.array(ends + [heads[e.tail] - heads[e.head] - lost[index[e.id]] for e in chords])

    guess = np.full(len(names) + len(chords), start)
    # hybr's own steps need unknowns near 1
    answer = root(lambda y: open_ends(y * start), guess / start, method="hybr", tol=1e-13)
    assert np.max(np.abs(answer.fun)) < 1e-8, answer.message
    flows, _, heads = heads_of(answer.x * start)
    return {e.id: float(flows[index[e.id]]) for e in edges}, heads


def _spanning_tree(edges: list[Edge], source: str) -> dict[str, tuple[Edge, str]]:
    """Node to the edge that reaches it and the node it comes from, in order of reaching."""
    seen, tree, queue = {source}, {}, [source]
    while queue:
        node = queue.pop(0)
        for e in edges:
            for here, there in ((e.tail, e.head), (e.head, e.tail)):
                if here == node and there not in seen:
                    seen.add(there)
                    tree[there] = (e, node)
                    queue.append(there)
    return tree
