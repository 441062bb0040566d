"""The least cost of a small network with rings by trying every choice of sizes.

Nothing is bounded or dropped but what costs no less than the best found; every choice is judged by
its own flows. They come from ``network_oracle``, which shares no code and no method with the
program: its unknowns are closed by a general root finder. Here only its friction is another.
"""

from itertools import product

import numpy as np

from tests.oracles.network_oracle import Edge, solve

SHORT_M = 1e-6  # what a head may lack: the root finder's own accuracy


def least_ring_cost(graph, sizes, friction):
    """Least cost and sizes by edge, or None; ``graph`` and ``sizes`` as ``size_rings`` takes them.

    Every choice is solved, also where it is dear, so that the cheapest comes of looking at all.
    """
    source = next(n for n, d in graph.nodes(data=True) if "head_available_m" in d)
    available = graph.nodes[source]["head_available_m"]
    needed = {n: d["head_required_m"] for n, d in graph.nodes(data=True) if "head_required_m" in d}
    draws = {str(n): d.get("demand_m3_s", 0.0) for n, d in graph.nodes(data=True)}
    start = sum(draws.values()) / 3
    pipes = list(graph.edges(data=True))
    bought = list(sizes.itertuples())
    ranked = sorted(
        product(range(len(bought)), repeat=len(pipes)),
        key=lambda c: sum(
            d["length_m"] * bought[s].price_per_m for (*_, d), s in zip(pipes, c, strict=True)
        ),
    )
    for chosen in ranked:
        edges = [
            Edge(f"{a}-{b}", str(a), str(b), d["length_m"], bought[s].bore_m)
            for (a, b, d), s in zip(pipes, chosen, strict=True)
        ]
        coefficients = [d.get("loss_coefficient", 0.0) for *_, d in pipes]

        def loss(flows, edges=edges, coefficients=coefficients):
            return np.array(
                [
                    np.sign(q) * friction.head_loss_m(abs(q), e.length, e.bore, k)
                    for q, e, k in zip(flows.tolist(), edges, coefficients, strict=True)
                ]
            )

        _, heads = solve(edges, loss, str(source), lambda _: available, {}, start, draws)
        if all(heads[str(n)] >= head - SHORT_M for n, head in needed.items()):
            cost = sum(
                d["length_m"] * bought[s].price_per_m
                for (*_, d), s in zip(pipes, chosen, strict=True)
            )
            return cost, {
                (a, b): bought[s].size for (a, b, _), s in zip(pipes, chosen, strict=True)
            }
    return None
