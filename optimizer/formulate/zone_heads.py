"""Heads along the supply pipe in the turn of each zone, valves as set."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from optimizer.formulate.bill import LaidStretch
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.stretch_ways import loss_coefficient
from optimizer.physics.pipe import head_loss_m
from optimizer.records.parts import Catalog


def flows_in_turn(laid: Mapping[str, LaidStretch], rows: Iterable[str]) -> dict[str, int]:
    """Return what every stretch carries, in flow steps, while only some rows have water.

    Args:
        laid: the stretches as laid, each after the one it leaves.
        rows: the rows that have water.
    """
    open_rows, into = set(rows), {each.stretch.head: name for name, each in laid.items()}
    flows: dict[str, int] = {}
    for each in laid.values():
        if each.stretch.kind != "drop" or each.stretch.row not in open_rows:
            continue
        at: str | None = each.stretch.id
        while at is not None:
            flows[at] = flows.get(at, 0) + each.load.duty.flow_steps
            at = into.get(laid[at].stretch.tail)
    return flows


def heads_of_turn(
    laid: Mapping[str, LaidStretch],
    rows: Iterable[str],
    source_head_m: float,
    catalog: Catalog,
    temperature_c: float,
) -> dict[str, float]:
    """Return the head at every node that has water while only some rows do.

    Args:
        laid: the stretches as laid, each after the one it leaves.
        rows: the rows that have water.
        source_head_m: head at the pump's outlet then.
        catalog: the parts.
        temperature_c: water temperature.
    """
    flows, heads = flows_in_turn(laid, rows), {"pump": source_head_m}
    for name, each in laid.items():
        if name in flows:
            pipe = each.way.pipe
            lost = head_loss_m(
                flows[name] * FLOW_STEP_M3_S,
                each.load.length_m,
                pipe.bore_m,
                pipe.roughness_m,
                temperature_c,
                loss_coefficient(each.stretch, each.way, catalog),
            )
            heads[each.stretch.head] = heads[each.stretch.tail] - float(lost)
    return heads
