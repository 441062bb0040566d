"""Random trees and a price list, from a seed (all figures invented)."""

import random

import networkx as nx
import pandas as pd

SIZES = pd.DataFrame(
    {
        "size": ["d20", "d25", "d32", "d40"],
        "bore_m": [0.0155, 0.0204, 0.0262, 0.0326],
        "price_per_m": [0.55, 0.82, 1.31, 1.94],
    }
)


def random_tree(seed: int, edges: int, head_m: float | None = None) -> nx.DiGraph:
    """A tree of nodes 0 to ``edges`` with uneven lengths, demands and heads."""
    rng = random.Random(seed)
    tree = nx.DiGraph()
    tree.add_node(0, head_available_m=rng.uniform(2.0, 12.0) if head_m is None else head_m)
    for node in range(1, edges + 1):
        tree.add_node(node, demand_m3_s=rng.uniform(0.0, 2.4e-3 / edges))
        if rng.random() < 0.7:
            tree.nodes[node]["head_required_m"] = rng.uniform(0.0, 2.0)
        tree.add_edge(rng.randrange(node // 3, node), node, length_m=rng.uniform(2.0, 20.0))
        if rng.random() < 0.3:
            tree.edges[next(iter(tree.in_edges(node)))]["loss_coefficient"] = rng.uniform(0, 5)
    return tree
