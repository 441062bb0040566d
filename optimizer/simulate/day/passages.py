"""Crossing from rim to prime level, and draining to the slots, while the inflow wavers.

Split a bed's volume into ``V = U + D``, where D is the integral of the inflow less its mean over
the passage. Then U changes at (mean inflow - outflow(U + D)), and as D is 0 at both ends, U runs
between the same two fixed volumes as V. With D = 0 the time has a closed form; what D adds is

    the integral of dU [ 1/(mean - outflow(U + D)) - 1/(mean - outflow(U)) ],

small and smooth, taken by Gauss's rule at fixed volumes, whose outflows are known beforehand. The
times at those volumes come along by the rule's own integration matrix. Bends of the inflow (other
beds priming and breaking) enter only through D, which has no corners. Nothing is linearised.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import BedArrays
from optimizer.simulate.day.cycle_arrays import drain_time_s, rim_time_s

RIM_NODES, DRAIN_NODES = 3, 9
"""Gauss nodes of a rim passage and of a draining; odd, so that one lies in the middle."""


def _rule(count: int) -> tuple[Array, Array, Array]:
    """Return Gauss nodes on 0 to 1, weights, and the matrix integrating from 0 to each node."""
    x, w = np.polynomial.legendre.leggauss(count)
    powers = np.vander((x + 1.0) / 2.0, increasing=True)
    grown = powers * ((x + 1.0) / 2.0)[:, None] / np.arange(1, count + 1)
    return (x + 1.0) / 2.0, w / 2.0, grown @ np.linalg.inv(powers)


_RIM_RULE, _DRAIN_RULE = _rule(RIM_NODES), _rule(DRAIN_NODES)


@dataclass(frozen=True, eq=False)
class Passages:
    """Passages of many beds, (beds, cycles), and the water that left the beds in them.

    Attributes:
        length_s: how long each takes.
        nodes_s: time from its beginning at each node, (beds, cycles, nodes).
        total_m3: water that left by its end.
        middle_share: time of the middle node over the length.
        middle_m3: water that left by then.
        flows_m3_s: outflow at beginning, middle node and end.
    """

    length_s: Array
    nodes_s: Array
    total_m3: Array
    middle_share: Array
    middle_m3: Array
    flows_m3_s: tuple[Array, Array, Array]


def rim_passages(from_m3: Array, mean_m3_s: Array, strays_m3: Array, beds: BedArrays) -> Passages:
    """Return the passages from a volume over the rim to the prime volume.

    Args:
        from_m3: volume at the beginning, from the crest's to the prime volume, (beds, cycles).
        mean_m3_s: mean inflow of each passage, above the start flow.
        strays_m3: D at the nodes.
        beds: beds, arrays of shape (beds, 1).
    """
    x, weights, matrix = _RIM_RULE
    deep, wide = beds.deeper(), mean_m3_s[..., None]
    low = np.maximum(from_m3 - beds.crest_m3, 0.0) / beds.store_m2
    high = (beds.prime_m3 - beds.crest_m3) / beds.store_m2
    heads = low[..., None] + (high - low)[..., None] * x
    before = rim_time_s(mean_m3_s, low, beds) if low.any() else np.zeros_like(low)
    plain = rim_time_s(wide, heads, deep) - before[..., None]
    out = deep.weir_scale * heads**1.5
    true = deep.weir_scale * np.maximum(heads + strays_m3 / deep.store_m2, 0.0) ** 1.5
    span = (beds.store_m2 * (high - low))[..., None]
    more = span * (true - out) / ((wide - true) * (wide - out))
    length = rim_time_s(mean_m3_s, high + 0.0 * low, beds) - before + more @ weights
    nodes = plain + more @ matrix.T
    middle = RIM_NODES // 2
    gone = mean_m3_s * nodes[..., middle] - span[..., 0] * x[middle]
    return Passages(
        length_s=length,
        nodes_s=nodes,
        total_m3=mean_m3_s * length - span[..., 0],
        middle_share=_share(nodes[..., middle], length),
        middle_m3=gone,
        flows_m3_s=(beds.weir_scale * low**1.5, true[..., middle], beds.start_m3_s + 0.0 * low),
    )


def drain_passages(from_m3: Array, mean_m3_s: Array, strays_m3: Array, beds: BedArrays) -> Passages:
    """Return the passages of primed siphons from a volume down to the slots.

    Args:
        from_m3: volume at the beginning, (beds, cycles).
        mean_m3_s: mean inflow of each passage, below the discharge at the slots.
        strays_m3: D at the nodes.
        beds: beds, arrays of shape (beds, 1).
    """
    x, weights, matrix = _DRAIN_RULE
    deep, wide = beds.deeper(), mean_m3_s[..., None]
    high, low = beds.siphon_m3_s(from_m3), beds.slots_m3_s
    flows = high[..., None] + (low - high)[..., None] * x
    square = beds.siphon_scale**2 / beds.store_m2
    true = np.sqrt(np.maximum(flows**2 + square[..., None] * strays_m3, 0.0))
    span = (2.0 * (high - low) / square)[..., None]
    more = span * flows * (flows - true) / ((true - wide) * (flows - wide))
    length = drain_time_s(mean_m3_s, high, low + 0.0 * high, beds) + more @ weights
    nodes = drain_time_s(wide, high[..., None], flows, deep) + more @ matrix.T
    middle = DRAIN_NODES // 2
    left = flows[..., middle] ** 2 / square - beds.store_m2 * beds.drop_m
    return Passages(
        length_s=length,
        nodes_s=nodes,
        total_m3=from_m3 + mean_m3_s * length,
        middle_share=_share(nodes[..., middle], length),
        middle_m3=from_m3 - left + mean_m3_s * nodes[..., middle],
        flows_m3_s=(high, true[..., middle], low + 0.0 * high),
    )


def _share(part: Array, whole: Array) -> Array:
    return np.where(whole > 0.0, part / np.where(whole > 0.0, whole, 1.0), 0.5)
