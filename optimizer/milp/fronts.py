"""Fronts of (head needed, cost): the whole truth about a subtree, as numpy arrays.

A front lists what a subtree can be had for: rising heads needed at its inlet, falling costs, no
point beaten by another. Two steps build it exactly from the leaves up: joining subtrees that hang
on one node (the largest head, the summed cost) and putting a stretch with its sizes in front.
Nothing is rounded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Front:
    """Points no other point beats.

    Attributes:
        heads_m: head needed at the inlet, strictly rising.
        costs: cost, strictly falling.
        sizes: size index of the first stretch at each point.
        below_m: head the point grants to what hangs below the first stretch.
    """

    heads_m: Floats
    costs: Floats
    sizes: Whole
    below_m: Floats

    def cheapest_within(self, head_m: float) -> int:
        """The index of the cheapest point that needs no more than ``head_m``; -1 if none."""
        return int(np.searchsorted(self.heads_m, head_m, side="right")) - 1


def joined(required_m: float, fronts: Sequence[Front]) -> tuple[Floats, Floats]:
    """Head needed at a node and cost of all that hangs on it, as rising and falling arrays.

    Args:
        required_m: head the node itself needs (-inf for none).
        fronts: the fronts of the stretches that leave it.
    """
    if not fronts:
        return np.array([required_m]), np.array([0.0])
    least = max(required_m, *(float(f.heads_m[0]) for f in fronts))
    every = np.concatenate([f.heads_m for f in fronts])
    heads = np.unique(np.append(every[every > least], least))
    costs = np.zeros_like(heads)
    for front in fronts:
        costs += front.costs[np.searchsorted(front.heads_m, heads, side="right") - 1]
    return heads, costs


def behind_a_stretch(
    heads_m: Floats, costs: Floats, losses_m: Floats, prices: Floats, keep: Cut
) -> Front:
    """Put a stretch in front of what hangs on its downstream node, with every size it may have.

    Args:
        heads_m: head needed at the downstream node, rising.
        costs: cost of what hangs there.
        losses_m: head lost in the stretch, by size.
        prices: price of the stretch, by size.
        keep: which points may still be part of a best answer.
    """
    needed = (heads_m[np.newaxis, :] + losses_m[:, np.newaxis]).ravel()
    total = (costs[np.newaxis, :] + prices[:, np.newaxis]).ravel()
    kept = np.flatnonzero(keep.allows(needed, total))
    order = kept[np.lexsort((total[kept], needed[kept]))]
    cheapest = np.minimum.accumulate(total[order])
    better = np.append(True, cheapest[1:] < cheapest[:-1])[: len(order)]
    chosen = order[better]
    sizes = (chosen // len(heads_m)).astype(np.int64)
    return Front(needed[chosen], total[chosen], sizes, heads_m[chosen % len(heads_m)])


@dataclass(frozen=True)
class Cut:
    """Which points of one subtree may still be part of a best answer.

    Attributes:
        head_most_m: head the inlet can have at most: what is there less the least loss upstream.
        price_of_head: worth of one metre at the inlet, from the proof; 0 where nothing below
            needs head (heads are then -inf) or head is not scarce.
        worth_most: greatest cost + price_of_head * head of a point in an answer not yet beaten.
    """

    head_most_m: float
    price_of_head: float = 0.0
    worth_most: float = np.inf

    def allows(self, heads_m: Floats, costs: Floats) -> Bools:
        """Whether each point passes."""
        worth = costs + self.price_of_head * heads_m if self.price_of_head else costs
        return (heads_m <= self.head_most_m) & (worth <= self.worth_most)


def thinned(heads_m: Floats, costs: Floats, most: int) -> tuple[Floats, Floats]:
    """At most ``most`` points of a joined front, always with the first and the last.

    Every point kept is a true one, so an answer made from a thinned front is an answer; it may
    not be a best one.
    """
    if len(heads_m) <= most:
        return heads_m, costs
    grid = np.linspace(heads_m[0], heads_m[-1], most)
    places = np.unique(np.searchsorted(heads_m, grid, side="right") - 1)
    return heads_m[places], costs[places]
