"""The power fails with every bed full: how high the sump rises, and how fast."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from optimizer.physics.arrays import Array
from optimizer.records.design import Design
from optimizer.simulate.day.bed_arrays import BedArrays
from optimizer.simulate.day.plant import Plant, plant_of


@dataclass(frozen=True, eq=False)
class PowerCut:
    """The worst power cut: every siphon has just primed, and the pipes run empty at once.

    Attributes:
        time_s: times from the cut.
        level_m: sump level above its floor then.
        settled_s: when the last siphon has broken.
        highest_m: level reached.
        allowed_m: sump depth less freeboard.
        depth_m: sump depth.
    """

    time_s: Array
    level_m: Array
    settled_s: float
    highest_m: float
    allowed_m: float
    depth_m: float

    @property
    def overflows(self) -> bool:
        """Whether water runs over the sump's edge."""
        return self.highest_m > self.depth_m

    @property
    def keeps_freeboard(self) -> bool:
        """Whether the freeboard is kept."""
        return self.highest_m <= self.allowed_m

    def frame(self) -> pd.DataFrame:
        """Return time_s and level_m."""
        return pd.DataFrame({"time_s": self.time_s, "level_m": self.level_m})


def power_cut(design: Design, points: int = 241) -> PowerCut:
    """Return the worst power cut of a design, in closed form.

    Without inflow a primed siphon's level falls as the square of a straight line in time, since
    S dh/dt = -c sqrt(h - z); it breaks at the slots. Whatever a bed holds when the pump stops, no
    less than drained is left in it, so no cut brings the sump higher.

    Args:
        design: the design.
        points: number of times on the trace.

    Raises:
        BadInput: for a design that cannot be.
        NotSolved: if the valves could not be set.
    """
    return power_cut_of(plant_of(design), points)


def power_cut_of(plant: Plant, points: int = 241) -> PowerCut:
    """Return the worst power cut of a plant, as :func:`power_cut`."""
    beds, sump = plant.beds, plant.design.sump
    settled = float(np.max(_emptying_s(beds)))
    times = np.linspace(0.0, settled, points)
    held = _held_m3(beds, times).sum(axis=1)
    water = plant.free_m3 + plant.drained_back_m3
    levels = (water - held) / plant.area_m2
    return PowerCut(
        time_s=times,
        level_m=levels,
        settled_s=settled,
        highest_m=water / plant.area_m2,
        allowed_m=sump.depth_m - sump.freeboard_m,
        depth_m=sump.depth_m,
    )


def _emptying_s(beds: BedArrays) -> Array:
    span = beds.siphon_m3_s(beds.prime_m3) - beds.slots_m3_s
    return np.asarray(2.0 * beds.store_m2 * span / beds.siphon_scale**2)


def _held_m3(beds: BedArrays, times: Array) -> Array:
    fall = beds.siphon_scale**2 / (2.0 * beds.store_m2) * times[:, None]
    flow = np.maximum(beds.siphon_m3_s(beds.prime_m3) - fall, beds.slots_m3_s)
    return np.asarray(beds.store_m2 * ((flow / beds.siphon_scale) ** 2 - beds.drop_m))
