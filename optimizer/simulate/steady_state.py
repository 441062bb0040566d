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

from optimizer.errors import FloodwrightError
from optimizer.physics.arrays import Array
from optimizer.simulate.edge_losses import EdgeLosses
from optimizer.simulate.network import Network
from optimizer.simulate.newton_system import NewtonSystem
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
    known = np.append(known_heads_m, 0.0)
    tails, heads_of = network.ends(network.known)
    task = _Task(NewtonSystem.of(network), losses, known[tails] - known[heads_of], draws_m3_s)
    at, balanced = task.at(start), False
    for step in range(1, _STEPS_MOST + 1):
        heads, change = task.newton(at)
        if balanced and task.solved(at, heads, change):
            return SteadyState(at.flows_m3_s, heads, step)
        at = task.stepped(at, heads, change) if balanced else task.at(at.flows_m3_s + change)
        balanced = True
    raise NotSolved(f"The operating point was not found in {_STEPS_MOST} steps.")


@dataclass(frozen=True, eq=False)
class _At:
    """What each edge loses at its flow, and how fast that rises: above 0, in s/m2."""

    flows_m3_s: Array
    losses_m: Array
    slopes_s_m2: Array


@dataclass(frozen=True, eq=False)
class _Task:
    system: NewtonSystem
    losses: EdgeLosses
    known_fall_m: Array
    draws_m3_s: Array

    def at(self, flows: Array) -> _At:
        """Return losses and their slopes by a central difference, from one look at the laws."""
        half = np.maximum(_SLOPE_SHARE * np.abs(flows), _SLOPE_LEAST_M3_S)
        looked = np.stack((flows - half, flows, flows + half))
        below, losses, above = self.losses.head_loss_m(looked)
        slopes = np.maximum((above - below) / (2.0 * half), _SLOPE_FLOOR_S_M2)
        return _At(flows, losses, np.asarray(slopes))

    def newton(self, at: _At) -> tuple[Array, Array]:
        """Return the heads and the change of flows of a whole Newton step.

        Raises:
            NotSolved: if there is no single step.
        """
        ease = 1.0 / at.slopes_s_m2
        lack = self.known_fall_m - at.losses_m
        right = -self.draws_m3_s - self.system.gathered(at.flows_m3_s + ease * lack)
        try:
            heads = self.system.solved_for(ease, right)
        except RuntimeError as fault:
            raise NotSolved("The operating point has no single answer.") from fault
        return heads, ease * (self.system.falls_m(heads) + lack)

    def solved(self, at: _At, heads: Array, change: Array) -> bool:
        """Return whether flows and heads agree within the tolerances."""
        greatest = _greatest(at.flows_m3_s)
        balance = self.system.gathered(at.flows_m3_s) + self.draws_m3_s
        fair = max(SOLVED_FLOW_SHARE * greatest, SOLVED_FLOW_LEAST_M3_S)
        agrees = np.abs(self._errors_m(at, heads)) <= SOLVED_HEAD_M
        settled = np.abs(change) <= SETTLED_FLOW_SHARE * greatest
        return bool(np.all(agrees | settled)) and _greatest(balance) <= fair

    def stepped(self, at: _At, heads: Array, change: Array) -> _At:
        """Return where a step leads: all of it, unless that overshoots the least energy.

        The slope of the energy along the step is the sum of error times change. Heads drop out of
        it, as the change balances at every node, but leaving them in keeps rounding small.
        """
        begin = self._errors_m(at, heads) @ change
        share = 1.0
        for _ in range(_CUTS_MOST):
            there = self.at(at.flows_m3_s + share * change)
            if self._errors_m(there, heads) @ change <= -_ENOUGH * begin:
                return there
            share /= 2.0
        return self.at(at.flows_m3_s + share * change)

    def _errors_m(self, at: _At, heads: Array) -> Array:
        """Return how far each edge's loss exceeds the difference of its ends' heads."""
        return np.asarray(at.losses_m - self.system.falls_m(heads) - self.known_fall_m)


def _greatest(values: Array) -> float:
    return float(np.max(np.abs(values))) if values.size else 0.0
