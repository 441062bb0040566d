"""How long rings take to size with proof: the two-loop network, and header rings of many take-offs.

``python -m tests.benchmarks.bench_rings [--most 16]`` prints the figures of docs/benchmarks.md, in
seconds of the processor's own clock.
"""

from __future__ import annotations

import argparse
import time

import networkx as nx
import pandas as pd

from optimizer import HazenWilliams, size_rings
from tests.milp.two_loop import INCHES, two_loop_network

SIZES = pd.DataFrame(
    {
        "size": ["25", "32", "40", "50", "63"],
        "bore_m": [0.0204, 0.0272, 0.034, 0.0426, 0.0536],
        "price_per_m": [0.9, 1.3, 1.9, 2.8, 4.2],
    }
)
"""Invented sizes and prices."""


def header_ring(take_offs: int) -> nx.Graph:
    """A header closed into a ring: uneven take-offs 2 m apart, fed at one of them, all invented."""
    ring = nx.Graph()
    ring.add_node(0, head_available_m=3.0)
    for n in range(1, take_offs + 1):
        flow = 2.4e-3 / take_offs * (0.8 + 0.1 * (n * 7 % 5))
        ring.add_node(n, demand_m3_s=flow, head_required_m=1.6 + 0.1 * (n * 3 % 4))
    nx.add_cycle(ring, range(take_offs + 1))
    for a, b in ring.edges:
        ring.edges[a, b]["length_m"] = 2.0 + (a * 5 + b) % 3
    return ring


def told(name, network, sizes, law):
    """Size a network and print cost, gap, boxes and time."""
    started = time.process_time()
    found = size_rings(network, sizes, law, time_limit_s=600.0)
    seconds = time.process_time() - started
    print(
        f"| {name} | {network.number_of_edges()} x {len(sizes)} | {found.cost:,.2f} | "
        f"{100.0 * found.gap:.4f} % | {found.boxes} | {seconds:.1f} s |",
        flush=True,
    )


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--most", type=int, default=24)
    most = asked.parse_args().most
    print(
        "| network | pipes x sizes | cost | proven gap | boxes | CPU |\n|---|---|---|---|---|---|"
    )
    told("two loops, published", two_loop_network(), INCHES, HazenWilliams(130.0))
    for take_offs in (8, 16, 24):
        if take_offs <= most:
            name = f"header ring, {take_offs} take-offs"
            told(name, header_ring(take_offs), SIZES, HazenWilliams(150.0))


if __name__ == "__main__":
    main()
