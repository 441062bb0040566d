"""The sump level over time, and what of the inflow is shared by all beds.

Time is cut into equal cells. In each, the sump level is the quadratic that has the true level at
both ends and the true mean between them; the basis functions of the inflow, taken at its ends and
middle, are quadratics in turn. So the integral of every bed's inflow up to any time is a weighted
sum of a few shared piecewise cubics, right at every node up to the level's own error; inside a cell
a bend of the level (some bed priming or breaking) is missed, and made good at the next node.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.inflow_table import InflowTable


class LevelGrid:
    """Sump level and shared integrals of inflow on equal cells of time, filled in from the left.

    Attributes:
        begin_s: time of the first node.
        cell_s: length of a cell.
        level_m: sump level at the nodes.
        terms: by node, for the cell after it: shared integral at the node, then the three terms of
            its cubic inside the cell, for each basis function, (nodes, 4, rank).
    """

    def __init__(
        self, begin_s: float, end_s: float, cell_s: float, table: InflowTable, level_m: float
    ) -> None:
        cells = max(1, int(np.ceil((end_s - begin_s) / cell_s)))
        self.begin_s, self.cell_s = begin_s, (end_s - begin_s) / cells
        self.end_s, self.cells = end_s, cells
        self.level_m = np.full(cells + 1, level_m)
        self.terms = np.zeros((cells + 1, 4, table.basis.shape[1]))
        self.known = 0
        self._table = table

    def nodes_s(self, first: int, last: int) -> Array:
        """Return the times of nodes from ``first`` to ``last``."""
        times = self.begin_s + self.cell_s * np.arange(first, last + 1)
        return np.asarray(np.minimum(times, self.end_s))

    def node_s(self, node: int) -> float:
        """Return the time of a node."""
        return self.end_s if node == self.cells else self.begin_s + self.cell_s * node

    def fill(self, first: int, last: int, ends_m: Array, means_m: Array) -> None:
        """Set the level from node ``first`` to ``last``, and the shared integrals with it.

        Args:
            first: node whose integral is known.
            last: last node set.
            ends_m: levels at the nodes from ``first`` to ``last``.
            means_m: mean level in each cell between.
        """
        bend = 6.0 * ((ends_m[:-1] + ends_m[1:]) / 2.0 - means_m)
        middles = (ends_m[:-1] + ends_m[1:]) / 2.0 - bend / 4.0
        at_ends = self._table.basis_at(ends_m)
        begin, end, middle = at_ends[:-1], at_ends[1:], self._table.basis_at(middles)
        cell = self.cell_s
        rows = self.terms[first:last]
        rows[:, 1] = cell * begin
        rows[:, 2] = cell * (-3.0 * begin + 4.0 * middle - end) / 2.0
        rows[:, 3] = cell * (2.0 * begin - 4.0 * middle + 2.0 * end) / 3.0
        grown = np.cumsum(rows[:, 1] + rows[:, 2] + rows[:, 3], axis=0)
        self.terms[first + 1 : last + 1, 0] = self.terms[first, 0] + grown
        self.terms[last, 1], self.terms[last, 2:] = cell * at_ends[-1], 0.0
        self.level_m[first : last + 1], self.known = ends_m, last

    def integrals(self, time_s: Array, weights: Array) -> tuple[Array, Array]:
        """Return the integral of each bed's inflow up to times, and its inflow then.

        Args:
            time_s: times, (beds, any); past the last known node the inflow stays as it is there.
            weights: (beds, rank).
        """
        at = (time_s - self.begin_s) / self.cell_s
        node = np.minimum(at.astype(np.int64), self.known)
        share = at - node
        rank = weights.shape[1]
        rows = self.terms.reshape(-1, 4 * rank)[node]
        spread = np.zeros((weights.shape[0], 4 * rank, 4))
        for term in range(4):
            spread[:, term * rank : (term + 1) * rank, term] = weights
        four = rows @ spread
        c0, c1, c2, c3 = four[..., 0], four[..., 1], four[..., 2], four[..., 3]
        total = c0 + share * (c1 + share * (c2 + share * c3))
        flow = (c1 + share * (2.0 * c2 + 3.0 * share * c3)) / self.cell_s
        return total, flow

    def shared_integral(self, first: int, last: int, weights: Array) -> tuple[Array, Array]:
        """Return the integral of all inflow at nodes, and its mean in each cell between.

        Args:
            first: first node.
            last: last node.
            weights: weights of all beds together, (rank,).
        """
        rows = self.terms[first : last + 1] @ weights
        means = rows[:-1, 0] + rows[:-1, 1] / 2.0 + rows[:-1, 2] / 3.0 + rows[:-1, 3] / 4.0
        return rows[:, 0], means
