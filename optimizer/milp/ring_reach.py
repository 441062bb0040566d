"""How much each pipe can carry in each size, and how boxes of loop flows shrink by it.

All that is used of a friction law is that head loss rises with flow.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np

from optimizer.milp.fronts import Floats
from optimizer.milp.ring_input import RingNetwork

BISECTIONS = 60
ROUNDS = 4
"""How often a box is shrunk in turn by every pipe."""
ROUNDING = 1e-12
"""Relative rounding allowed where flows are added up, as a share of all demands."""


@dataclass(frozen=True, eq=False)
class Reach:
    """Least and greatest flow of every pipe in every size (pipes, sizes), in m3/s.

    A pipe that can carry nothing in some size has a least flow above its greatest there.
    """

    least_m3_s: Floats
    greatest_m3_s: Floats


@dataclass(frozen=True, eq=False)
class Box:
    """Loop flows between two corners, in m3/s."""

    low: Floats
    high: Floats

    def halves(self, loop: int, at_m3_s: float) -> tuple[Box, Box]:
        """Return the two parts below and above a flow of one loop."""
        high, low = self.high.copy(), self.low.copy()
        high[loop] = low[loop] = at_m3_s
        return Box(self.low, high), Box(low, self.high)


def reach_of(network: RingNetwork) -> Reach:
    """Return what every pipe can carry in a network whose heads are all kept.

    Four things limit it: no flow exceeds all demands less that of the node it leaves, no water
    runs into the source, the head lost is no more than lies between the greatest head (the
    source's) and the least head its lower end may have, and the pipe's own limit of flow.
    """
    known: dict[tuple[Hashable, float], float] = {}

    def most(edge: int, size: int, head_m: float) -> float:
        limit = float(network.pipes.most_m3_s[edge, size])
        key = (network.pipes.like(edge, size), head_m)
        if limit > 0.0 and key not in known:
            known[key] = _carried(network, edge, size, head_m)
        return min(limit, known.get(key, limit))

    shape = network.prices.shape
    least, greatest = np.zeros(shape), np.zeros(shape)
    for e, (tail, head) in enumerate(network.ends.tolist()):
        for s in range(shape[1]):
            greatest[e, s] = min(_passes(network, tail), most(e, s, _fall_m(network, head)))
            least[e, s] = -min(_passes(network, head), most(e, s, _fall_m(network, tail)))
        if head == 0:
            greatest[e] = np.minimum(greatest[e], 0.0)
        if tail == 0:
            least[e] = np.maximum(least[e], 0.0)
    return Reach(least, greatest)


def _fall_m(network: RingNetwork, node: int) -> float:
    return float(network.available_m - network.least_heads_m[node])


def _passes(network: RingNetwork, leaves: int) -> float:
    """Return the most water that can leave a node along one pipe: what others take."""
    return network.total_m3_s - (0.0 if leaves == 0 else float(network.demands_m3_s[leaves]))


def _carried(network: RingNetwork, edge: int, size: int, head_m: float) -> float:
    """Return a flow just not below the greatest that loses no more than ``head_m``."""
    if head_m < 0.0:
        return -1.0
    low, high = 0.0, network.total_m3_s
    if network.loss_m(edge, size, high) <= head_m:
        return high
    for _ in range(BISECTIONS):
        middle = (low + high) / 2.0
        if network.loss_m(edge, size, middle) <= head_m:
            low = middle
        else:
            high = middle
    return high


def whole_box(network: RingNetwork) -> Box:
    """Return a box that holds every loop flow a network can have."""
    most = np.full(network.turns.shape[1], network.total_m3_s)
    return Box(-most, most)


def shrunk(network: RingNetwork, reach: Reach, box: Box) -> Box | None:
    """Return the box without what no size of some pipe could carry; None if nothing is left."""
    slack = ROUNDING * network.total_m3_s
    floor, ceiling = reach.least_m3_s.min(axis=1) - slack, reach.greatest_m3_s.max(axis=1) + slack
    low, high = box.low.copy(), box.high.copy()
    for _ in range(ROUNDS):
        for e, loop in zip(*np.nonzero(network.turns), strict=True):
            sign = network.turns[e, loop]
            others = network.turns[e].copy()
            others[loop] = 0.0
            least, most = _spread(network.base_m3_s[e], others, low, high)
            near, far = sorted(((floor[e] - most) / sign, (ceiling[e] - least) / sign))
            low[loop], high[loop] = max(low[loop], near), min(high[loop], far)
        if np.any(low > high):
            return None
    return Box(low, high)


def flow_limits(network: RingNetwork, box: Box) -> tuple[Floats, Floats]:
    """Return the least and greatest flow of every pipe in a box."""
    return _spread(network.base_m3_s, network.turns, box.low, box.high)


def _spread(base: Floats, turns: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    forth, back = np.maximum(turns, 0.0), np.minimum(turns, 0.0)
    return base + forth @ low + back @ high, base + forth @ high + back @ low
