"""Newton's equations of a network in the heads alone: one symmetric system.

Its pattern is the same at every step, so it is found once; a step only sets its entries. A small
system is solved as a full matrix, which is quicker there, a larger one as a sparse one.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dposv
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

from optimizer.physics.arrays import Array
from optimizer.simulate.network import KEPT, Indices, Network

FULL_NODES_MOST = 100
"""Systems of no more nodes are solved as full matrices (Cholesky's method)."""


@dataclass(frozen=True, eq=False)
class NewtonSystem:
    """The sums and differences that join heads at nodes to flows along edges.

    Attributes:
        tails: index among the nodes of unknown head of each edge's tail; their number where the
            tail's head is known.
        heads: the same of each edge's other end.
        nodes: number of nodes of unknown head.
        rows: row of each entry of the system, column by column.
        begins: where in ``rows`` each column begins.
        edges: edge of each term that is added into an entry.
        signs: sign of each term.
        entries: entry that each term is added into.
        places: place of each term in the full matrix, row after row.
    """

    tails: Indices
    heads: Indices
    nodes: int
    rows: NDArray[np.int32]
    begins: NDArray[np.int32]
    edges: Indices
    signs: Array
    entries: Indices
    places: Indices

    @classmethod
    @lru_cache(maxsize=KEPT)
    def of(cls, network: Network) -> NewtonSystem:
        """Return the system of a network: an entry for each node and for each two neighbours."""
        nodes = len(network.nodes)
        tails, heads = network.ends(network.nodes)
        every = np.arange(tails.size)
        from_unknown, to_unknown = tails < nodes, heads < nodes
        inner = from_unknown & to_unknown
        rows = (tails[from_unknown], heads[to_unknown], tails[inner], heads[inner])
        columns = (tails[from_unknown], heads[to_unknown], heads[inner], tails[inner])
        edges = (every[from_unknown], every[to_unknown], every[inner], every[inner])
        signs = [np.full(each.size, sign) for each, sign in zip(rows, (1, 1, -1, -1), strict=True)]
        places = np.concatenate(columns) * nodes + np.concatenate(rows)
        kept, entries = np.unique(places, return_inverse=True)
        begins = np.searchsorted(kept, np.arange(nodes + 1) * nodes).astype(np.int32)
        in_column = (kept % max(nodes, 1)).astype(np.int32)  # as the solver of the system wants it
        return cls(
            *(tails, heads, nodes, in_column, begins),
            *(np.concatenate(edges), np.concatenate(signs).astype(np.float64), entries, places),
        )

    def falls_m(self, heads_m: Array) -> Array:
        """Return the fall along each edge from tail to head; known heads count as 0."""
        ends = np.append(heads_m, 0.0)
        return np.asarray(ends[self.tails] - ends[self.heads])

    def gathered(self, flows: Array) -> Array:
        """Return what flows out of each node along its edges, less what flows in."""
        out = np.bincount(self.tails, flows, self.nodes + 1)
        return np.asarray((out - np.bincount(self.heads, flows, self.nodes + 1))[:-1])

    def solved_for(self, ease: Array, right: Array) -> Array:
        """Return the heads x with gathered(ease * falls(x)) = right.

        Args:
            ease: change of flow with head of each edge, above 0.
            right: one value for each node.

        Raises:
            RuntimeError: if there is no single answer.
        """
        terms = self.signs * ease[self.edges]
        if self.nodes <= FULL_NODES_MOST:
            return self._solved_full(terms, right)
        values = np.bincount(self.entries, terms, self.rows.size)
        shape = (self.nodes, self.nodes)
        system = csc_array((values, self.rows, self.begins), shape=shape)
        return np.asarray(splu(system, permc_spec="MMD_AT_PLUS_A").solve(right))

    def _solved_full(self, terms: Array, right: Array) -> Array:
        shape = (self.nodes, self.nodes)
        system = np.bincount(self.places, terms, self.nodes**2).reshape(shape)
        _, heads, failed = dposv(system, right)
        if failed:
            raise RuntimeError("the system has no single answer")
        return np.asarray(heads)
