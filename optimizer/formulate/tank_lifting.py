"""What a pump brings up a riser to a tank: where its curve meets the rise and the riser's loss.

All risers that may be laid, and all levels of the sump, are asked about at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.optimize import elementwise

from optimizer.formulate.stretch_ways import BuildWay, loss_coefficient
from optimizer.physics.arrays import Array
from optimizer.physics.pipe import head_losses_m
from optimizer.physics.pump import PumpCurve
from optimizer.records.network import Stretch
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

KEPT = 4_000
"""Answers kept: a site is asked many times over with one thing changed, mostly not its risers."""

_LAST_DIGITS = 1e-15
"""Relative error of a flow, as :func:`optimizer.physics.roots.root_between` leaves."""

Numbers = tuple[float, ...]


@dataclass(frozen=True)
class Risers:
    """Risers of one length and rise; one number of each tuple for each.

    Attributes:
        bores_m, roughness_m: of their pipe.
        loss_coefficients: sums of their local K.
        length_m: of each.
        rise_m: from the sump's floor to where each ends.
        temperature_c: of the water.
    """

    bores_m: Numbers
    roughness_m: Numbers
    loss_coefficients: Numbers
    length_m: float
    rise_m: float
    temperature_c: float

    @classmethod
    def of(cls, site: Site, catalog: Catalog, stretch: Stretch, ways: Sequence[BuildWay]) -> Risers:
        """Return the risers that some ways to build a stretch would be at a site."""
        return cls(
            tuple(way.pipe.bore_m for way in ways),
            tuple(way.pipe.roughness_m for way in ways),
            tuple(loss_coefficient(stretch, way, catalog) for way in ways),
            stretch.length_m,
            stretch.points[-1][2] - site.ground.sump_floor_level_m,
            site.goals.water_temperature_c,
        )

    def brought_m3_s(self, curve: PumpCurve, sump_levels_m: Sequence[float]) -> Array:
        """Return what a pump brings up each, at levels of the sump's water above its floor.

        Args:
            curve: of all pumps together.
            sump_levels_m: the levels.

        Returns:
            Flows, (risers, levels); NaN where the curve ends before it meets the riser, or nothing
            is brought.
        """
        return _brought_m3_s(self, curve, tuple(sump_levels_m)).copy()


@lru_cache(maxsize=KEPT)
def _brought_m3_s(risers: Risers, curve: PumpCurve, sump_levels_m: Numbers) -> Array:
    sides = (risers.bores_m, risers.roughness_m, risers.loss_coefficients)
    bore, rough, local = (np.array(side)[:, np.newaxis] for side in sides)
    rise = risers.rise_m - np.array(sump_levels_m)

    def left_m(flow: Array, bore: Array, rough: Array, local: Array, rise: Array) -> Array:
        """Return the head left at the riser's end; it falls as the flow rises."""
        warm, length = risers.temperature_c, risers.length_m
        return np.asarray(
            curve.head_m(flow) - rise - head_losses_m(flow, length, bore, rough, warm, local)
        )

    each = np.broadcast_arrays(bore, rough, local, rise)
    flows, end = np.full(each[0].shape, np.nan), curve.end_flow_m3_s
    begins = left_m(np.zeros(flows.shape), *each) > 0.0
    meets = begins & (left_m(np.full(flows.shape, end), *each) <= 0.0)
    if meets.any():
        asked = tuple(side[meets] for side in each)
        flows[meets] = elementwise.find_root(
            left_m,
            (np.zeros(asked[0].size), np.full(asked[0].size, end)),
            args=asked,
            tolerances={"xatol": 0.0, "xrtol": _LAST_DIGITS, "fatol": 0.0, "frtol": 0.0},
        ).x
    return flows
