"""A proven lower bound for sizing a tree, and what it says one metre of head is worth where.

Letting every stretch be split between sizes gives a linear program whose optimum is below every
design. Its dual prices put a worth on head at every node; whatever prices are used, the sum of
each stretch's least (price + worth of its loss) is a bound, so rounding in the prices does no harm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_array

from optimizer.milp.fronts import Floats
from optimizer.milp.tree_input import SizedTree


@dataclass(frozen=True)
class TreeBound:
    """The bound and its parts.

    Attributes:
        price_of_head: worth of a metre at the inlet of each stretch.
        below: least of cost + worth of head needed, for each stretch with all that hangs below.
        total: lower bound on the cost of the whole tree.
    """

    price_of_head: Floats
    below: Floats
    total: float


def tree_bound(tree: SizedTree) -> TreeBound:
    """Bound the cost of a tree from below.

    Args:
        tree: a tree that has some design.
    """
    raw = _dual_prices(tree)
    count = len(tree.edges)
    price, below = np.zeros(count), np.zeros(count)
    for e in reversed(range(count)):
        node = tree.edges[e][1]
        leaving = tree.leaving[node]
        required = tree.required_m[node]
        passed_on = float(sum(price[c] for c in leaving))
        own = max(0.0, raw[e] - passed_on) if np.isfinite(required) else 0.0
        price[e] = passed_on + own
        least = float(np.min(tree.prices[e] + price[e] * tree.losses_m[e]))
        below[e] = least + sum(below[c] for c in leaving) + (own * required if own else 0.0)
    first = tree.leaving[tree.root]
    worth = sum(price[e] for e in first) * tree.available_m
    return TreeBound(price, below, float(sum(below[e] for e in first) - worth))


def _dual_prices(tree: SizedTree) -> Floats:
    """What a metre of head is worth at each stretch, from the program with split stretches."""
    count, sizes = tree.losses_m.shape
    place = {head: e for e, (_, head) in enumerate(tree.edges)}
    edge = np.arange(count)
    share = np.arange(count * sizes)
    upstream = np.array([place.get(tail, -1) for tail, _ in tree.edges])
    inner = upstream >= 0
    # head[downstream] - head[upstream] + sum loss * share <= 0
    rows = np.concatenate([np.repeat(edge, sizes), edge, edge[inner]])
    columns = np.concatenate([share, count * sizes + edge, count * sizes + upstream[inner]])
    ones = np.ones(count)
    values = np.concatenate([tree.losses_m.ravel(), ones, -ones[inner]])
    width = count * (sizes + 1)
    needed = [tree.required_m[head] for _, head in tree.edges]
    losses: Any = coo_array((values, (rows, columns)), shape=(count, width)).tocsr()
    one_size: Any = coo_array(
        (np.ones(count * sizes), (np.repeat(edge, sizes), share)), shape=(count, width)
    ).tocsr()
    solved = linprog(
        np.concatenate([tree.prices.ravel(), np.zeros(count)]),
        A_ub=losses,
        b_ub=np.where(inner, 0.0, tree.available_m),
        A_eq=one_size,
        b_eq=ones,
        bounds=[(0.0, None)] * (count * sizes)
        + [(h if np.isfinite(h) else None, None) for h in needed],
        method="highs",
    )
    if solved.status != 0:
        return np.zeros(count)
    return np.maximum(0.0, -np.asarray(solved.ineqlin.marginals, dtype=np.float64))
