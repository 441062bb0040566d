"""What pipes of a network with rings may be built as: what each size loses, carries and widens.

Nothing but that loss rises with flow is asked of any law.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from optimizer.milp.fronts import Floats, Whole
from optimizer.milp.tree_input import Friction

NOT_OFFERED = -1.0
"""Greatest flow of a size that a pipe cannot be built in."""


class RingPipes(Protocol):
    """Every pipe in every size."""

    @property
    def widths(self) -> Floats:
        """A figure that rises from each size to the one that loses less (pipes, sizes)."""
        ...

    @property
    def most_m3_s(self) -> Floats:
        """Greatest flow of each pipe in each size; ``NOT_OFFERED`` for none (pipes, sizes)."""
        ...

    def loss_m(self, edge: int, size: int, flow_m3_s: float) -> float:
        """Return the head that a flow of 0 or more loses; it rises with flow."""
        ...

    def losses_m(self, edges: Whole, sizes: Whole, flows_m3_s: Floats) -> Floats:
        """Return the same for several pipes, each of a size and with a flow."""
        ...

    def like(self, edge: int, size: int) -> Hashable:
        """Return what is equal for pipes in sizes that lose the same at any flow."""
        ...


@dataclass(frozen=True, eq=False)
class LawPipes:
    """Pipes of one price list and one friction law, in any size, without a limit of flow.

    Attributes:
        lengths_m: length of each pipe.
        loss_coefficients: sum of local K of each pipe.
        bores_m: bore of each size.
        friction: the friction law.
    """

    lengths_m: Floats
    loss_coefficients: Floats
    bores_m: Floats
    friction: Friction

    @cached_property
    def widths(self) -> Floats:
        """The bores."""
        return np.broadcast_to(self.bores_m, (len(self.lengths_m), len(self.bores_m)))

    @cached_property
    def most_m3_s(self) -> Floats:
        """No limit."""
        return np.full((len(self.lengths_m), len(self.bores_m)), np.inf)

    def loss_m(self, edge: int, size: int, flow_m3_s: float) -> float:
        """Return the head lost by the law."""
        lost = self.friction.head_loss_m(
            flow_m3_s,
            float(self.lengths_m[edge]),
            float(self.bores_m[size]),
            float(self.loss_coefficients[edge]),
        )
        return float(lost)

    def losses_m(self, edges: Whole, sizes: Whole, flows_m3_s: Floats) -> Floats:
        """Return the heads lost, pipe by pipe: a law need not take arrays."""
        pipes = zip(edges.tolist(), sizes.tolist(), flows_m3_s.tolist(), strict=True)
        return np.array([self.loss_m(e, s, flow) for e, s, flow in pipes])

    def like(self, edge: int, size: int) -> Hashable:
        """Return length, local K and size."""
        return float(self.lengths_m[edge]), float(self.loss_coefficients[edge]), size
