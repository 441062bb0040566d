"""Does it pay to close a header into a ring? Run the study.

python -m studies.ring_header.run            # the full run, some minutes
python -m studies.ring_header.run --quick    # a miniature, some seconds
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from itertools import product
from pathlib import Path

import networkx as nx
import pandas as pd

from optimizer import HazenWilliams, Infeasible, size_rings, size_tree
from optimizer.files import write_text_whole

RESULTS = Path(__file__).parent / "results"
LAW = HazenWilliams(c=150.0)
NEEDED_M = 1.0
"""Head that every take-off needs (invented)."""
SPACING_M = 2.0
SIZES = pd.DataFrame(
    {
        "size": ["25", "32", "40", "50", "63"],
        "bore_m": [0.0204, 0.0272, 0.034, 0.0426, 0.0536],
        "price_per_m": [0.9, 1.3, 1.9, 2.8, 4.2],
    }
)
"""Invented sizes and prices."""


@dataclass(frozen=True)
class Case:
    """A header of equal take-offs in a row, the source at one end.

    Attributes:
        take_offs: how many.
        flow_m3_s: all their flow.
        spare_m: head at the source over what every take-off needs.
        closing_m: length of pipe that would join the far end to the source.
    """

    take_offs: int
    flow_m3_s: float
    spare_m: float
    closing_m: float

    def ring(self) -> nx.Graph:
        """Return the header with its closing pipe; node 0 is the source."""
        ring = nx.cycle_graph(self.take_offs + 1)
        ring.nodes[0]["head_available_m"] = NEEDED_M + self.spare_m
        for node in range(1, self.take_offs + 1):
            ring.nodes[node]["demand_m3_s"] = self.flow_m3_s / self.take_offs
            ring.nodes[node]["head_required_m"] = NEEDED_M
        nx.set_edge_attributes(ring, SPACING_M, "length_m")
        ring.edges[0, self.take_offs]["length_m"] = self.closing_m
        return ring


FULL = [Case(*c) for c in product((6, 12), (1e-3, 2e-3), (0.1, 0.3, 1.0), (2.0, 8.0, 26.0))]
QUICK = [Case(4, 1e-3, spare, 8.0) for spare in (0.1, 0.3)]


def opened(ring: nx.Graph, without: tuple[int, int]) -> nx.DiGraph:
    """Return the tree that is left when one pipe of the ring is not laid."""
    left = ring.copy()
    left.remove_edge(*without)
    tree = nx.DiGraph()
    tree.add_nodes_from(left.nodes(data=True))
    tree.add_edges_from((a, b, left.edges[a, b]) for a, b in nx.bfs_edges(left, 0))
    return tree


def tree_costs(ring: nx.Graph) -> Iterator[tuple[float, tuple[int, int]]]:
    """Yield the least cost of every tree the ring opens into, with the pipe that is left out."""
    for edge in ring.edges:
        try:
            yield size_tree(opened(ring, edge), SIZES, LAW).cost, edge
        except Infeasible:
            continue


def compared(case: Case) -> dict[str, object]:
    """Return the case with what its ring costs, the best open tree, and the plain header."""
    ring = case.ring()
    trees = {edge: cost for cost, edge in tree_costs(ring)}
    best = min(trees, key=lambda e: (trees[e], e), default=None)
    row: dict[str, object] = asdict(case)
    row["plain_header"] = trees.get((0, case.take_offs))
    row["best_open"] = None if best is None else trees[best]
    row["left_out"] = "" if best is None else f"{best[0]}-{best[1]}"
    try:
        sized = size_rings(ring, SIZES, LAW)
        row |= {"ring": sized.cost, "ring_bound": sized.bound, "boxes": sized.boxes}
    except Infeasible:
        row |= {"ring": None, "ring_bound": None, "boxes": None}
    return row


def table(cases: Sequence[Case]) -> pd.DataFrame:
    """Return every case, with the ring's cost over that of the best open tree, in per cent."""
    rows = pd.DataFrame([compared(case) for case in cases])
    rows["ring_more_percent"] = 100.0 * (rows["ring"] / rows["best_open"] - 1.0)
    return rows


def main(words: Sequence[str] | None = None) -> int:
    """Run the study and write its table; return 0."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--quick", action="store_true")
    asked.add_argument("--out", default=str(RESULTS))
    given = asked.parse_args(words)
    begin, path = time.process_time(), Path(given.out) / "rings.csv"
    rows = table(QUICK if given.quick else FULL)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_text_whole(path, rows.to_csv(index=False, float_format="%.6g", lineterminator="\n"))
    print(rows.to_string(index=False))
    print(f"The table is in {path} ({time.process_time() - begin:.0f} s of the processor).")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
