"""The true flows and heads of a network with rings, once every pipe has its size.

The loop flows are the unknowns: round every loop the losses must add up to nothing. Losses rise
with flow, so that sum is the slope of a convex energy, and Newton steps kept short enough lead to
its one least point (the loop method of Hardy Cross, Analysis of flow in networks of conduits or
conductors, University of Illinois Bulletin 286, 1936, with all loops mended at once; from memory,
not verified).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.errors import SolverFailed
from optimizer.milp.fronts import Floats, Whole
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
    sizes = np.array(chosen, dtype=np.int64)
    round_it = _Rings(network, sizes, np.flatnonzero(np.any(network.turns != 0.0, axis=1)))
    loops = np.zeros(network.turns.shape[1])
    for _ in range(STEPS_MOST):
        open_m = round_it.open_m(loops)
        if np.all(np.abs(open_m) <= CLOSED_M * round_it.scale_m):
            flows = network.flows_m3_s(loops)
            losses = network.losses_m(np.arange(len(sizes)), sizes, flows)
            return flows, network.available_m - network.ways @ losses
        change = np.asarray(-np.linalg.solve(round_it.system(loops), open_m), dtype=np.float64)
        loops = loops + round_it.share(loops, change, open_m) * change
    raise SolverFailed(f"The flows of a ring were not found in {STEPS_MOST} steps.")


@dataclass(frozen=True, eq=False)
class _Rings:
    """The pipes that some loop runs through, in their sizes: all that loop flows move."""

    network: RingNetwork
    sizes: Whole
    pipes: Whole

    @property
    def scale_m(self) -> float:
        """Head that losses are measured by."""
        return max(1.0, abs(self.network.available_m))

    @cached_property
    def turns(self) -> Floats:
        """Which way each loop runs through each of these pipes."""
        return np.asarray(self.network.turns[self.pipes])

    def open_m(self, loops: Floats) -> Floats:
        """Return what the losses round each loop miss nothing by."""
        return np.asarray(self.turns.T @ self._losses_m(self._flows(loops)))

    def system(self, loops: Floats) -> Floats:
        """Return how those change with the loop flows."""
        flows, total = self._flows(loops), self.network.total_m3_s
        half = np.maximum(SLOPE_SHARE * np.abs(flows), SLOPE_LEAST_SHARE * total)
        rise = self._losses_m(flows + half) - self._losses_m(flows - half)
        slopes = np.maximum(rise / (2.0 * half), SLOPE_FLOOR_SHARE * self.scale_m / total)
        return np.asarray(self.turns.T @ (slopes[:, np.newaxis] * self.turns))

    def share(self, loops: Floats, change: Floats, open_m: Floats) -> float:
        """Return how much of a step to take: all, unless that overshoots the least energy."""
        begin, share = float(open_m @ change), 1.0
        for _ in range(HALVINGS_MOST):
            if float(change @ self.open_m(loops + share * change)) <= -0.5 * begin:
                return share
            share /= 2.0
        return share

    def _flows(self, loops: Floats) -> Floats:
        return np.asarray(self.network.base_m3_s[self.pipes] + self.turns @ loops)

    def _losses_m(self, flows: Floats) -> Floats:
        return self.network.losses_m(self.pipes, self.sizes[self.pipes], flows)
