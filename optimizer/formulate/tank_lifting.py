"""What a pump brings up a riser to a tank: where its curve meets the rise and the riser's loss."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.optimize import elementwise

from optimizer.formulate.stretch_ways import BuildWay, loss_coefficient
from optimizer.physics.arrays import Array
from optimizer.physics.laws import DarcyWeisbach
from optimizer.physics.pump import PumpCurve
from optimizer.records.network import Stretch
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

KEPT = 20_000
"""Answers kept: a site is asked many times over with one thing changed, mostly not its riser."""

_LAST_DIGITS = 1e-15
"""Relative error of a flow, as :func:`optimizer.physics.roots.root_between` leaves."""


@dataclass(frozen=True)
class Lifting:
    """A pump's curve and the riser it lifts water through.

    Attributes:
        curve: of all pumps together.
        law: friction in the riser.
        length_m, bore_m: of the riser.
        loss_coefficient: sum of its local K.
        rise_m: from the sump's floor to where the riser ends.
    """

    curve: PumpCurve
    law: DarcyWeisbach
    length_m: float
    bore_m: float
    loss_coefficient: float
    rise_m: float

    @classmethod
    def of(
        cls, site: Site, catalog: Catalog, stretch: Stretch, curve: PumpCurve, way: BuildWay
    ) -> Lifting:
        """Return a curve with a riser as it would be built at a site."""
        return cls(
            curve,
            DarcyWeisbach(way.pipe.roughness_m, site.goals.water_temperature_c),
            stretch.length_m,
            way.pipe.bore_m,
            loss_coefficient(stretch, way, catalog),
            stretch.points[-1][2] - site.ground.sump_floor_level_m,
        )

    def flow_m3_s(self, sump_level_m: float) -> float | None:
        """Return what is brought with the sump's water at a level above its floor.

        None where the curve ends before it meets the riser, or nothing is brought.
        """
        (flow,) = self.flows_m3_s(np.array([sump_level_m])).tolist()
        return None if np.isnan(flow) else flow

    def flows_m3_s(self, sump_levels_m: Array) -> Array:
        """Return what is brought at each of some levels; NaN where :meth:`flow_m3_s` gives none."""
        return np.array(_flows_m3_s(self, tuple(sump_levels_m.tolist())))

    def brings_more(self, flow_m3_s: float, sump_level_m: float) -> bool:
        """Return whether more than a flow is brought, as far as the curve goes."""
        held = min(flow_m3_s, self.curve.end_flow_m3_s)
        return bool(self.left_m(np.array(held), np.array(sump_level_m)) > 0.0)

    def left_m(self, flows_m3_s: Array, sump_levels_m: Array) -> Array:
        """Return the head left at the riser's end; it falls as the flow rises."""
        lost = self.law.head_loss_m(flows_m3_s, self.length_m, self.bore_m, self.loss_coefficient)
        return np.asarray(self.curve.head_m(flows_m3_s) - (self.rise_m - sump_levels_m) - lost)


@lru_cache(maxsize=KEPT)
def _flows_m3_s(lifting: Lifting, sump_levels_m: tuple[float, ...]) -> tuple[float, ...]:
    levels, end = np.array(sump_levels_m), lifting.curve.end_flow_m3_s
    begins = lifting.left_m(np.array(0.0), levels) > 0.0
    meets = begins & (lifting.left_m(np.array(end), levels) <= 0.0)
    flows = np.full(levels.shape, np.nan)
    if meets.any():
        found = elementwise.find_root(
            lifting.left_m,
            (np.zeros(int(meets.sum())), np.full(int(meets.sum()), end)),
            args=(levels[meets],),
            tolerances={"xatol": 0.0, "xrtol": _LAST_DIGITS, "fatol": 0.0, "frtol": 0.0},
        )
        flows[meets] = found.x
    return tuple(flows.tolist())
