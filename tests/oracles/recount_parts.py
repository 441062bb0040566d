"""Pipe, pieces and fittings of a design counted again from its geometry; prices from the catalog.

Shares nothing with `optimizer.pack` or the bill: bends are angles between points, branches are
degrees of a graph, ends are nodes without a successor. What it takes from the design is what was
built where: routes, sizes, which pipe stands already, which beds drain where.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from itertools import pairwise

import networkx as nx
import numpy as np

from optimizer.candidates.network import candidate_network
from optimizer.records.design import Design
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

AIR_GAP_M = 0.05
STRAIGHT_DEG, HALF_DEG = 10.0, 60.0
Key = tuple[str, str, str, str]


@dataclass
class Recount:
    """What was counted. A fitting's key is (kind, series, size, other size or "")."""

    fittings: Counter[Key] = field(default_factory=Counter)
    pieces_m: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))

    def add(self, kind: str, pipe, count: int = 1) -> None:
        self.fittings[kind, pipe.series, pipe.nominal, ""] += count

    def join(self, one, other) -> None:
        """A reducer where sizes differ, named by its narrower size first."""
        if one.series != other.series:
            narrow, wide = sorted((one, other), key=lambda p: p.outside_m)
            key = ("adapter", narrow.series, narrow.nominal, f"{wide.series} {wide.nominal}")
            self.fittings[key] += 1
        elif one.nominal != other.nominal:
            narrow, wide = sorted((one, other), key=lambda p: p.outside_m)
            self.fittings["reducer", one.series, narrow.nominal, wide.nominal] += 1


def recount(site: Site, catalog: Catalog, design: Design) -> Recount:
    """Count everything a builder joins."""
    found = Recount()
    _supply(site, catalog, design, found)
    _returns(catalog, design, found)
    _tanks(catalog, design, found)
    return found


def unit_price(catalog: Catalog, key: Key) -> float:
    """The cheapest price of a fitting; a reducer's is that of its narrower size."""
    kind, series, nominal, _ = key
    return min(
        f.price
        for f in catalog.fittings.values()
        if (f.kind, f.series, f.nominal) == (kind, series, nominal)
    )


def _supply(site: Site, catalog: Catalog, design: Design, found: Recount) -> None:
    tree = nx.DiGraph()
    for s in _meeting_once(design):
        tree.add_edge(s.tail, s.head, stretch=s)
    candidates = candidate_network(site).graph
    named = {row.id for row in site.rows if row.named}
    for s in design.stretches:
        pipe = catalog.pipes[s.pipe]
        if s.kind == "drop":
            lone = s.row in named and candidates.out_degree(s.tail) == 1
            _drop(site, catalog, design, s, lone, found)
            continue
        if not s.standing:
            _run(site, s, pipe, found)
        if tree.has_edge(s.tail, s.head):
            _node(catalog, tree, s, pipe, found, named, candidates)
    pump_pipe = next(catalog.pipes[s.pipe] for s in design.stretches if s.tail == "pump")
    riser = next(s for s in design.stretches if s.tail == "pump")
    if not riser.standing:
        n = design.pump.count
        found.add("adapter", pump_pipe, n)
        found.add("tee", pump_pipe, n - 1)
        valves = n if n > 1 else int(site.purchase.non_return_valve)
        found.add("non_return_valve", pump_pipe, valves)


def _meeting_once(design: Design):
    """The pipes, each node reached by one: where two meet, the second leaves both its ends.

    Which way water runs is nothing to who joins pipes: those that meet, less two, are the tees.
    """
    reached: set[str] = set()
    for s in design.stretches:
        if s.head in reached:
            yield replace(s, head=f"middle of {s.id}")
            yield replace(s, tail=s.head, head=f"middle of {s.id}, from its end")
        else:
            reached.add(s.head)
            yield s


def _run(site: Site, s, pipe, found: Recount) -> None:
    """A riser, header or lateral: its bends, and the straight pieces between them."""
    bends = _bends(s.points)
    found.add("elbow_90", pipe, bends["elbow_90"])
    found.add("elbow_45", pipe, bends["elbow_45"])
    if s.tail == "pump":
        found.add("strainer", pipe)
        found.add("union", pipe)
    found.pieces_m[s.pipe] += _straights(s.points, rises=True)


