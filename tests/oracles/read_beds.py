"""A grower with a bucket and a watch, simulated: readings of beds whose coefficients are known.

It shares nothing with optimizer/learn but the records and the scalar physics of one bed: thresholds
are drawn and compared, times are those of SiphonBed at the threshold of that very flood. So it
judges the likelihood, its straight lines and its quadrature.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from optimizer.physics.bed import SiphonBed
from optimizer.physics.siphon import froude_flow
from optimizer.records.readings import MeasuredBed, Reading, ReadingErrors

BUCKET_M3 = 0.010


def measured(siphon: SiphonBed, name: str = "A1", kind: str = "bed") -> MeasuredBed:
    return MeasuredBed(
        id=name,
        kind=kind,
        bore_m=siphon.bore_m,
        mouth_m=siphon.mouth_m,
        area_m2=siphon.area_m2,
        drain_level_m=siphon.drain_level_m,
        crest_level_m=siphon.crest_level_m,
        outlet_level_m=siphon.outlet_level_m,
    )


class Grower:
    """Reads beds of one kind. ``siphon`` has the true coefficients of the kind."""

    def __init__(self, siphon: SiphonBed, errors: ReadingErrors, draw: np.random.Generator) -> None:
        self.siphon, self.errors, self.draw = siphon, errors, draw
        self.bucket = draw.normal(0.0, errors.bucket_volume)
        self.beds: dict[str, tuple[float, float]] = {}

    def _bed(self, name: str) -> tuple[float, float]:
        """How far the start and the stop of one bed lie off those of its kind."""
        if name not in self.beds:
            e = self.errors
            self.beds[name] = (
                self.draw.normal(0.0, e.start_beds),
                self.draw.normal(0.0, e.stop_beds),
            )
        return self.beds[name]

    def read(self, name: str, inflow: float, times: bool = True, level: bool = True) -> Reading:
        """One flood at a true inflow, written down."""
        e, draw = self.errors, self.draw
        start_off, stop_off = self._bed(name)
        froude = self.siphon.start_froude * np.exp(start_off + draw.normal(0.0, e.start_repeats))
        now = replace(self.siphon, start_froude=float(froude))
        stop = self.siphon.stop_flow_m3_s * np.exp(stop_off + draw.normal(0.0, e.stop_repeats))
        starts = inflow > froude_flow(float(froude), self.siphon.bore_m)
        stops = starts and inflow < min(stop, self.siphon.greatest_inflow_m3_s)
        sd = np.hypot(e.bucket_mark, e.watch_s * inflow / BUCKET_M3)
        said = inflow * np.exp(-self.bucket - draw.normal(0.0, sd))
        over = now.prime_level_m if starts else self._stalled_level(inflow)
        return Reading(
            bed=name,
            inflow_m3_s=float(said),
            bucket_s=BUCKET_M3 / float(said),
            starts=bool(starts),
            fill_s=self._timed(now.fill_s(inflow)) if starts and times else None,
            drain_s=self._timed(now.drain_s(inflow)) if stops and times else None,
            stops=bool(stops) if starts else None,
            highest_m=over + draw.normal(0.0, e.level_m) if level else None,
        )

    def _stalled_level(self, inflow: float) -> float:
        froude = inflow / froude_flow(1.0, self.siphon.bore_m)
        return replace(self.siphon, start_froude=froude).prime_level_m

    def _timed(self, seconds: float) -> float:
        e, draw = self.errors, self.draw
        return max(
            10.0, seconds * np.exp(draw.normal(0.0, e.times_share)) + draw.normal(0.0, e.times_s)
        )
