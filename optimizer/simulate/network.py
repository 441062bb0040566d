"""The supply network of a design: edges, nodes of known head, nodes whose head is to be found.

Edge 0 is the pump, from the sump's water to the node ``"pump"``; every built stretch is one edge
after it. A tank that feeds the beds holds its level, and so parts the network in two. A tree and a
network with rings look the same here. Heads are levels on the site's datum.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from optimizer.errors import BadInput, Problem
from optimizer.physics.arrays import Array
from optimizer.records.design import BuiltStretch, Design
from optimizer.records.header_tank import TANK

Indices = NDArray[np.int64]

PUMP = "pump"
"""The node at the pump's outlet."""

SUMP = "\nsump water"
TANK_INLET = "\ntank inlet"
PUMPED = "\npump"
"""The sump's water, where a riser ends over a tank's water, and the edge of the pump.

No design names these. Beds and pipes may be called anything that prints on one line, so these
begin with a line break.
"""

KEPT = 64
"""Networks kept ready for the next level, or the next valve setting, of the same design."""


@dataclass(frozen=True)
class Network:
    """Edges between nodes whose head is known and nodes whose head is to be found.

    Attributes:
        edges: edge ids.
        tails: the node each edge starts from; flow along the edge counts as positive.
        heads: the node each edge leads to.
        known: nodes of known head, the source first; every other node's head is unknown.

    Raises:
        BadInput: if some node is not joined to the source, or to a tank that feeds the beds.
    """

    edges: tuple[str, ...]
    tails: tuple[str, ...]
    heads: tuple[str, ...]
    known: tuple[str, ...]

    def __post_init__(self) -> None:
        lost = self._unreached()
        if lost:
            raise BadInput([_unreached_problem(node) for node in lost])

    @cached_property
    def nodes(self) -> tuple[str, ...]:
        """Nodes of unknown head, in order of first mention."""
        known = set(self.known)
        return tuple(n for n in dict.fromkeys(self.tails + self.heads) if n not in known)

    def ends(self, among: Sequence[str]) -> tuple[Indices, Indices]:
        """Return where edges begin and end in a list of nodes; its length where not in it."""
        index = {node: i for i, node in enumerate(among)}
        nowhere = len(index)
        tails, heads = (
            np.array([index.get(node, nowhere) for node in side], dtype=np.int64)
            for side in (self.tails, self.heads)
        )
        return tails, heads

    def _unreached(self) -> list[str]:
        every = self.nodes + self.known
        index = {node: i for i, node in enumerate(every)}
        rows, columns = ([index[n] for n in ends] for ends in (self.tails, self.heads))
        shape = (len(every), len(every))
        links = csr_array((np.ones(len(rows)), (rows, columns)), shape=shape)
        _, labels = connected_components(links, directed=False)
        sources = {labels[index[node]] for node in (self.known[0], TANK) if node in index}
        return [node for node in self.nodes if labels[index[node]] not in sources]


def supply_network(design: Design) -> Network:
    """Return the whole supply: pump, every stretch, every bed an outlet of known head."""
    beds = (bed.id for bed in design.beds)
    return _with_pump(design.stretches, [*_held_nodes(design), *beds])


def supply_without_drops(design: Design) -> Network:
    """Return pump, riser, header and laterals only, as when each take-off's flow is given."""
    return _with_pump(pipes_without_drops(design), _held_nodes(design))


def held_heads_m(design: Design, sump_level_m: float) -> dict[str, float]:
    """Return the heads of the sump's water, and of the water and inlet of a tank over the beds."""
    held = {SUMP: design.sump.floor_level_m + sump_level_m}
    if design.tank is not None:
        held |= {TANK: design.tank.water_level_m, TANK_INLET: design.tank.inlet_level_m}
    return held


def _held_nodes(design: Design) -> list[str]:
    return list(held_heads_m(design, 0.0))


def pipes_without_drops(design: Design) -> tuple[BuiltStretch, ...]:
    """Return the built stretches that are not some bed's drop, in order."""
    drops = {bed.drop for bed in design.beds}
    return tuple(stretch for stretch in design.stretches if stretch.id not in drops)


def _with_pump(stretches: Iterable[BuiltStretch], known: Sequence[str]) -> Network:
    pipes = tuple(stretches)
    return _kept(
        (PUMPED, *(pipe.id for pipe in pipes)),
        (SUMP, *(pipe.tail for pipe in pipes)),
        (PUMP, *(TANK_INLET if pipe.head == TANK else pipe.head for pipe in pipes)),
        tuple(known),
    )


@lru_cache(maxsize=KEPT)
def _kept(
    edges: tuple[str, ...], tails: tuple[str, ...], heads: tuple[str, ...], known: tuple[str, ...]
) -> Network:
    """Return the one network of these edges: a design is solved at many levels and settings."""
    return Network(edges, tails, heads, known)


def by_node(values: dict[str, float], nodes: Sequence[str]) -> Array:
    """Return values in the order of ``nodes``; 0 for a node without one."""
    return np.array([values.get(node, 0.0) for node in nodes])


def _unreached_problem(node: str) -> Problem:
    return Problem(
        where=f"stretches, node {node!r}",
        what="No pipe joins this node to the pump.",
        fix="Give it a stretch from a node that has one.",
    )
