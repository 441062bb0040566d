"""The true flows and heads of a network with rings, once every pipe has its size.

The loop flows are the unknowns: round every loop the losses must add up to nothing. Losses rise
with flow, so that sum is the slope of a convex energy, and Newton steps kept short enough lead to
its one least point (the loop method of Hardy Cross, Analysis of flow in networks of conduits or
conductors, University of Illinois Bulletin 286, 1936, with all loops mended at once; from memory,
not verified).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from optimizer.errors import SolverFailed
from optimizer.milp.fronts import Floats
from optimizer.milp.ring_input import RingNetwork

CLOSED_M = 1e-10
"""By how much the losses round a loop may miss nothing, for each metre of head at the source."""

STEPS_MOST = 100
HALVINGS_MOST = 50
SLOPE_SHARE = 1e-5
"""Half-width of the difference quotient for a slope, as a share of the flow."""
SLOPE_LEAST_SHARE = 1e-9
"""Least half-width of it, as a share of all demands."""
SLOPE_FLOOR_SHARE = 1e-9
"""Least slope of a loss, as a share of the head at the source over all demands (no flow: 0)."""


def true_flows(network: RingNetwork, chosen: Sequence[int]) -> tuple[Floats, Floats]:
    """Return the flow of every pipe and the head at every node.

    Args:
        network: the network.
        chosen: the size of every pipe, as positions in the price list.

    Raises:
        SolverFailed: if the losses round some loop could not be closed.
    """
    loops = np.zeros(network.turns.shape[1])
    scale_m = max(1.0, abs(network.available_m))
    for _ in range(STEPS_MOST):
        flows = network.flows_m3_s(loops)
        losses = _losses_m(network, chosen, flows)
        open_m = network.turns.T @ losses
        if np.all(np.abs(open_m) <= CLOSED_M * scale_m):
            return flows, network.available_m - network.ways @ losses
        slopes = _slopes(network, chosen, flows, scale_m)
        system = network.turns.T @ (slopes[:, np.newaxis] * network.turns)
        change = np.asarray(-np.linalg.solve(system, open_m), dtype=np.float64)
        loops = loops + _share(network, chosen, loops, change, open_m) * change
    raise SolverFailed(f"The flows of a ring were not found in {STEPS_MOST} steps.")


def _losses_m(network: RingNetwork, chosen: Sequence[int], flows: Floats) -> Floats:
    pipes = enumerate(zip(chosen, flows.tolist(), strict=True))
    return np.array([network.loss_m(e, size, flow) for e, (size, flow) in pipes])


def _slopes(network: RingNetwork, chosen: Sequence[int], flows: Floats, scale_m: float) -> Floats:
    """Return d(loss)/d(flow) of each pipe by a central difference, above 0."""
    total = network.total_m3_s
    half = np.maximum(SLOPE_SHARE * np.abs(flows), SLOPE_LEAST_SHARE * total)
    rise = _losses_m(network, chosen, flows + half) - _losses_m(network, chosen, flows - half)
    return np.asarray(np.maximum(rise / (2.0 * half), SLOPE_FLOOR_SHARE * scale_m / total))


def _share(
    network: RingNetwork,
    chosen: Sequence[int],
    loops: Floats,
    change: Floats,
    open_m: Floats,
) -> float:
    """Return how much of a step to take: all, unless that overshoots the least energy."""
    begin, share = float(open_m @ change), 1.0
    for _ in range(HALVINGS_MOST):
        losses = _losses_m(network, chosen, network.flows_m3_s(loops + share * change))
        if float(change @ (network.turns.T @ losses)) <= -0.5 * begin:
            return share
        share /= 2.0
    return share
