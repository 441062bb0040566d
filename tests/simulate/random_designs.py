"""Random supply trees, some with rings closed, on top of the example design's kinds."""

from __future__ import annotations

import dataclasses
import random

from optimizer.records.design import Bed, BuiltStretch, Design
from tests.builders.make_design import make_design
from tests.oracles.network_oracle import Edge

BORES_M = (0.0266, 0.0351, 0.0409, 0.0525, 0.0779)


def random_design(seed: int, beds: int, rings: int = 0) -> tuple[Design, dict[str, float]]:
    """A design with ``beds`` beds on random junctions, and a K for every valve."""
    dice, base = random.Random(seed), make_design()
    junctions = [f"node_{i}" for i in range(max(2, beds // 2))]
    mains = [_pipe(dice, base, "pump", junctions[0], "riser", 0.0779)]
    for i, node in enumerate(junctions[1:], start=1):
        mains.append(_pipe(dice, base, dice.choice(junctions[:i]), node, f"main_{i}"))
    for i in range(rings):
        tail, head = dice.sample(junctions, 2)
        mains.append(_pipe(dice, base, tail, head, f"ring_{i}"))
    drops, built = [], []
    for i in range(beds):
        drop = _pipe(dice, base, dice.choice(junctions), f"bed_{i}", f"drop_{i}", 0.0266)
        drops.append(drop)
        level = dice.uniform(0.8, 1.2)
        built.append(_bed(base.beds[i % 4], drop, level, dice.choice((0.0209, 0.0266))))
    flow = beds * 2.0e-4
    pump = dataclasses.replace(
        base.pump,
        flows_m3_s=tuple(flow * s for s in (0.0, 0.5, 1.0, 1.6, 2.5)),
        heads_m=(9.0, 8.2, 6.5, 4.6, 1.0),
    )
    design = dataclasses.replace(base, stretches=(*mains, *drops), beds=tuple(built), pump=pump)
    return design, {bed.id: 10.0 ** dice.uniform(2.0, 3.5) for bed in built}


def oracle_edges(design: Design, valve_losses: dict[str, float]) -> list[Edge]:
    """The same pipes in the oracle's words."""
    beds = {bed.drop: bed for bed in design.beds}
    edges = []
    for s in design.stretches:
        sizes = (s.length_m, s.bore_m, s.roughness_m, s.loss_coefficient)
        valve = (valve_losses[beds[s.id].id], beds[s.id].valve_bore_m) if s.id in beds else (0, 1)
        edges.append(Edge(s.id, s.tail, s.head, *sizes, *valve))
    return edges


def _pipe(
    dice: random.Random, base: Design, tail: str, head: str, name: str, bore_m: float | None = None
) -> BuiltStretch:
    return dataclasses.replace(
        base.stretches[0],
        id=name,
        tail=tail,
        head=head,
        bore_m=bore_m or dice.choice(BORES_M),
        length_m=dice.uniform(0.5, 8.0),
        loss_coefficient=dice.uniform(0.0, 4.0),
        roughness_m=dice.choice((1.5e-6, 7e-6, 5e-5)),
    )


def _bed(base: Bed, drop: BuiltStretch, level_m: float, bore_m: float) -> Bed:
    return dataclasses.replace(
        base, id=drop.head, drop=drop.id, outlet_level_m=level_m, valve_bore_m=bore_m
    )
