"""Water coming back to the sump: what every passage has given by each node of the level grid.

Inside a passage the water given is the quintic that has the right value and the right flow at its
beginning, at its middle node and at its end.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import Indices
from optimizer.simulate.day.passages import Passages


def given_terms(passages: Passages) -> Array:
    """Return the coefficients of x to x^5 of the water given, x from 0 to 1 over the passage.

    Hermite interpolation by divided differences at 0, 0, m, m, 1, 1.
    """
    m, length = passages.middle_share, passages.length_s
    g0, gm, g1 = (flow * length for flow in passages.flows_m3_s)
    fm, f1, rest = passages.middle_m3, passages.total_m3, 1.0 - passages.middle_share
    first, second = fm / m, (f1 - fm) / rest
    a1, a2, a3, a4 = (first - g0) / m, (gm - first) / m, (second - gm) / rest, (g1 - second) / rest
    b1, b2, b3 = (a2 - a1) / m, a3 - a2, (a4 - a3) / rest
    c1, c2 = b2 - b1, b3 - b2
    d = c2 - c1
    return np.stack(
        [
            g0,
            a1 - b1 * m + (c1 - d) * m * m,
            b1 - 2.0 * c1 * m + d * (2.0 + m) * m,
            c1 - d * (1.0 + 2.0 * m),
            d,
        ]
    )


def polynomial(terms: Array, x: Array) -> Array:
    """Return the water given at shares ``x`` of the passages."""
    k1, k2, k3, k4, k5 = terms
    return np.asarray(x * (k1 + x * (k2 + x * (k3 + x * (k4 + x * k5)))))


def _integral(terms: Array, x: Array) -> Array:
    k1, k2, k3, k4, k5 = terms
    fourth = 0.25 * k3 + x * (0.2 * k4 + x * ((1.0 / 6.0) * k5))
    return np.asarray(x * x * (0.5 * k1 + x * ((1.0 / 3.0) * k2 + x * fourth)))


def given_at_nodes(
    begin: Array, cell_s: float, passages: Passages, first: int, last: int
) -> tuple[Array, Array]:
    """Return the water given by all passages at nodes, and the mean of it in each cell between.

    Args:
        begin: beginning of each passage, in cells from node 0.
        cell_s: length of a cell.
        passages: the passages.
        first: first node, from which on counting starts.
        last: last node.
    """
    start, length = begin.ravel(), passages.length_s.ravel() / cell_s
    end = start + length
    terms, total = given_terms(passages).reshape(5, -1), passages.total_m3.ravel()
    low = np.clip(np.ceil(start), first, last + 1).astype(np.int64)
    high = np.clip(np.ceil(end), first, last + 1).astype(np.int64)
    nodes, which = _ragged(low, high)
    x = (nodes - start[which]) / length[which]
    inside = terms[:, which]
    size = last + 2 - first
    given = _sum(nodes - first, polynomial(inside, x), size)
    grown = _sum(nodes - first, length[which] * _integral(inside, x), size)
    done = np.cumsum(_sum(high - first, total, size))
    whole = length * _integral(terms, np.ones_like(length))
    offset = np.cumsum(_sum(high - first, whole - total * (end - first), size))
    cumulated = (grown + offset + done * np.arange(size))[:-1]
    return (given + done)[:-1], np.diff(cumulated)


def _ragged(low: Indices, high: Indices) -> tuple[Indices, Indices]:
    """Return every whole number from low to below high of each pair, and which pair it is of."""
    counts = np.maximum(high - low, 0)
    which = np.repeat(np.arange(low.size), counts)
    before = np.cumsum(counts) - counts
    return np.arange(which.size) - before[which] + low[which], which


def _sum(at: Indices, values: Array, size: int) -> Array:
    return np.asarray(np.bincount(at, weights=values, minlength=size), dtype=np.float64)
