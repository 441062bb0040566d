"""Pumps by points of their curve, alone or several equal ones in parallel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np
from scipy.interpolate import PchipInterpolator

from optimizer.physics.arrays import Array, FloatOrArray, like
from optimizer.physics.roots import root_between
from optimizer.physics.water import GRAVITY, density_kg_m3

_ROUNDING = 1e-9
"""How far past either end of its curve, relative to the end flow, rounding may carry a flow."""

CURVES_KEPT = 1024
"""Curves kept ready for the next site with the same pumps."""


@dataclass(frozen=True)
class PumpCurve:
    """Head and watts against flow through given points, for ``count`` equal pumps in parallel.

    Between points the curve is the monotone cubic of Fritsch and Carlson (PCHIP): it never
    overshoots, and head falls strictly. Curves of small pumps need not be concave. Each pump
    carries flow / count at the common head; watts add.

    Attributes:
        flows_m3_s: flows of one pump, rising from 0.
        heads_m: heads at those flows, falling strictly, not below 0.
        watts: electrical input of one pump at those flows; empty if not known.
        count: number of equal pumps running in parallel.

    Raises:
        ValueError: if the points are out of order or too few.

    >>> pump = PumpCurve((0.0, 0.001), (5.0, 3.0), (50.0, 70.0), count=2)
    >>> pump.head_m(0.001), pump.watts_at(0.001), pump.flow_at_head(4.0)
    (4.0, 120.0, 0.001)
    """

    flows_m3_s: tuple[float, ...]
    heads_m: tuple[float, ...]
    watts: tuple[float, ...]
    count: int = 1

    def __post_init__(self) -> None:
        flows, heads = self.flows_m3_s, self.heads_m
        if len(flows) < 2 or len(flows) != len(heads) or len(self.watts) not in (0, len(flows)):
            raise ValueError("a pump curve needs two points or more, each with flow and head")
        if flows[0] != 0.0 or not _rises(flows):
            raise ValueError("pump flows must rise from 0")
        if not _rises([-head for head in heads]) or heads[-1] < 0.0:
            raise ValueError("pump heads must fall and not go below 0")
        if any(watts <= 0.0 for watts in self.watts):
            raise ValueError("pump watts must be above 0")
        if self.count < 1:
            raise ValueError("at least one pump must run")

    @cached_property
    def _head(self) -> PchipInterpolator:
        return _monotone_cubic(self.flows_m3_s, self.heads_m)

    @cached_property
    def _slope(self) -> PchipInterpolator:
        return _slope_of(self.flows_m3_s, self.heads_m)

    @cached_property
    def _watts(self) -> PchipInterpolator:
        if not self.watts:
            raise ValueError("this pump's watts are not known; state a wire-to-water efficiency")
        return _monotone_cubic(self.flows_m3_s, self.watts)

    @property
    def shut_off_m(self) -> float:
        """Head at no flow, in metres."""
        return self.heads_m[0]

    @property
    def end_flow_m3_s(self) -> float:
        """Greatest flow of the curve, all pumps together, in m3/s."""
        return self.flows_m3_s[-1] * self.count

    @property
    def end_head_m(self) -> float:
        """Head at the greatest flow of the curve, in metres."""
        return self.heads_m[-1]

    def _each(self, flow_m3_s: float | Array) -> Array:
        """Return one pump's flow, refusing flows off the curve."""
        each = np.asarray(flow_m3_s, dtype=np.float64) / self.count
        end = self.flows_m3_s[-1]
        if (each < -_ROUNDING * end).any() or (each > (1.0 + _ROUNDING) * end).any():
            raise ValueError(
                f"flow off the pump's curve: it runs from 0 to {self.end_flow_m3_s:g} m3/s"
            )
        return np.asarray(np.minimum(np.maximum(each, 0.0), end))

    def head_m(self, flow_m3_s: FloatOrArray) -> FloatOrArray:
        """Return the head at a total flow, in metres.

        Raises:
            ValueError: for a flow off the curve.
        """
        head = self._head(self._each(flow_m3_s))
        return like(flow_m3_s, np.minimum(np.maximum(head, self.end_head_m), self.shut_off_m))

    def head_slope(self, flow_m3_s: FloatOrArray) -> FloatOrArray:
        """Return the change of head with total flow, in m per m3/s (0 or below).

        Raises:
            ValueError: for a flow off the curve.
        """
        return like(flow_m3_s, self._slope(self._each(flow_m3_s)) / self.count)

    def watts_at(self, flow_m3_s: FloatOrArray) -> FloatOrArray:
        """Return the electrical input of all pumps at a total flow, in W.

        Raises:
            ValueError: for a flow off the curve, or a pump whose watts are not known.
        """
        return like(flow_m3_s, self._watts(self._each(flow_m3_s)) * self.count)

    def flow_at_head(self, head_m: float) -> float:
        """Return the total flow at a head, in m3/s: the inverse of :meth:`head_m`.

        Raises:
            ValueError: for a head above shut-off or below the end of the curve.
        """
        if not self.end_head_m <= head_m <= self.shut_off_m:
            raise ValueError(
                f"head {head_m:g} m off the curve: it runs from {self.end_head_m:g} "
                f"to {self.shut_off_m:g} m"
            )
        if head_m in self.heads_m:
            return self.flows_m3_s[self.heads_m.index(head_m)] * self.count
        after = next(i for i, head in enumerate(self.heads_m) if head < head_m)
        low, high = self.flows_m3_s[after - 1], self.flows_m3_s[after]
        curve = self._head
        each = root_between(lambda q: float(curve(q)) - head_m, low, high)
        return float(each) * self.count


