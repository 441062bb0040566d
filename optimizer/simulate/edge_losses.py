"""Head lost along many edges at once: pipes by a friction law, valves, the pump (a gain).

Each class has one method ``head_loss_m(flows_m3_s)`` over an array whose last axis has one flow for
each edge. It rises strictly with every flow, which is what makes the operating point unique.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from optimizer.physics.arrays import Array, FloatOrArray, like
from optimizer.physics.pipe import head_losses_m
from optimizer.physics.pump import PumpCurve
from optimizer.records.design import BuiltStretch
from optimizer.simulate.tolerances import BACKFLOW_RESISTANCE_S_M2


class EdgeLosses(Protocol):
    """Head lost along each edge of a network."""

    def head_loss_m(self, flows_m3_s: Array) -> Array:
        """Return the head lost along each edge at its flow, in metres; negative for a gain.

        Args:
            flows_m3_s: flows, (..., edges).
        """
        ...


@dataclass(frozen=True, eq=False)
class DarcyWeisbachPipes:
    """Pipes with (f L/d + K) V^2 / 2g each (:func:`optimizer.physics.pipe.head_losses_m`).

    Attributes:
        lengths_m: pipe lengths.
        bores_m: inside diameters.
        roughness_m: wall roughness of each.
        loss_coefficients: sum of local K of each, referred to its bore.
        temperature_c: water temperature, 0 to 100.
    """

    lengths_m: Array
    bores_m: Array
    roughness_m: Array
    loss_coefficients: Array
    temperature_c: float

    def head_loss_m(self, flows_m3_s: Array) -> Array:
        """Return the head lost in each pipe, in metres; odd in the flow."""
        return head_losses_m(
            flows_m3_s,
            self.lengths_m,
            self.bores_m,
            self.roughness_m,
            self.temperature_c,
            self.loss_coefficients,
        )


@dataclass(frozen=True)
class PumpEdge:
    """A pump's gain, carried on in a straight line past both ends of its curve.

    Past the ends the line is no pump: it only keeps the search for the operating point going. A
    duty out there is told by the pump's finding.
    """

    curve: PumpCurve

    def head_loss_m(self, flow_m3_s: FloatOrArray) -> FloatOrArray:
        """Return minus the head the pump adds, in metres."""
        flow = np.asarray(flow_m3_s)
        held = np.minimum(np.maximum(flow, 0.0), self.curve.end_flow_m3_s)
        beyond = flow - held
        return like(flow_m3_s, beyond * self._fall_beyond - self.curve.head_m(held))

    @property
    def _fall_beyond(self) -> float:
        """Mean fall of the whole curve, so that the line falls even where an end is flat."""
        return (self.curve.shut_off_m - self.curve.end_head_m) / self.curve.end_flow_m3_s


@dataclass(frozen=True, eq=False)
class SupplyLosses:
    """The pump as edge 0, then pipes, some with a valve in series and a free outlet.

    Attributes:
        pump: the pump edge.
        pipes: losses of the pipes.
        valve_resistances_s2_m5: head over flow squared of the valve in each pipe; 0 without one.
        outlets: whether each pipe ends in a free outlet, which lets no water back.
    """

    pump: PumpEdge
    pipes: EdgeLosses
    valve_resistances_s2_m5: Array
    outlets: Array

    def head_loss_m(self, flows_m3_s: Array) -> Array:
        """Return the head lost along each edge, in metres; negative for the pump."""
        flows = flows_m3_s[..., 1:]
        losses = self.pipes.head_loss_m(flows)
        losses = losses + self.valve_resistances_s2_m5 * flows * np.abs(flows)
        losses = losses + self.outlets * BACKFLOW_RESISTANCE_S_M2 * np.minimum(flows, 0.0)
        return np.concatenate((self.pump.head_loss_m(flows_m3_s[..., :1]), losses), axis=-1)


def pipes_of(stretches: Sequence[BuiltStretch], temperature_c: float) -> DarcyWeisbachPipes:
    """Return the losses of built stretches, in order."""
    return DarcyWeisbachPipes(
        lengths_m=np.array([s.length_m for s in stretches]),
        bores_m=np.array([s.bore_m for s in stretches]),
        roughness_m=np.array([s.roughness_m for s in stretches]),
        loss_coefficients=np.array([s.loss_coefficient for s in stretches]),
        temperature_c=temperature_c,
    )
