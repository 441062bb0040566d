"""From any sizes of a network to sizes that keep all heads, then to cheaper ones. No proof here."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence

import numpy as np

from optimizer.milp.ring_flows import true_flows
from optimizer.milp.ring_input import RingNetwork, Sizes

KEPT_M = 1e-8
"""A head this much below what is needed counts as kept: the rounding of flows and losses."""

KEPT_SHARE = 1e-9
"""A flow this much over its limit counts as within it, as a share of all demands."""


def widest(network: RingNetwork) -> Sizes:
    """Return the widest size of every pipe."""
    offered = network.pipes.most_m3_s > 0.0
    places = np.argmax(np.where(offered, network.pipes.widths, -np.inf), axis=1)
    return tuple(places.tolist())


def short_m(network: RingNetwork, chosen: Sizes) -> float:
    """Return what all nodes together lack of the heads they need; 0 where all are kept.

    Flow beyond a pipe's limit counts as head: all demands as the head at the source.
    """
    flows, heads = true_flows(network, chosen)
    lack = network.required_m - heads
    limits = network.pipes.most_m3_s[np.arange(len(chosen)), list(chosen)]
    over = (np.abs(flows) - limits) / (network.total_m3_s or 1.0)
    too_fast = float(np.sum(over[over > KEPT_SHARE]))
    return float(np.sum(lack[lack > KEPT_M])) + too_fast * max(1.0, abs(network.available_m))


def cost_of(network: RingNetwork, chosen: Sequence[int]) -> float:
    """Return what the pipes of a choice cost."""
    return float(network.prices[np.arange(len(chosen)), list(chosen)].sum())


def fitted(network: RingNetwork, chosen: Sizes) -> Sizes:
    """Return sizes with every pipe to a leaf the cheapest that keeps its head, the others as given.

    No other flow or head hangs on such a pipe. Where none keeps it, the one that loses least.
    """
    leaves = network.leaves
    if not len(leaves.edges):
        return chosen
    _, heads = true_flows(network, chosen)
    spare_m = heads[leaves.inner] - network.required_m[leaves.outer]
    sizes = np.array(chosen)
    keeps = leaves.losses_m <= spare_m[:, np.newaxis]
    cheapest = np.where(keeps, network.prices[leaves.edges], np.inf).argmin(axis=1)
    sizes[leaves.edges] = np.where(keeps.any(axis=1), cheapest, leaves.losses_m.argmin(axis=1))
    return tuple(sizes.tolist())


def mended(network: RingNetwork, chosen: Sizes, dearest: float) -> Sizes | None:
    """Return sizes that keep all heads, each step the widening that gains most head for its money.

    None where no single widening gains any more, or more than ``dearest`` would be spent.
    """
    chosen = fitted(network, chosen)
    lack = short_m(network, chosen)
    while lack > 0.0:
        cost = cost_of(network, chosen)
        best, best_worth = None, 0.0
        for step in _steps(network, chosen, 1):
            gained = lack - short_m(network, step)
            worth = gained / max(cost_of(network, step) - cost, 1e-9)
            if gained > 0.0 and worth > best_worth:
                best, best_worth = step, worth
        if best is None or cost_of(network, best) > dearest:
            return None
        chosen, lack = best, short_m(network, best)
    return chosen


def trimmed(network: RingNetwork, chosen: Sizes, banned: Container[Sizes] = frozenset()) -> Sizes:
    """Return cheaper sizes that still keep all heads, each step the narrowing that saves most."""
    fit = fitted(network, chosen)
    if fit not in banned and cost_of(network, fit) < cost_of(network, chosen):
        chosen = fit
    while True:
        cost = cost_of(network, chosen)
        steps = sorted(_steps(network, chosen, -1), key=lambda s: (cost_of(network, s), s))
        cheaper = (s for s in steps if cost_of(network, s) < cost and s not in banned)
        step = next((s for s in cheaper if short_m(network, s) == 0.0), None)
        if step is None:
            return chosen
        chosen = step


def _steps(network: RingNetwork, chosen: Sizes, by: int) -> Iterator[Sizes]:
    """Yield the choices with one pipe a bore wider (1) or narrower (-1), those to leaves fitted."""
    pipes, leaves = network.pipes, set(network.leaves.edges.tolist())
    for e, size in enumerate(chosen):
        if e in leaves:
            continue
        offered = np.flatnonzero(pipes.most_m3_s[e] > 0.0)
        order = offered[np.argsort(pipes.widths[e, offered], kind="stable")].tolist()
        place = order.index(size) + by
        if 0 <= place < len(order):
            yield fitted(network, (*chosen[:e], order[place], *chosen[e + 1 :]))
