"""Set the valves: with the sump at its setting level, the K that gives each bed its inflow.

At that level every flow is known, so the head at each take-off is too; what is left of it above
the bed's outlet, less the drop's own loss, the valve must take.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.physics.valve import opening_for_loss
from optimizer.records.design import Bed, BuiltStretch, Design
from optimizer.simulate.edge_losses import pipes_of
from optimizer.simulate.in_turn import zone_designs
from optimizer.simulate.operating_point import (
    OperatingPoint,
    point_of_draws,
    valve_resistance_s2_m5,
)


@dataclass(frozen=True)
class ValveSetting:
    """One valve, set.

    Attributes:
        head_m: head that the valve must take; below 0 where the pump does not reach.
        wanted_loss: K that takes it, referred to the valve's bore.
        loss: the nearest K the valve can be set to: never below its K fully open.
        opening: share open at ``loss``; the table's ends where ``wanted_loss`` lies outside it.
    """

    head_m: float
    wanted_loss: float
    loss: float
    opening: float


@dataclass(frozen=True)
class SetValves:
    """Every valve by bed id, and the flows they were set for, drops included."""

    settings: Mapping[str, ValveSetting]
    flows_m3_s: Mapping[str, float]

    @property
    def losses(self) -> dict[str, float]:
        """K of each valve as set, by bed id."""
        return {bed: setting.loss for bed, setting in self.settings.items()}


def promised_inflows_m3_s(design: Design) -> dict[str, float]:
    """Return the inflow promised to each bed, by bed id."""
    kinds = {kind.id: kind for kind in design.kinds}
    return {bed.id: kinds[bed.kind].inflow_m3_s for bed in design.beds}


def set_valves(design: Design, shares: Mapping[str, float] | None = None) -> SetValves:
    """Return the valve settings that give every bed its promised inflow at the setting level.

    Where zones turn, each valve is set in the turn of its own; flows are the greatest of any turn.

    Args:
        design: the design; its own valve figures are not read, only the valve tables.
        shares: bed id to the share of its promised inflow it is set to by mistake; beds left out
            are set right.

    Raises:
        NotSolved: if the flows above the drops were not found (rings).
        BadInput: if some pipe is not joined to the pump.
    """
    if design.zones is not None:
        return _greatest([set_valves(each, shares) for each in zone_designs(design)])
    wrong, drops = shares or {}, _drops(design)
    promised = promised_inflows_m3_s(design)
    inflows = {bed: wrong.get(bed, 1.0) * inflow for bed, inflow in promised.items()}
    point = point_of_draws(design, _draws(design, inflows, drops), design.sump.setting_m)
    losses = _drop_losses(design, inflows, drops)
    settings = {
        bed.id: _setting(bed, inflows[bed.id], _spare_m(bed, drops[bed.id], point, losses))
        for bed in design.beds
    }
    flows = {bed.drop: inflows[bed.id] for bed in design.beds}
    return SetValves(settings, {**point.flows_m3_s, **flows})


def _greatest(parts: Sequence[SetValves]) -> SetValves:
    flows: dict[str, float] = {}
    for part in parts:
        for name, flow in part.flows_m3_s.items():
            flows[name] = max(flow, flows.get(name, flow))
    return SetValves({bed: s for part in parts for bed, s in part.settings.items()}, flows)


def _drops(design: Design) -> dict[str, BuiltStretch]:
    stretches = {stretch.id: stretch for stretch in design.stretches}
    return {bed.id: stretches[bed.drop] for bed in design.beds}


def _draws(
    design: Design, inflows: Mapping[str, float], drops: Mapping[str, BuiltStretch]
) -> dict[str, float]:
    draws: dict[str, float] = {}
    for bed in design.beds:
        node = drops[bed.id].tail
        draws[node] = draws.get(node, 0.0) + inflows[bed.id]
    return draws


def _drop_losses(
    design: Design, inflows: Mapping[str, float], drops: Mapping[str, BuiltStretch]
) -> dict[str, float]:
    pipes = pipes_of([drops[b.id] for b in design.beds], design.promise.water_temperature_c)
    losses = pipes.head_loss_m(np.array([inflows[bed.id] for bed in design.beds]))
    return dict(zip((bed.id for bed in design.beds), losses.tolist(), strict=True))


def _spare_m(
    bed: Bed, drop: BuiltStretch, point: OperatingPoint, losses: Mapping[str, float]
) -> float:
    return point.heads_m[drop.tail] - bed.outlet_level_m - losses[bed.id]


def _setting(bed: Bed, inflow_m3_s: float, head_m: float) -> ValveSetting:
    wanted = head_m / (valve_resistance_s2_m5(1.0, bed.valve_bore_m) * inflow_m3_s**2)
    shut, wide = bed.valve_losses[0], bed.valve_losses[-1]
    loss = max(wanted, wide)
    opening = opening_for_loss(min(loss, shut), bed.valve_openings, bed.valve_losses)
    return ValveSetting(head_m, wanted, loss, opening)
