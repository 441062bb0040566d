"""The return pipes of example designs: the supply's runs walked backward, down to the sump."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from optimizer.physics.part_full import capacity_m3_s
from optimizer.physics.slopes import least_slope
from optimizer.records.design import DRAIN_END, BedKind, BuiltDrain, BuiltStretch
from tests.builders.example_pipes import BORES_M

DRAIN_BORES_M = (*BORES_M, 0.8, 1.0, 1.3, 1.6)
FILL_LIMIT, MANNING_N = 0.75, 0.011
VENT_GAP_M = 0.05
NEAR_SUMP_NODE = "node_0"
"""Where the header begins, just above the sump."""


def burst_m3_s(kind: BedKind) -> float:
    """The discharge of a kind's siphon as it primes."""
    return kind.siphon.discharge_m3_s(kind.siphon.prime_level_m)


def example_drains(
    stretches: Sequence[BuiltStretch],
    kind_of: Mapping[str, BedKind],
    siphon_outlet_m: float,
) -> tuple[BuiltDrain, ...]:
    """Return pipe for every bed firing at once, each size at its code's least slope.

    Args:
        stretches: the supply, each stretch after the one it hangs on.
        kind_of: kind of the bed at each drop's head.
        siphon_outlet_m: level of every siphon's outlet; pipe lies as high as that allows.
    """
    runs = [s for s in stretches if s.kind in ("header", "lateral")]
    bursts = _bursts(stretches, kind_of)
    levels = {NEAR_SUMP_NODE: 0.0}
    for run in runs:
        bore_m = _bore_m(bursts[run.head])
        levels[run.head] = levels[run.tail] + least_slope(bore_m) * run.length_m
    crowns = {run.head: levels[run.head] + _bore_m(bursts[run.head]) for run in runs}
    highest = max(crowns[s.tail] for s in stretches if s.kind == "drop")
    shift = siphon_outlet_m - VENT_GAP_M - highest
    inverts = {node: level + shift for node, level in levels.items()}
    return tuple(_built(run, bursts[run.head], inverts) for run in runs)


def _bursts(stretches: Sequence[BuiltStretch], kind_of: Mapping[str, BedKind]) -> dict[str, float]:
    """Flow down from each node with every bed above it firing."""
    bursts: dict[str, float] = {}
    for s in reversed(stretches):
        own = burst_m3_s(kind_of[s.head]) if s.kind == "drop" else bursts[s.head]
        bursts[s.tail] = bursts.get(s.tail, 0.0) + own
    return bursts


def _capacity_m3_s(bore_m: float) -> float:
    return float(capacity_m3_s(bore_m, least_slope(bore_m), MANNING_N, FILL_LIMIT))


def _bore_m(flow_m3_s: float) -> float:
    return next(bore for bore in DRAIN_BORES_M if _capacity_m3_s(bore) >= flow_m3_s)


def _built(run: BuiltStretch, bursts_m3_s: float, inverts_m: Mapping[str, float]) -> BuiltDrain:
    bore_m = _bore_m(bursts_m3_s)
    upper_m, lower_m = inverts_m[run.head], inverts_m[run.tail]
    (x1, y1, _), (x0, y0, _) = run.points
    return BuiltDrain(
        id=f"return {run.id}",
        row=run.row,
        tail=run.head,
        head=DRAIN_END if run.tail == NEAR_SUMP_NODE else run.tail,
        points=((x0, y0, upper_m), (x1, y1, lower_m)),
        length_m=math.dist((x0, y0), (x1, y1)),
        pipe=f"pipe_{1000 * bore_m:.0f}",
        nominal=f"{1000 * bore_m:.0f} mm",
        bore_m=bore_m,
        slope=least_slope(bore_m),
        upper_invert_m=upper_m,
        lower_invert_m=lower_m,
        bursts_m3_s=bursts_m3_s,
        capacity_m3_s=_capacity_m3_s(bore_m),
        fill_limit=FILL_LIMIT,
        manning_n=MANNING_N,
    )
