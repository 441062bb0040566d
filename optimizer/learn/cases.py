"""Readings of one kind of bed as arrays: what was read, and the scales of each bed's formulas."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.physics.arrays import Array
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.siphon import froude_flow, orifice_scale, weir_scale
from optimizer.physics.water import GRAVITY
from optimizer.records.readings import MeasuredBed, Reading, ReadingErrors

UNREAD = math.nan


@dataclass(frozen=True, eq=False)
class Cases:
    """One number for each reading; NaN where something was not read or is not known.

    Attributes:
        bed: number of the bed, from 0.
        log_inflow: logarithm of the inflow by bucket and watch.
        inflow_sd: its standard deviation, the bucket's own volume left out.
        starts, stops: 1 yes, 0 no, NaN not seen.
        log_fill, log_drain: logarithms of times in s.
        fill_sd, drain_sd: standard deviations of these.
        highest_m: highest level.
        froude_scale: flow at Froude number 1.
        area_m2, drain_m, crest_m, outlet_m: of the bed.
        weir, orifice: scales of the rim's two laws.
        siphon: primed discharge at K = 1 and one metre of fall.
    """

    bed: NDArray[np.int64]
    log_inflow: Array
    inflow_sd: Array
    starts: Array
    stops: Array
    log_fill: Array
    fill_sd: Array
    log_drain: Array
    drain_sd: Array
    highest_m: Array
    froude_scale: Array
    area_m2: Array
    drain_m: Array
    crest_m: Array
    outlet_m: Array
    weir: Array
    orifice: Array
    siphon: Array

    def __len__(self) -> int:
        return self.bed.size

    @property
    def beds(self) -> int:
        """How many beds were read."""
        return int(self.bed.max()) + 1 if len(self) else 0


def cases_of(
    readings: Sequence[Reading], beds: Sequence[MeasuredBed], errors: ReadingErrors
) -> Cases:
    """Return readings as arrays.

    A fill time says that the siphon started, a drain time that it started and stopped.

    Args:
        readings: of one kind of bed.
        beds: the bed of each reading.
        errors: how far readings are off.
    """
    numbers = {bed: number for number, bed in enumerate(dict.fromkeys(r.bed for r in readings))}

    def read(value: Callable[[Reading], float | None]) -> Array:
        return _column([value(each) for each in readings])

    def built(value: Callable[[MeasuredBed], float | None]) -> Array:
        return _column([value(each) for each in beds])

    fill, drain = read(lambda r: r.fill_s), read(lambda r: r.drain_s)
    bucket = read(lambda r: r.bucket_s)
    return Cases(
        bed=np.array([numbers[each.bed] for each in readings], dtype=np.int64),
        log_inflow=np.log(read(lambda r: r.inflow_m3_s)),
        inflow_sd=np.hypot(errors.bucket_mark, errors.watch_s / bucket),
        starts=read(_started),
        stops=read(_stopped),
        log_fill=np.log(fill),
        fill_sd=np.hypot(errors.times_share, errors.times_s / fill),
        log_drain=np.log(drain),
        drain_sd=np.hypot(errors.times_share, errors.times_s / drain),
        highest_m=read(lambda r: r.highest_m),
        froude_scale=built(lambda b: froude_flow(1.0, b.bore_m)),
        area_m2=built(lambda b: b.area_m2),
        drain_m=built(lambda b: b.drain_level_m),
        crest_m=built(lambda b: b.crest_level_m),
        outlet_m=built(lambda b: b.outlet_level_m),
        weir=built(lambda b: weir_scale(b.mouth_m)),
        orifice=built(lambda b: orifice_scale(b.mouth_m)),
        siphon=built(lambda b: bore_area_m2(b.bore_m) * math.sqrt(2.0 * GRAVITY)),
    )


def _column(values: Sequence[float | None]) -> Array:
    return np.array([UNREAD if value is None else value for value in values], dtype=np.float64)


def _started(reading: Reading) -> float | None:
    if reading.starts is None:
        timed = reading.fill_s is not None or reading.drain_s is not None
        return 1.0 if timed or reading.stops is not None else None
    return float(reading.starts)


def _stopped(reading: Reading) -> float | None:
    if reading.stops is None:
        return None if reading.drain_s is None else 1.0
    return float(reading.stops)
