"""Size a tree of pipes at least cost, exactly: one size for every stretch, heads kept everywhere.

Usable alone: it needs a networkx tree, a price list and a friction law, and nothing of a site.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import networkx as nx
import pandas as pd

from optimizer.errors import Infeasible, Remedy, SolverFailed
from optimizer.milp.fronts import Cut, Floats, Front, behind_a_stretch, joined, thinned
from optimizer.milp.tree_bound import TreeBound, tree_bound
from optimizer.milp.tree_input import Edge, Friction, SizedTree, read_tree

ROUGH_POINTS = (400, 400, 4000)  # points kept at a node in each search for a good first answer
HEAD_ROUNDING = 1e-15  # relative rounding allowed at each stretch when heads are added up
COST_ROUNDING = 1e-9  # relative rounding allowed when a bound is held against a cost


@dataclass(frozen=True)
class TreeSizes:
    """A sized tree.

    Attributes:
        sizes: edge to the name of its size.
        cost: sum of length times price per metre, in the price list's money, never rounded.
        bound: proven lower bound on the cost of any sizing.
        gap: relative gap between the two (0: proven).
        heads_m: node to the head it has.
    """

    sizes: Mapping[Edge, Hashable]
    cost: float
    bound: float
    gap: float
    heads_m: Mapping[Hashable, float]


def size_tree(tree: nx.DiGraph[Any], sizes: pd.DataFrame, friction: Friction) -> TreeSizes:
    """Choose one size for every stretch of a tree so that the whole costs least.

    The answer is exact: subtree fronts of (head needed, cost) hold every sizing that could be
    part of a best one. Points that a proven bound rules out are dropped. Equal costs are settled
    the same way every time: less head needed first, then the size listed first.

    Args:
        tree: edges point away from one root. The root carries ``head_available_m`` (m). Edges
            carry ``length_m`` (m) and may carry ``loss_coefficient`` (sum of local K). Nodes may
            carry ``demand_m3_s`` (m3/s, missing: 0) and ``head_required_m`` (m, missing: none).
        sizes: columns ``size`` (any name), ``bore_m`` (m), ``price_per_m`` (money per metre).
        friction: an object with ``head_loss_m(flow_m3_s, length_m, bore_m, loss_coefficient)``.

    Returns:
        Sizes, cost, bound, gap and heads.

    Raises:
        BadInput: with everything that is wrong with the tree or the price list.
        Infeasible: where even the sizes that lose least leave some node short of head.
    """
    read = read_tree(tree, sizes, friction)
    most_m = _most_heads(read)
    _refuse_short_heads(read, most_m)
    if not read.edges:
        return TreeSizes({}, 0.0, 0.0, 0.0, {read.root: read.available_m})
    bound = tree_bound(read)
    cost = math.inf
    for points in (*ROUGH_POINTS, None):
        fronts = _walked_up(read, _cuts(read, most_m, bound, cost), points)
        chosen = _walked_down(read, fronts)
        cost = min(cost, _cost(read, chosen))
    return _finished(read, chosen)


def _most_heads(read: SizedTree) -> list[float]:
    """Head at the inlet of every stretch if everything upstream loses least."""
    at: dict[Hashable, float] = {read.root: read.available_m}
    least = read.losses_m.min(axis=1)
    for e, (tail, head) in enumerate(read.edges):
        at[head] = at[tail] - float(least[e])
    return [at[tail] for tail, _ in read.edges]


def _refuse_short_heads(read: SizedTree, most_m: list[float]) -> None:
    short = {read.root: read.required_m[read.root] - read.available_m}
    for e, (_, head) in enumerate(read.edges):
        short[head] = read.required_m[head] - (most_m[e] - float(read.losses_m[e].min()))
    worst = max(short, key=lambda node: short[node])
    if short[worst] > _rounding_m(read) / 2:
        raise Infeasible(
            f"Node {worst} cannot have the {read.required_m[worst]:.3f} m of head it needs: with "
            f"the largest size everywhere it is still {short[worst]:.3f} m short.",
            [Remedy("the head at the source", f"{short[worst]:.3f} m more head at {read.root}.")],
        )


def _cuts(read: SizedTree, most_m: list[float], bound: TreeBound, cost: float) -> list[Cut]:
    """For every stretch, what a point must keep to if its answer is to cost at most ``cost``.

    An answer costs at least ``bound.total`` plus what one subtree's point costs above its part of
    the bound; so a point may lie above that part by no more than ``cost - bound.total``.
    """
    spare = cost * (1.0 + COST_ROUNDING) - bound.total
    return [
        Cut(most_m[e], float(bound.price_of_head[e]), float(bound.below[e]) + spare)
        for e in range(len(read.edges))
    ]


def _walked_up(read: SizedTree, cuts: list[Cut], most: int | None) -> list[Front]:
    """The front of every stretch, from the leaves up."""
    fronts: list[Front | None] = [None] * len(read.edges)
    slack = _rounding_m(read)
    for e in reversed(range(len(read.edges))):
        node = read.edges[e][1]
        below = [f for c in read.leaving[node] if (f := fronts[c]) is not None]
        heads, costs = _at_node(read.required_m[node], below, most)
        cut = Cut(cuts[e].head_most_m + slack, cuts[e].price_of_head, cuts[e].worth_most)
        fronts[e] = behind_a_stretch(heads, costs, read.losses_m[e], read.prices[e], cut)
    return [front for front in fronts if front is not None]


def _at_node(required_m: float, below: list[Front], most: int | None) -> tuple[Floats, Floats]:
    heads, costs = joined(required_m, below)
    return (heads, costs) if most is None else thinned(heads, costs, most)


def _walked_down(read: SizedTree, fronts: list[Front]) -> list[int]:
    """The size of every stretch, from the root down, each the cheapest its head allows."""
    granted: dict[Hashable, float] = {read.root: read.available_m + _rounding_m(read)}
    chosen = []
    for e, (tail, head) in enumerate(read.edges):
        point = fronts[e].cheapest_within(granted[tail])
        if point < 0:
            raise SolverFailed(f"The fronts of the tree lost the stretch {tail} to {head}.")
        granted[head] = float(fronts[e].below_m[point])
        chosen.append(int(fronts[e].sizes[point]))
    return chosen


def _rounding_m(read: SizedTree) -> float:
    """What adding heads up along the tree's paths may round by."""
    return HEAD_ROUNDING * (1 + len(read.edges)) * max(1.0, abs(read.available_m))


def _cost(read: SizedTree, chosen: list[int]) -> float:
    return math.fsum(float(read.prices[e, size]) for e, size in enumerate(chosen))


def _finished(read: SizedTree, chosen: list[int]) -> TreeSizes:
    heads = {read.root: read.available_m}
    for e, (tail, head) in enumerate(read.edges):
        heads[head] = heads[tail] - float(read.losses_m[e, chosen[e]])
    cost = _cost(read, chosen)
    named = {edge: read.names[size] for edge, size in zip(read.edges, chosen, strict=True)}
    return TreeSizes(named, cost, cost, 0.0, heads)
