"""Every bed of a design as arrays: stores, thresholds and outflows, with any coefficients drawn.

Volumes count from the drain level: 0 at the slots, ``crest_m3`` at the standpipe's rim and
``prime_m3`` where the siphon starts. A bed still drier than its slots holds a negative volume.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from optimizer.physics.arrays import Array
from optimizer.physics.bed import SiphonBed
from optimizer.physics.siphon import ORIFICE_START, orifice_scale, weir_scale

Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class BedArrays:
    """One number for each bed.

    Attributes:
        store_m2: plan area times porosity.
        crest_m3: water from the drain level to the rim.
        prime_m3: water from the drain level to the prime level.
        dead_m3: water from the floor to the drain level.
        drop_m: drain level above the siphon's outlet.
        siphon_scale: c in the primed discharge c sqrt(level above outlet), m2.5/s.
        start_m3_s: rim flow at which the siphon starts.
        stop_m3_s: greatest inflow at which it stops.
        slots_m3_s: discharge at the drain level.
        weir_scale: C in the rim's weir law C w^1.5, m1.5/s.
        orifice_scale: D in the drowned rim's law D w^0.5, m2.5/s.
        drowned_m: head over the rim from which it is drowned.
    """

    store_m2: Array
    crest_m3: Array
    prime_m3: Array
    dead_m3: Array
    drop_m: Array
    siphon_scale: Array
    start_m3_s: Array
    stop_m3_s: Array
    slots_m3_s: Array
    weir_scale: Array
    orifice_scale: Array
    drowned_m: Array

    def __len__(self) -> int:
        return self.store_m2.size

    def take(self, beds: Indices) -> BedArrays:
        """Return the arrays of some beds, in the order given."""
        return BedArrays(*(getattr(self, each.name)[beds] for each in fields(self)))

    def deeper(self) -> BedArrays:
        """Return the arrays with an axis more at their end, to go with several values a bed."""
        return BedArrays(*(getattr(self, each.name)[..., None] for each in fields(self)))

    def siphon_m3_s(self, volume_m3: Array) -> Array:
        """Return the discharge of primed siphons at the volumes held."""
        above = np.maximum(volume_m3 / self.store_m2 + self.drop_m, 0.0)
        return self.siphon_scale * np.sqrt(above)

    def rim_m3_s(self, volume_m3: Array) -> Array:
        """Return the flow over the rims of siphons that are not primed."""
        head = np.maximum(volume_m3 - self.crest_m3, 0.0) / self.store_m2
        root = np.sqrt(head)
        weir = self.weir_scale * head * root
        return np.where(head > self.drowned_m, self.orifice_scale * root, weir)

    def level_m(self, volume_m3: Array, drain_level_m: Array) -> Array:
        """Return water levels above the bed floors."""
        return np.asarray(drain_level_m + volume_m3 / self.store_m2)

    @property
    def weir_only(self) -> Flags:
        """Whether each siphon starts before its rim is drowned."""
        head = (self.prime_m3 - self.crest_m3) / self.store_m2
        return np.asarray(head <= self.drowned_m)


def bed_arrays(siphons: Sequence[SiphonBed]) -> BedArrays:
    """Return the arrays of beds in order."""

    def column(values: Sequence[float]) -> Array:
        return np.array(values, dtype=np.float64)

    return BedArrays(
        store_m2=column([s.store_m2 for s in siphons]),
        crest_m3=column([s.store_m2 * (s.crest_level_m - s.drain_level_m) for s in siphons]),
        prime_m3=column([s.held_m3 for s in siphons]),
        dead_m3=column([s.store_m2 * s.drain_level_m for s in siphons]),
        drop_m=column([s.drain_level_m - s.outlet_level_m for s in siphons]),
        siphon_scale=column([_siphon_scale(s) for s in siphons]),
        start_m3_s=column([s.start_flow_m3_s for s in siphons]),
        stop_m3_s=column([s.stop_flow_m3_s for s in siphons]),
        slots_m3_s=column([s.greatest_inflow_m3_s for s in siphons]),
        weir_scale=column([weir_scale(s.mouth_m, s.rim_discharge) for s in siphons]),
        orifice_scale=column([orifice_scale(s.mouth_m, s.rim_discharge) for s in siphons]),
        drowned_m=column([ORIFICE_START * s.mouth_m for s in siphons]),
    )


def _siphon_scale(siphon: SiphonBed) -> float:
    return float(siphon.discharge_m3_s(siphon.outlet_level_m + 1.0))
