"""What turning some valves can do at all: bounds on every inflow, whatever they are set to.

More water through one valve means less head everywhere, and so no more through any other. So where
the beds whose valves are turned take the least they may, every other bed gets the most it can;
where they take the most they may, every other bed gets the least it can. If that is too little, or
too much, no setting of these valves will do.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from optimizer.mend.as_built import losses_at
from optimizer.mend.state import needs_m3_s
from optimizer.records.design import Bed, Design
from optimizer.simulate.edge_losses import pipes_of
from optimizer.simulate.operating_point import (
    OperatingPoint,
    operating_point,
    valve_resistance_s2_m5,
)

SLACK = 1e-3
"""Relative: an inflow so near to what a bed needs counts as enough (A89, assumption): a bucket and
a watch tell no smaller difference, and no further valve is turned for less."""


@dataclass(frozen=True)
class Range:
    """Valve losses K between which every setting that works must lie, by bed that is turned.

    ``shut`` is the greatest K that still gives each the least it needs, ``wide`` the least K that
    gives none more than it may have.
    """

    shut: Mapping[str, float]
    wide: Mapping[str, float]


class ValveBounds:
    """Bounds for one system and the openings of its valves as they are.

    Args:
        design: the system.
        openings: bed to the share its valve is open.
    """

    def __init__(self, design: Design, openings: Mapping[str, float]) -> None:
        self.design = design
        self.losses = losses_at(design, openings)
        self.beds = {bed.id: bed for bed in design.beds}
        self.drops = {stretch.id: stretch for stretch in design.stretches}
        kinds = {kind.id: kind for kind in design.kinds}
        error = design.promise.valve_setting_error
        needs = {bed.id: needs_m3_s(design, kinds[bed.kind]) for bed in design.beds}
        self.least = {b: (1.0 - SLACK) * n[0] / (1.0 - error) for b, n in needs.items()}
        self.most = {b: (1.0 + SLACK) * n[1] / (1.0 + error) for b, n in needs.items()}

    def range_of(self, beds: frozenset[str]) -> Range | None:
        """Return between what losses some valves must lie; None if no setting of them works.

        Args:
            beds: the beds whose valves may be turned; all others stay as they are.

        Raises:
            NotSolved: if no operating point was found.
        """
        if any(self.least[bed] >= self.most[bed] for bed in self.beds):
            return None
        shut = self._shut(beds)
        wide = None if shut is None else self._wide(beds)
        if self._tank_surely_runs_down(beds):
            return None
        if shut is None or wide is None or any(wide[bed] > shut[bed] for bed in beds):
            return None
        return Range(shut, wide)

    def _shut(self, beds: frozenset[str]) -> dict[str, float] | None:
        """Return K at the least each turned bed needs, sump at its lowest; None if one gets less.

        That is a turned bed with its valve wide open, or one that is not turned.
        """
        point = self._point(beds, self.least, self.design.sump.lowest_m)
        losses = {bed: self._loss(bed, point, self.least[bed]) for bed in beds}
        short = any(losses[bed] < self.beds[bed].valve_losses[-1] for bed in beds)
        if short or any(
            self._flow(bed, point) < self.least[bed] for bed in self.beds if bed not in beds
        ):
            return None
        return {bed: min(losses[bed], self.beds[bed].valve_losses[0]) for bed in beds}

    def _wide(self, beds: frozenset[str]) -> dict[str, float] | None:
        """Return K at the most each turned bed may have, sump at its highest.

        From all wide open, those that take too much are held to the most they may have, until none
        does. None if a bed that is not turned still gets too much.
        """
        level, held = self.design.sump.highest_m, frozenset[str]()
        while True:
            wide = {bed: self.beds[bed].valve_losses[-1] for bed in beds}
            point = self._point(held, self.most, level, wide)
            greedy = {b for b in beds - held if self._flow(b, point) > self.most[b]}
            if not greedy:
                break
            held |= greedy
        if any(self._flow(bed, point) > self.most[bed] for bed in self.beds if bed not in beds):
            return None
        return wide | {bed: max(wide[bed], self._loss(bed, point, self.most[bed])) for bed in held}

    def _tank_surely_runs_down(self, beds: frozenset[str]) -> bool:
        """Return whether a tank over the beds gives more than its pump brings, at the least.

        That is the least of every bed that is turned, and of the others what they get with all
        those wide open.
        """
        if self.design.tank is None:
            return False
        level = self.design.sump.lowest_m
        wide = {bed: self.beds[bed].valve_losses[-1] for bed in beds}
        point = self._point(frozenset(), self.least, level, wide)
        others = sum(self._flow(bed, point) for bed in self.beds if bed not in beds)
        taken = others + sum(self.least[bed] for bed in beds)
        error = self.design.promise.valve_setting_error
        return (1.0 - SLACK) * taken * (1.0 + error) > point.pump_flow_m3_s

    def _point(
        self,
        drawn: frozenset[str],
        flows_m3_s: Mapping[str, float],
        level_m: float,
        losses: Mapping[str, float] | None = None,
    ) -> OperatingPoint:
        """Return flows and heads where some beds take given flows, the rest by their valves."""
        design, draws = self.design, dict[str, float]()
        for bed in drawn:
            node = self.drops[self.beds[bed].drop].tail
            draws[node] = draws.get(node, 0.0) + flows_m3_s[bed]
        gone = {self.beds[bed].drop for bed in drawn}
        rest = replace(
            design,
            beds=tuple(bed for bed in design.beds if bed.id not in drawn),
            stretches=tuple(s for s in design.stretches if s.id not in gone),
        )
        return operating_point(rest, {**self.losses, **(losses or {})}, max(0.0, level_m), draws)

    def _flow(self, bed: str, point: OperatingPoint) -> float:
        return max(0.0, point.flows_m3_s[self.beds[bed].drop])

    def _loss(self, name: str, point: OperatingPoint, flow_m3_s: float) -> float:
        """Return K of a valve that takes up all the head its bed's drop leaves at a flow."""
        bed: Bed = self.beds[name]
        drop = self.drops[bed.drop]
        pipe = pipes_of([drop], self.design.promise.water_temperature_c)
        lost = float(pipe.head_loss_m(np.array([flow_m3_s]))[0])
        left = point.heads_m[drop.tail] - bed.outlet_level_m - lost
        return left / (valve_resistance_s2_m5(1.0, bed.valve_bore_m) * flow_m3_s**2)
