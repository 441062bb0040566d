"""Inflows of every bed when the pump lies off its curve, valves set for that pump."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.records.design import Design
from optimizer.simulate.in_turn import point_in_turns
from optimizer.simulate.operating_point import with_heads_at
from optimizer.simulate.valves import set_valves


@dataclass(frozen=True, eq=False)
class PumpInflows:
    """Inflows at the lowest and highest sump level for three factors on the pump's heads.

    Attributes:
        factors: the three factors, rising; the middle one is 1.
        low: inflows at the lowest level, (factors, beds).
        high: inflows at the highest level.
    """

    factors: Array
    low: Array
    high: Array

    @classmethod
    def of(cls, design: Design, tolerance: float) -> PumpInflows:
        """Return the inflows with the pump's heads less, at and over its curve by a tolerance.

        Args:
            design: the design; its valves are set anew for each pump.
            tolerance: share of the heads, 0 to below 1.

        Raises:
            NotSolved: if an operating point was not found.
            BadInput: if some pipe is not joined to the pump.
        """
        factors = np.array([1.0 - tolerance, 1.0, 1.0 + tolerance])
        pumps = [with_heads_at(design.pump, share) for share in factors.tolist()]
        rows = [_inflows(replace(design, pump=pump)) for pump in pumps]
        return cls(factors, np.array([row[0] for row in rows]), np.array([row[1] for row in rows]))

    def at(self, factor: Array) -> tuple[Array, Array]:
        """Return inflows by draw and bed, straight between the three factors.

        As a pump weakens, an inflow stays as set until the valve is fully open and falls only
        then, so the straight line lies on or below the true inflow. That is the safe side for
        starts. For stops it is not, by no more than what a wide-open valve's bed loses between two
        factors; with room in its valve a bed loses nothing.
        """
        return self._between(factor, self.low), self._between(factor, self.high)

    def _between(self, factor: Array, inflows: Array) -> Array:
        width = self.factors[2] - self.factors[1]
        off = (factor - 1.0) / width if width > 0.0 else np.zeros_like(factor)
        below, above = np.maximum(-off, 0.0), np.maximum(off, 0.0)
        weights = np.column_stack([below, 1.0 - below - above, above])
        return np.asarray(weights @ inflows)


def _inflows(design: Design) -> tuple[list[float], list[float]]:
    losses, sump = set_valves(design).losses, design.sump
    points = [point_in_turns(design, losses, level) for level in (sump.lowest_m, sump.highest_m)]
    low, high = ([max(0.0, p.flows_m3_s[bed.drop]) for bed in design.beds] for p in points)
    return low, high