def _drop(site, catalog, design, s, lone, found: Recount) -> None:
    """Up from the lateral to the air gap over the rim, across half the bed, down."""
    bed = next(b for b in design.beds if b.drop == s.id)
    pipe, kind = catalog.pipes[s.pipe], next(k for k in design.kinds if k.id == bed.kind)
    kind_of = next(t for t in site.bed_types if t.id == kind.id)
    container = catalog.containers[kind_of.container]
    inlet = bed.floor_level_m + container.depth_m + AIR_GAP_M
    found.pieces_m[s.pipe] += [abs(inlet - s.points[0][2]), container.width_m / 2.0]
    found.add("elbow_90", pipe, 3 if lone else 2)
    found.add("union", pipe)


def _node(catalog, tree, s, pipe, found: Recount, named, candidates) -> None:
    after = [tree.edges[s.head, node]["stretch"] for node in tree.successors(s.head)]
    drops = [a for a in after if a.kind == "drop"]
    if len(after) == 1 and drops:
        if not (drops[0].row in named and candidates.out_degree(s.head) == 1):
            found.add("tee", pipe)
            found.add("clean_out", pipe)
    elif len(after) > 1:
        old = [a for a in after if a.standing] if s.standing else []
        found.add("tee", pipe, len(after) - max(1, len(old)))
    elif after and not (s.standing and after[0].standing):
        turn = _bend(_headings(s.points)[-1:], _headings(after[0].points)[:1])
        if turn:
            found.add(turn, catalog.pipes[after[0].pipe])
    for a in after:
        if not (s.standing and a.standing):
            found.join(pipe, catalog.pipes[a.pipe])


def _returns(catalog: Catalog, design: Design, found: Recount) -> None:
    above = defaultdict(list)
    for d in design.drains:
        above[d.head].append(d)
    supply = {f"return {s.id}": s for s in design.stretches}
    for d in design.drains:
        pipe = catalog.pipes[d.pipe]
        bends = _bends(supply[d.id].points)
        found.add("elbow_90", pipe, bends["elbow_90"])
        found.add("elbow_45", pipe, bends["elbow_45"])
        found.pieces_m[d.pipe] += _straights([(x, y, 0.0) for x, y, _ in d.points], rises=False)
        beds, pipes = sum(b.drain == d.id for b in design.beds), above[d.tail]
        if beds + len(pipes) > 1:
            found.add("tee", pipe, beds + len(pipes) - 1)
        elif beds:
            found.add("elbow_90", pipe)
            found.add("clean_out", pipe)
        elif pipes:
            turn = _bend(_headings(pipes[0].points)[-1:], _headings(d.points)[:1])
            if turn:
                found.add(turn, pipe)
        for other in pipes:
            found.join(catalog.pipes[other.pipe], pipe)
    for bed in design.beds:
        if bed.drain:
            kit = catalog.kits[next(k.kit for k in design.kinds if k.id == bed.kind)]
            found.add("elbow_90", kit)
            found.add("tee", kit)


def _tanks(catalog: Catalog, design: Design, found: Recount) -> None:
    riser = next(s for s in design.stretches if s.tail == "pump")
    found.add("bulkhead", catalog.pipes[riser.pipe], 2 * (design.sump.count - 1))


def _headings(points) -> list[np.ndarray]:
    steps = [np.subtract(b, a) for a, b in pairwise(points)]
    return [step / np.linalg.norm(step) for step in steps if np.linalg.norm(step) > 0.0]


def _bend(before, after) -> str | None:
    if not before or not after:
        return None
    cosine = float(np.clip(np.dot(before[0], after[0]), -1.0, 1.0))
    degrees = math.degrees(math.acos(cosine))
    if degrees >= HALF_DEG:
        return "elbow_90"
    return "elbow_45" if degrees >= STRAIGHT_DEG else None


def _bends(points) -> Counter[str]:
    headings = _headings(points)
    return Counter(turn for a, b in pairwise(headings) if (turn := _bend([a], [b])))


def _straights(points, rises: bool) -> list[float]:
    """Lengths between bends, a rise beside the way in plan where rises count."""
    found: list[float] = []
    last = None
    for a, b in pairwise(points):
        heading = _headings([a, b])
        if not heading:
            continue
        length = math.hypot(b[0] - a[0], b[1] - a[1]) + (abs(b[2] - a[2]) if rises else 0.0)
        if last is not None and _bend([last], heading) is None:
            found[-1] += length
        else:
            found.append(length)
        last = heading[0]
    return found
