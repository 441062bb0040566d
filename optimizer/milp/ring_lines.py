"""Head loss between two lines: what each pipe may lose in each size while its loop flows are boxed.

All that is used of a friction law is that loss rises with flow. Between two neighbouring flows the
loss then lies between its values at them, so two lines laid past enough such points hold it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.milp.fronts import Floats, Whole
from optimizer.milp.ring_input import RingNetwork
from optimizer.milp.ring_reach import ROUNDING, Box, Reach, flow_limits

PIECES = 16
"""Pieces of a flow interval by whose ends the two lines are laid."""


@dataclass(frozen=True, eq=False)
class Lines:
    """Pipes in the sizes that a box allows, one entry each.

    Attributes:
        edge: the pipe.
        size: its size.
        low_m3_s: its least flow.
        width_m3_s: its greatest flow less its least.
        rise_m: what both lines rise by from the least flow to the greatest.
        under_m: where the line under the loss starts.
        over_m: where the line over the loss starts.
    """

    edge: Whole
    size: Whole
    low_m3_s: Floats
    width_m3_s: Floats
    rise_m: Floats
    under_m: Floats
    over_m: Floats


def lines_of(network: RingNetwork, reach: Reach, box: Box) -> Lines:
    """Return the lines of every pipe in every size that can carry some flow of a box."""
    low, high = flow_limits(network, box)
    least = np.maximum(low[:, np.newaxis], reach.least_m3_s)
    most = np.minimum(high[:, np.newaxis], reach.greatest_m3_s)
    slack = ROUNDING * network.total_m3_s
    rows = [
        (e, s, *_line(network, e, s, float(least[e, s]), float(most[e, s])))
        for e, s in np.argwhere(least <= most + slack).tolist()
    ]
    columns = np.array(rows, dtype=np.float64).reshape(-1, 7).T
    return Lines(columns[0].astype(np.int64), columns[1].astype(np.int64), *columns[2:])


def _line(
    network: RingNetwork, edge: int, size: int, low: float, high: float
) -> tuple[float, float, float, float, float]:
    if high <= low:
        loss = network.loss_m(edge, size, low)
        return low, 0.0, 0.0, loss, loss
    share = np.linspace(0.0, 1.0, PIECES + 1)
    alike = np.full(len(share), 1, dtype=np.int64)
    losses = network.losses_m(alike * edge, alike * size, low + share * (high - low))
    rise = float(losses[-1] - losses[0])
    under = float(np.min(losses[:-1] - rise * share[1:]))
    over = float(np.max(losses[1:] - rise * share[:-1]))
    return low, high - low, rise, under, over
