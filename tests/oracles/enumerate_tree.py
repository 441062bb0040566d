"""The least cost of a tree of pipes by trying sizes stretch by stretch, depth first.

It shares no code and no idea with the fronts: it walks the tree from the source, subtracts losses
as it goes, and leaves a branch of the search only when a node is short of head or the money spent,
with the cheapest price for all that is still open, is not below the best found.
"""

import math

TINY_M = 1e-12  # heads in the hundreds of metres carry this much rounding
PAD = 1e-12  # relative: sums of money in another order


class HazenWilliamsByHand:
    """h = 10.667 L Q^1.852 / (C^1.852 D^4.871), SI, written here apart from the library."""

    def __init__(self, c):
        self.c = c

    def head_loss_m(self, flow_m3_s, length_m, bore_m, loss_coefficient=0.0):
        friction = 10.667 * length_m * flow_m3_s**1.852 / (self.c**1.852 * bore_m**4.871)
        velocity = flow_m3_s / (math.pi * bore_m**2 / 4)
        return friction + loss_coefficient * velocity**2 / (2 * 9.80665)


def least_tree_cost(source, children, nodes, edges, sizes, friction):
    """Least cost, or None.

    source: (node, head); children: node to its children; nodes: node to (demand, head required or
    None); edges: (tail, head) to (length, loss coefficient); sizes: (bore, price per metre).
    """
    order = []
    stack = [source[0]]
    while stack:
        node = stack.pop()
        for child in children.get(node, []):
            order.append((node, child))
            stack.append(child)

    def below(node):
        return nodes[node][0] + sum(below(child) for child in children.get(node, []))

    flows = [below(head) for _, head in order]
    cheapest = min(price for _, price in sizes)
    open_cost = [cheapest * sum(edges[e][0] for e in order[k:]) for k in range(len(order) + 1)]
    best = [math.inf]

    def follow(k, heads, spent):
        if spent + open_cost[k] >= best[0] * (1 - PAD):
            return
        if k == len(order):
            best[0] = spent
            return
        tail, head = order[k]
        length, coefficient = edges[order[k]]
        for bore, price in sizes:
            left = heads[tail] - friction.head_loss_m(flows[k], length, bore, coefficient)
            needed = nodes[head][1]
            if needed is None or left >= needed - TINY_M:
                follow(k + 1, {**heads, head: left}, spent + length * price)

    root, available = source
    if nodes[root][1] is None or available >= nodes[root][1]:
        follow(0, {root: available}, 0.0)
    return None if best[0] == math.inf else best[0]
