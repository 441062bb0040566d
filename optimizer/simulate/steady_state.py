"""Find all flows and heads of a network by Newton's method on a sparse system.

For every edge the head lost equals the difference of its ends' heads, and at every node of unknown
head as much flows in as out. Eliminating the flows from Newton's equations leaves one symmetric
positive definite sparse system in the heads (E. Todini and S. Pilati, A gradient algorithm for the
analysis of pipe networks, 1988: from memory, not verified). Since every loss rises strictly with
its flow, the answer is unique, and a step short enough always leads towards it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import diags_array
from scipy.sparse.linalg import splu

from optimizer.errors import FloodwrightError
from optimizer.physics.arrays import Array
from optimizer.simulate.edge_losses import EdgeLosses
from optimizer.simulate.network import Network
from optimizer.simulate.tolerances import (
    SETTLED_FLOW_SHARE,
    SOLVED_FLOW_LEAST_M3_S,
    SOLVED_FLOW_SHARE,
    SOLVED_HEAD_M,
)

_STEPS_MOST = 80
_CUTS_MOST = 40
_SLOPE_SHARE = 1e-5
"""Half-width of the difference quotient for a slope, as a share of the flow."""
_SLOPE_LEAST_M3_S = 1e-9
"""Least half-width of that difference quotient."""
_SLOPE_FLOOR_S_M2 = 1e-6
"""Least slope of a loss, where a law has none (Hazen-Williams at no flow)."""
_ENOUGH = 0.5
"""A step is short enough once the energy still to be gained along it has fallen to this share."""


class NotSolved(FloodwrightError):
    """The operating point was not found; nothing can be said about the design."""


@dataclass(frozen=True, eq=False)
class SteadyState:
    """Flows and heads that agree.

    Attributes:
        flows_m3_s: flow along each edge.
        heads_m: head at each node of unknown head.
        steps: Newton steps taken.
    """

    flows_m3_s: Array
    heads_m: Array
    steps: int


def steady_state(
    network: Network, losses: EdgeLosses, known_heads_m: Array, draws_m3_s: Array, start: Array
) -> SteadyState:
    """Return the flows and heads of a network.

    Args:
        network: edges and nodes.
        losses: head lost along each edge, rising strictly with its flow.
        known_heads_m: head at each node of known head.
        draws_m3_s: flow taken out at each node of unknown head.
        start: any flows to start from, one for each edge; they need not balance.

    Returns:
        Flows that balance at every node and heads that differ by each edge's loss.

    Raises:
        NotSolved: if that was not reached.
    """
    task = _Task(network, losses, network.known_incidence @ known_heads_m, draws_m3_s)
    flows, balanced = start, False
    for step in range(1, _STEPS_MOST + 1):
        heads, change = task.newton(flows)
        if balanced and task.solved(flows, heads, change):
            return SteadyState(flows, heads, step)
        share = task.share_of(flows, heads, change) if balanced else 1.0
        flows = flows + share * change
        balanced = True
    raise NotSolved(f"The operating point was not found in {_STEPS_MOST} steps.")


@dataclass(frozen=True, eq=False)
class _Task:
    network: Network
    losses: EdgeLosses
    known_fall_m: Array
    draws_m3_s: Array

    def newton(self, flows: Array) -> tuple[Array, Array]:
        """Return the heads and the change of flows of a whole Newton step."""
        ease = 1.0 / self.slopes(flows)
        joins = self.network.incidence
        lack = self.known_fall_m - self.losses.head_loss_m(flows)
        system = (joins.T @ diags_array(ease) @ joins).tocsc()
        right = -self.draws_m3_s - joins.T @ (flows + ease * lack)
        try:
            heads = splu(system, permc_spec="MMD_AT_PLUS_A").solve(right)
        except RuntimeError as fault:
            raise NotSolved("The operating point has no single answer.") from fault
        return heads, ease * (joins @ heads + lack)

    def slopes(self, flows: Array) -> Array:
        """Return d(loss)/d(flow) of each edge, by a central difference, above 0."""
        half = np.maximum(_SLOPE_SHARE * np.abs(flows), _SLOPE_LEAST_M3_S)
        rise = self.losses.head_loss_m(flows + half) - self.losses.head_loss_m(flows - half)
        return np.asarray(np.maximum(rise / (2.0 * half), _SLOPE_FLOOR_S_M2))

    def solved(self, flows: Array, heads: Array, change: Array) -> bool:
        """Return whether flows and heads agree within the tolerances."""
        greatest = _greatest(flows)
        balance = self.network.incidence.T @ flows + self.draws_m3_s
        fair = max(SOLVED_FLOW_SHARE * greatest, SOLVED_FLOW_LEAST_M3_S)
        agrees = np.abs(self._errors_m(flows, heads)) <= SOLVED_HEAD_M
        settled = np.abs(change) <= SETTLED_FLOW_SHARE * greatest
        return bool(np.all(agrees | settled)) and _greatest(balance) <= fair

    def share_of(self, flows: Array, heads: Array, change: Array) -> float:
        """Return how much of a step to take: all, unless that overshoots the least energy.

        The slope of the energy along the step is the sum of error times change. Heads drop out of
        it, as the change balances at every node, but leaving them in keeps rounding small.
        """
        begin = self._errors_m(flows, heads) @ change
        share = 1.0
        for _ in range(_CUTS_MOST):
            slope = self._errors_m(flows + share * change, heads) @ change
            if slope <= -_ENOUGH * begin:
                return share
            share /= 2.0
        return share

    def _errors_m(self, flows: Array, heads: Array) -> Array:
        """Return how far each edge's loss exceeds the difference of its ends' heads."""
        fall = self.network.incidence @ heads + self.known_fall_m
        return np.asarray(self.losses.head_loss_m(flows) - fall)


def _greatest(values: Array) -> float:
    return float(np.max(np.abs(values))) if values.size else 0.0
