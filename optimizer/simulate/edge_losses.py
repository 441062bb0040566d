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
from optimizer.physics.friction import friction_factor
from optimizer.physics.pump import PumpCurve
from optimizer.physics.water import GRAVITY, kinematic_viscosity_m2_s
from optimizer.records.design import BuiltStretch
from optimizer.simulate.tolerances import BACKFLOW_RESISTANCE_S_M2

_STILL_REYNOLDS = 1e-12
"""Reynolds number below which water counts as still, so that 64/Re stays finite."""


class EdgeLosses(Protocol):
    """Head lost along each edge of a network."""

    def head_loss_m(self, flows_m3_s: Array) -> Array:
        """Return the head lost along each edge at its flow, in metres; negative for a gain.

        Args:
            flows_m3_s: flows, (..., edges).
        """
        ...


def velocity_heads_m(flows_m3_s: Array, bores_m: Array) -> Array:
    """Return V |V| / 2g for flows through full round bores, in metres."""
    speeds = flows_m3_s / (np.pi / 4.0 * bores_m**2)
    return np.asarray(speeds * np.abs(speeds) / (2.0 * GRAVITY))


@dataclass(frozen=True, eq=False)
class DarcyWeisbachPipes:
    """Pipes with (f L/d + K) V^2 / 2g each; the same law as ``physics.pipe``, over arrays.

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
        speeds = np.abs(flows_m3_s) / (np.pi / 4.0 * self.bores_m**2)
        reynolds = speeds * self.bores_m / kinematic_viscosity_m2_s(self.temperature_c)
        moving = np.maximum(reynolds, _STILL_REYNOLDS)
        factors = friction_factor(moving, self.roughness_m / self.bores_m)
        coefficients = factors * self.lengths_m / self.bores_m + self.loss_coefficients
        return np.asarray(coefficients * velocity_heads_m(flows_m3_s, self.bores_m))


@dataclass(frozen=True, eq=False)
class HazenWilliamsPipes:
    """Pipes with h = k L Q^x / (C^x D^y) each, SI, for benchmarks that state it.

    Attributes:
        lengths_m: pipe lengths.
        bores_m: inside diameters.
        c: Hazen-Williams C.
        k: constant, 10.667 in SI.
        flow_exponent: x.
        bore_exponent: y.
    """

    lengths_m: Array
    bores_m: Array
    c: float
    k: float = 10.667
    flow_exponent: float = 1.852
    bore_exponent: float = 4.871

    def head_loss_m(self, flows_m3_s: Array) -> Array:
        """Return the head lost in each pipe, in metres; odd in the flow."""
        x = self.flow_exponent
        scales = self.k * self.lengths_m / (self.c**x * self.bores_m**self.bore_exponent)
        return np.asarray(scales * np.sign(flows_m3_s) * np.abs(flows_m3_s) ** x)


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
