"""Small networks with rings and a price list, from a seed (all figures invented)."""

import random

import networkx as nx
import pandas as pd

SIZES = pd.DataFrame(
    {
        "size": ["d20", "d25", "d32"],
        "bore_m": [0.0155, 0.0204, 0.0262],
        "price_per_m": [0.55, 0.82, 1.31],
    }
)


def random_ring(seed: int, pipes: int, hanging: int = 0) -> nx.Graph:
    """One ring of so many pipes through the source, node 0, and pipes hanging on its nodes."""
    rng = random.Random(seed)
    ring = nx.Graph()
    ring.add_node(0, head_available_m=rng.uniform(3.0, 9.0))
    for node in range(1, pipes + hanging):
        demand = rng.uniform(0.0, 4e-3 / pipes)
        ring.add_node(node, demand_m3_s=demand, head_required_m=rng.uniform(0.0, 2.0))
        if node >= pipes:
            ring.add_edge(rng.randrange(1, node), node, length_m=rng.uniform(2.0, 20.0))
    for node in range(pipes):
        ring.add_edge(node, (node + 1) % pipes, length_m=float(rng.randint(5, 40)))
        if rng.random() < 0.3:
            ring.edges[node, (node + 1) % pipes]["loss_coefficient"] = rng.uniform(0.0, 5.0)
    return ring


def random_two_rings(seed: int) -> nx.Graph:
    """Four nodes, five pipes: a ring of four with one pipe across, away from the source."""
    rng = random.Random(seed)
    rings = random_ring(seed, 4)
    rings.add_edge(1, 3, length_m=float(rng.randint(5, 40)))
    return rings
