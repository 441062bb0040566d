"""From any sizes of a network to sizes that keep all heads, then to cheaper ones. No proof here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from optimizer.milp.ring_flows import true_flows
from optimizer.milp.ring_input import RingNetwork

KEPT_M = 1e-8
"""A head this much below what is needed counts as kept: the rounding of flows and losses."""

Sizes = tuple[int, ...]


def short_m(network: RingNetwork, chosen: Sizes) -> float:
    """Return what all nodes together lack of the heads they need; 0 where all are kept."""
    _, heads = true_flows(network, chosen)
    lack = network.required_m - heads
    return float(np.sum(lack[lack > KEPT_M]))


def cost_of(network: RingNetwork, chosen: Sequence[int]) -> float:
    """Return what the pipes of a choice cost."""
    return float(network.prices[np.arange(len(chosen)), list(chosen)].sum())


def mended(network: RingNetwork, chosen: Sizes, dearest: float) -> Sizes | None:
    """Return sizes that keep all heads, each step the widening that gains most head for its money.

    None where no single widening gains any more, or more than ``dearest`` would be spent.
    """
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


def trimmed(network: RingNetwork, chosen: Sizes) -> Sizes:
    """Return cheaper sizes that still keep all heads, each step the narrowing that saves most."""
    while True:
        cost = cost_of(network, chosen)
        steps = sorted(_steps(network, chosen, -1), key=lambda s: (cost_of(network, s), s))
        cheaper = (s for s in steps if cost_of(network, s) < cost and short_m(network, s) == 0.0)
        step = next(cheaper, None)
        if step is None:
            return chosen
        chosen = step


def _steps(network: RingNetwork, chosen: Sizes, by: int) -> Iterator[Sizes]:
    """Yield the choices with one pipe one bore wider (1) or narrower (-1)."""
    order = np.argsort(network.bores_m, kind="stable")
    rank = {int(size): place for place, size in enumerate(order)}
    for e, size in enumerate(chosen):
        place = rank[size] + by
        if 0 <= place < len(order):
            yield (*chosen[:e], int(order[place]), *chosen[e + 1 :])
