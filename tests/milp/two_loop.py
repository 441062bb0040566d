"""The two-loop network of Alperovits & Shamir, 1977: numbers as in checks.md."""

import networkx as nx
import pandas as pd

INCHES = pd.DataFrame(
    [
        (1, 0.0254, 2.0),
        (2, 0.0508, 5.0),
        (3, 0.0762, 8.0),
        (4, 0.1016, 11.0),
        (6, 0.1524, 16.0),
        (8, 0.2032, 23.0),
        (10, 0.254, 32.0),
        (12, 0.3048, 50.0),
        (14, 0.3556, 60.0),
        (16, 0.4064, 90.0),
        (18, 0.4572, 130.0),
        (20, 0.508, 170.0),
        (22, 0.5588, 300.0),
        (24, 0.6096, 550.0),
    ],
    columns=["size", "bore_m", "price_per_m"],
)
LINKS = [(1, 2), (2, 3), (2, 4), (3, 5), (4, 5), (4, 6), (5, 7), (6, 7)]
DEMAND_M3_H = {2: 100, 3: 100, 4: 120, 5: 270, 6: 330, 7: 200}
HEAD_M = {2: 180.0, 3: 190.0, 4: 185.0, 5: 180.0, 6: 195.0, 7: 190.0}

# Alperovits & Shamir, Water Resources Research 13(6), 1977 (numbers read from the MINLPLib
# instance waternd_shamir; elevations and 30 m recalled), demands as m3/h, with
# h = 10.667 L Q^1.852 / (C^1.852 D^4.871). Both loops kept: 419,000 is the best known, proven by
# general branch and bound in a run of our own.
PUBLISHED = {
    (1, 2): 18,
    (2, 3): 10,
    (2, 4): 16,
    (3, 5): 10,
    (4, 5): 4,
    (4, 6): 16,
    (5, 7): 1,
    (6, 7): 10,
}
PUBLISHED_HEADS_M = {2: 203.25, 3: 190.46, 4: 198.45, 5: 183.81, 6: 195.45, 7: 190.55}


def two_loop_tree(without: set[tuple[int, int]]) -> nx.DiGraph:
    """The spanning tree left when two links are taken out."""
    whole = nx.Graph([link for link in LINKS if link not in without])
    tree = nx.DiGraph()
    tree.add_node(1, head_available_m=210.0)
    for tail, head in nx.bfs_edges(whole, 1):
        tree.add_node(head, demand_m3_s=DEMAND_M3_H[head] / 3600, head_required_m=HEAD_M[head])
        tree.add_edge(tail, head, length_m=1000.0)
    return tree


def two_loop_network() -> nx.Graph:
    """The whole network, both loops kept."""
    network = nx.Graph()
    network.add_node(1, head_available_m=210.0)
    for node, head in HEAD_M.items():
        network.add_node(node, demand_m3_s=DEMAND_M3_H[node] / 3600, head_required_m=head)
    network.add_edges_from(LINKS, length_m=1000.0)
    return network
