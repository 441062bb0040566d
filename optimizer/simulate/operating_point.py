"""Where pump and pipes meet: every flow and head of a design at one sump level."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.physics.pump import PumpCurve
from optimizer.physics.water import GRAVITY
from optimizer.records.design import BuiltPump, BuiltStretch, Design
from optimizer.records.header_tank import TANK
from optimizer.simulate.edge_losses import PumpEdge, SupplyLosses, pipes_of
from optimizer.simulate.network import (
    PUMPED,
    Network,
    by_node,
    held_heads_m,
    pipes_without_drops,
    supply_network,
    supply_without_drops,
)
from optimizer.simulate.steady_state import SteadyState, steady_state


@dataclass(frozen=True)
class OperatingPoint:
    """All flows and heads at one sump level.

    Attributes:
        flows_m3_s: stretch id to flow from its tail to its head.
        heads_m: node to head, as a level on the site's datum; beds and sump are left out.
        pump_flow_m3_s: flow of all pumps together.
        pump_head_m: head the pump adds.
    """

    flows_m3_s: dict[str, float]
    heads_m: Mapping[str, float]
    pump_flow_m3_s: float
    pump_head_m: float


def pump_curve(pump: BuiltPump) -> PumpCurve:
    """Return the curve of a built pump with all that run in parallel."""
    return PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts, pump.count)


def with_heads_at(pump: BuiltPump, share: float) -> BuiltPump:
    """Return a pump whose heads are a share of those on its curve."""
    return replace(pump, heads_m=tuple(share * head for head in pump.heads_m))


def operating_point(
    design: Design,
    valve_losses: Mapping[str, float],
    sump_level_m: float,
    draws_m3_s: Mapping[str, float] | None = None,
    near: OperatingPoint | None = None,
) -> OperatingPoint:
    """Return all flows and heads with given valve settings at one sump level.

    Args:
        design: pipes, pump, beds; trees and rings alike.
        valve_losses: bed id to the valve's K, referred to its own bore.
        sump_level_m: water level above the sump's floor.
        draws_m3_s: node to flow taken out there beside what the beds take, where there is any.
        near: a point of this design not far from the one sought, to start from: the answer is
            the same within the tolerances, and found in fewer steps.

    Returns:
        The operating point. A bed that the pump cannot lift water to gets none.

    Raises:
        NotSolved: if none was found.
        BadInput: if some pipe is not joined to the pump.
    """
    network = supply_network(design)
    known = {bed.id: bed.outlet_level_m for bed in design.beds}
    known |= held_heads_m(design, sump_level_m)
    losses = SupplyLosses(
        pump=PumpEdge(pump_curve(design.pump)),
        pipes=pipes_of(design.stretches, design.promise.water_temperature_c),
        valve_resistances_s2_m5=_valve_resistances(design, valve_losses),
        outlets=_outlets(design),
    )
    heads, draws = by_node(known, network.known), by_node(dict(draws_m3_s or {}), network.nodes)
    start = _start(design, design.stretches) if near is None else _flows_of(near, network)
    state = steady_state(network, losses, heads, draws, start)
    return _named(state, network, losses.pump)


def point_of_draws(
    design: Design, draws_m3_s: Mapping[str, float], sump_level_m: float
) -> OperatingPoint:
    """Return flows and heads above the drops with the flow taken out at each node given.

    Args:
        design: pipes and pump; drops and beds are left out.
        draws_m3_s: take-off node to the flow taken there.
        sump_level_m: water level above the sump's floor.

    Raises:
        NotSolved: if none was found.
        BadInput: if some pipe is not joined to the pump.
    """
    network, pipes = supply_without_drops(design), pipes_without_drops(design)
    losses = SupplyLosses(
        pump=PumpEdge(pump_curve(design.pump)),
        pipes=pipes_of(pipes, design.promise.water_temperature_c),
        valve_resistances_s2_m5=np.zeros(len(pipes)),
        outlets=np.array([float(pipe.head == TANK) for pipe in pipes]),
    )
    heads = by_node(held_heads_m(design, sump_level_m), network.known)
    draws = by_node(dict(draws_m3_s), network.nodes)
    state = steady_state(network, losses, heads, draws, _start(design, pipes))
    return _named(state, network, losses.pump)


def valve_resistance_s2_m5(loss_coefficient: float, bore_m: float) -> float:
    """Return head over flow squared of a valve of K in a bore: K / (2 g a^2)."""
    area_m2 = np.pi / 4.0 * bore_m**2
    return float(loss_coefficient / (2.0 * GRAVITY * area_m2**2))


def _valve_resistances(design: Design, valve_losses: Mapping[str, float]) -> Array:
    held = {
        bed.drop: valve_resistance_s2_m5(valve_losses[bed.id], bed.valve_bore_m)
        for bed in design.beds
    }
    return np.array([held.get(stretch.id, 0.0) for stretch in design.stretches])


def _outlets(design: Design) -> Array:
    drops = {bed.drop for bed in design.beds}
    ends = [stretch.id in drops or stretch.head == TANK for stretch in design.stretches]
    return np.array(ends, dtype=np.float64)


def _start(design: Design, pipes: tuple[BuiltStretch, ...]) -> Array:
    """Start from half the limit of velocity in every pipe, and half the pump's greatest flow."""
    speed = design.promise.velocity_limit_m_s / 2.0
    pump_flow = pump_curve(design.pump).end_flow_m3_s / 2.0
    return np.array([pump_flow, *(speed * np.pi / 4.0 * pipe.bore_m**2 for pipe in pipes)])


def _flows_of(point: OperatingPoint, network: Network) -> Array:
    flows = point.flows_m3_s | {PUMPED: point.pump_flow_m3_s}
    return np.array([flows[edge] for edge in network.edges])


def _named(state: SteadyState, network: Network, pump: PumpEdge) -> OperatingPoint:
    flows = dict(zip(network.edges, state.flows_m3_s.tolist(), strict=True))
    pump_flow = flows.pop(PUMPED)
    return OperatingPoint(
        flows_m3_s=flows,
        heads_m=dict(zip(network.nodes, state.heads_m.tolist(), strict=True)),
        pump_flow_m3_s=pump_flow,
        pump_head_m=-pump.head_loss_m(pump_flow),
    )