@lru_cache(maxsize=CURVES_KEPT)
def _monotone_cubic(flows: tuple[float, ...], values: tuple[float, ...]) -> PchipInterpolator:
    return PchipInterpolator(np.asarray(flows), np.asarray(values))


@lru_cache(maxsize=CURVES_KEPT)
def _slope_of(flows: tuple[float, ...], values: tuple[float, ...]) -> PchipInterpolator:
    return _monotone_cubic(flows, values).derivative()


def _rises(values: Sequence[float]) -> bool:
    return all(b > a for a, b in pairwise(values))


def wire_to_water_efficiency(
    flow_m3_s: float, head_m: float, watts: float, temperature_c: float = 20.0
) -> float:
    """Return the share of electrical input that reaches the water: rho g Q H / P.

    Small aquarium pumps peak near 0.2 (a university teaching note on fluids, read).

    Args:
        flow_m3_s: flow, 0 or more.
        head_m: head added, 0 or more.
        watts: electrical input, above 0.
        temperature_c: water temperature, 0 to 100.

    Raises:
        ValueError: for an argument outside its limits.
    """
    if flow_m3_s < 0.0 or head_m < 0.0 or watts <= 0.0:
        raise ValueError("efficiency needs flow and head of 0 or more and watts above 0")
    return density_kg_m3(temperature_c) * GRAVITY * flow_m3_s * head_m / watts


def watts_from_efficiency(
    flow_m3_s: float, head_m: float, efficiency: float, temperature_c: float = 20.0
) -> float:
    """Return the electrical input at a stated wire-to-water efficiency: rho g Q H / eta, in W.

    For pumps whose maker gives no watts along the curve.

    Args:
        flow_m3_s: flow, 0 or more.
        head_m: head added, 0 or more.
        efficiency: wire-to-water efficiency, above 0 to 1.
        temperature_c: water temperature, 0 to 100.

    Raises:
        ValueError: for an argument outside its limits.
    """
    if flow_m3_s < 0.0 or head_m < 0.0 or not 0.0 < efficiency <= 1.0:
        raise ValueError("watts need flow and head of 0 or more and an efficiency above 0 to 1")
    return density_kg_m3(temperature_c) * GRAVITY * flow_m3_s * head_m / efficiency
