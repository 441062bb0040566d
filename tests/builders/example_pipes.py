"""The pipes of example designs: a riser, a header along x, a lateral along each row, drops."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.physics.pipe import head_loss_m
from optimizer.records.design import BedKind, BuiltFitting, BuiltStretch

BORES_M = (0.0209, 0.0266, 0.0351, 0.0409, 0.0525, 0.0779, 0.1023, 0.1541, 0.2027, 0.3, 0.4, 0.6)
ROUGHNESS_M = 1.5e-6
VELOCITY_AIM_M_S = 1.1
OPEN_VALVE_LOSS = 0.05
OUTLET_LEVEL_M = 1.0
PIPE_LEVEL_M = 0.1
ROW_SPACING_M = 2.0
BED_SPACING_M = 1.6


@dataclass(frozen=True)
class _Run:
    id: str
    kind: str
    row: str | None
    tail: str
    head: str
    points: tuple[tuple[float, float, float], ...]
    flow_m3_s: float
    loss_coefficient: float


def example_stretches(rows: Sequence[tuple[BedKind, int]]) -> tuple[BuiltStretch, ...]:
    flows = [kind.inflow_m3_s * count for kind, count in rows]
    runs = [_riser(sum(flows))]
    for r, (kind, count) in enumerate(rows):
        x, below = ROW_SPACING_M * (r + 1), sum(flows[r:])
        a, b = (x - ROW_SPACING_M, 0.0, PIPE_LEVEL_M), (x, 0.0, PIPE_LEVEL_M)
        name, tail = f"header_{r + 1}", f"node_{r}"
        runs.append(_Run(name, "header", None, tail, f"node_{r + 1}", (a, b), below, 0.5))
        runs.extend(_row_runs(r + 1, kind, count, x))
    return tuple(_built(run) for run in runs)


def _riser(flow_m3_s: float) -> _Run:
    points = ((0.0, 0.0, 0.0), (0.0, 0.0, PIPE_LEVEL_M))
    return _Run("riser", "riser", None, "pump", "node_0", points, flow_m3_s, 1.5)


def _row_runs(row: int, kind: BedKind, count: int, x: float) -> list[_Run]:
    runs, tail, q = [], f"node_{row}", kind.inflow_m3_s
    for i in range(1, count + 1):
        head, y = f"take_off_{row}_{i}", BED_SPACING_M * i
        a, b = (x, y - BED_SPACING_M, PIPE_LEVEL_M), (x, y, PIPE_LEVEL_M)
        top, flow = (x, y, OUTLET_LEVEL_M), q * (count - i + 1)
        name, drop, bed, owner = f"lateral_{row}_{i}", f"drop_{row}_{i}", f"bed_{row}_{i}", f"{row}"
        runs.append(_Run(name, "lateral", owner, tail, head, (a, b), flow, 0.9))
        runs.append(_Run(drop, "drop", owner, head, bed, (b, top), q, 2.7))
        tail = head
    return runs


def _built(run: _Run) -> BuiltStretch:
    """One pipe of the least listed bore; a drop's counted loss includes its open valve."""
    area_m2 = run.flow_m3_s / VELOCITY_AIM_M_S
    bore_m = next(b for b in BORES_M if math.pi / 4.0 * b * b >= area_m2)
    length_m = sum(math.dist(a, b) for a, b in zip(run.points, run.points[1:], strict=False))
    counted = run.loss_coefficient + (OPEN_VALVE_LOSS if run.kind == "drop" else 0.0)
    loss_m = float(head_loss_m(run.flow_m3_s, length_m, bore_m, ROUGHNESS_M, 20.0, counted))
    return BuiltStretch(
        id=run.id,
        kind=run.kind,
        row=run.row,
        tail=run.tail,
        head=run.head,
        points=run.points,
        length_m=length_m,
        pipe=f"pipe_{1000 * bore_m:.0f}",
        nominal=f"{1000 * bore_m:.0f} mm",
        bore_m=bore_m,
        roughness_m=ROUGHNESS_M,
        rating_pa=1.0e6,
        fittings=(BuiltFitting("elbow_90", 1, run.loss_coefficient),),
        loss_coefficient=run.loss_coefficient,
        flow_m3_s=run.flow_m3_s,
        loss_m=loss_m,
        volume_m3=math.pi / 4.0 * bore_m**2 * length_m,
        standing=False,
    )
