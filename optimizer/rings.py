"""Size a network of pipes with rings, proven by the program and checked by the operating point.

Usable alone, like :func:`optimizer.milp.size_tree.size_tree`: a networkx graph, a price list and a
friction law, and nothing of a site.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import networkx as nx
import numpy as np
import pandas as pd

from optimizer.errors import SolverFailed
from optimizer.milp.engine import Progress
from optimizer.milp.fronts import Floats
from optimizer.milp.ring_flows import true_flows
from optimizer.milp.ring_input import RingNetwork, read_rings
from optimizer.milp.ring_search import RingSearch
from optimizer.milp.tree_input import Edge, Friction
from optimizer.simulate.network import Network
from optimizer.simulate.steady_state import steady_state

AGREED_M = 1e-6
"""By how much the heads of the program and of the operating point may differ: their rounding."""


@dataclass(frozen=True)
class RingSizes:
    """A sized network.

    Attributes:
        sizes: edge to the name of its size.
        cost: sum of length times price per metre, in the price list's money, never rounded.
        bound: proven lower bound on the cost of any sizing.
        gap: relative gap between the two (0: proven).
        flows_m3_s: edge to its flow, positive from the edge's first node to its second.
        heads_m: node to the head it has.
        boxes: how many boxes of loop flows were looked at.
    """

    sizes: Mapping[Edge, Hashable]
    cost: float
    bound: float
    gap: float
    flows_m3_s: Mapping[Edge, float]
    heads_m: Mapping[Hashable, float]
    boxes: int


def size_rings(
    network: nx.Graph[Any],
    sizes: pd.DataFrame,
    friction: Friction,
    *,
    gap: float = 1e-6,
    time_limit_s: float | None = None,
    stop: threading.Event | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> RingSizes:
    """Choose one size for every pipe of a network with rings so that the whole costs least.

    Every edge is built; the flow divides among them as the sizes make it. A network with rings has
    room for few loops: the work grows steeply with their number (two take seconds). Where every
    price times length is whole hundredths, costs have a least step, and the bound reaches the cost.

    Args:
        network: undirected; one node, the source, carries ``head_available_m`` (m). Edges carry
            ``length_m`` (m) and may carry ``loss_coefficient`` (sum of local K). Nodes may carry
            ``demand_m3_s`` (m3/s, missing: 0) and ``head_required_m`` (m); a node that takes water
            must carry it.
        sizes: columns ``size`` (any name), ``bore_m`` (m), ``price_per_m`` (money per metre).
        friction: an object with ``head_loss_m(flow_m3_s, length_m, bore_m, loss_coefficient)``
            that rises with flow.
        gap: relative gap between cost and bound at which to stop.
        time_limit_s: stop after this time with the best so far; None for no limit.
        stop: set from outside to stop early with the best so far, as Ctrl-C does.
        progress: called after every box with seconds, best cost and bound.

    Returns:
        Sizes, cost, bound, gap, flows and heads.

    Raises:
        BadInput: with everything that is wrong with the network or the price list.
        Infeasible: where it is proven that no sizes keep all heads.
        SolverFailed: if stopped before the first sizes that do, or the operating point disagrees.
    """
    read = read_rings(network, sizes, friction)
    ends_at = None if time_limit_s is None else time.perf_counter() + time_limit_s
    found = RingSearch(read, gap, stop or threading.Event(), ends_at, progress).run()
    flows, heads = true_flows(read, found.chosen)
    _require_agreement(read, found.chosen, heads)
    return RingSizes(
        sizes={edge: read.names[s] for edge, s in zip(read.edges, found.chosen, strict=True)},
        cost=found.cost,
        bound=found.bound,
        gap=(found.cost - found.bound) / found.cost if found.cost > 0.0 else 0.0,
        flows_m3_s=dict(zip(read.edges, flows.tolist(), strict=True)),
        heads_m=dict(zip(read.nodes, heads.tolist(), strict=True)),
        boxes=found.boxes,
    )


@dataclass(frozen=True, eq=False)
class _Losses:
    """Losses of the chosen pipes, as the operating point asks for them."""

    network: RingNetwork
    chosen: tuple[int, ...]

    def head_loss_m(self, flows_m3_s: Floats) -> Floats:
        """Return the head lost along each pipe, (..., pipes)."""
        loss_m = self.network.loss_m
        lost = [
            [loss_m(e, self.chosen[e], flow) for e, flow in enumerate(flows)]
            for flows in flows_m3_s.reshape(-1, len(self.chosen)).tolist()
        ]
        return np.array(lost).reshape(flows_m3_s.shape)


def _require_agreement(read: RingNetwork, chosen: tuple[int, ...], heads_m: Floats) -> None:
    """Refuse sizes whose heads the check's own solver finds otherwise, or below what is needed.

    It knows nothing of loops: its unknowns are the heads at the nodes.
    """
    if not read.edges:
        return
    names = [str(i) for i in range(len(read.nodes))]
    tails, heads = ([names[n] for n in side] for side in read.ends.T.tolist())
    network = Network(tuple(map(str, range(len(chosen)))), tuple(tails), tuple(heads), ("0",))
    order = [int(name) for name in network.nodes]
    state = steady_state(
        network,
        _Losses(read, chosen),
        np.array([read.available_m]),
        read.demands_m3_s[order],
        np.full(len(chosen), read.total_m3_s / len(chosen)),
    )
    apart = np.max(np.abs(state.heads_m - heads_m[order]))
    short = np.max(read.required_m[order] - state.heads_m)
    if apart > AGREED_M or short > AGREED_M:
        raise SolverFailed(
            f"The operating point does not bear the sizes out: heads differ by {apart:.1e} m, and "
            f"the worst node is {max(short, 0.0):.1e} m short."
        )
