"""Likelihood of one bed's readings by drawing everything that is not known, tens of thousand times.

Inflows, the bed's own threshold and that of every flood are drawn and compared; times come from
SiphonBed at the threshold drawn. No probit, no straight line, no quadrature.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.special import logsumexp

from optimizer.physics.bed import SiphonBed
from optimizer.physics.siphon import froude_flow
from optimizer.records.readings import Reading, ReadingErrors


def counted_log_likelihood(
    siphon: SiphonBed, readings: Sequence[Reading], errors: ReadingErrors, draws: int, seed: int
) -> float:
    draw = np.random.default_rng(seed)
    start_off = errors.start_beds * draw.standard_normal(draws)
    stop_off = errors.stop_beds * draw.standard_normal(draws)
    logs = np.zeros(draws)
    for reading in readings:
        sd = np.hypot(errors.bucket_mark, errors.watch_s / reading.bucket_s)
        inflow = reading.inflow_m3_s * np.exp(sd * draw.standard_normal(draws))
        repeats = errors.start_repeats * draw.standard_normal(draws)
        froude = siphon.start_froude * np.exp(start_off + repeats)
        start = froude * froude_flow(1.0, siphon.bore_m)
        repeats = errors.stop_repeats * draw.standard_normal(draws)
        stop = siphon.stop_flow_m3_s * np.exp(stop_off + repeats)
        agrees = (inflow > start) == reading.starts
        if reading.stops is not None:
            agrees &= (inflow < stop) == reading.stops
        logs[~agrees] = -np.inf
        for n in np.flatnonzero(np.isfinite(logs)):
            bed = replace(siphon, start_froude=float(froude[n]))
            logs[n] += _times(bed, float(inflow[n]), reading, errors)
    return float(logsumexp(logs) - np.log(draws))


def _times(bed: SiphonBed, inflow: float, reading: Reading, errors: ReadingErrors) -> float:
    total = 0.0
    for seconds, expected in ((reading.fill_s, bed.fill_s), (reading.drain_s, bed.drain_s)):
        if seconds is not None:
            sd = np.hypot(errors.times_share, errors.times_s / seconds)
            total += _log_density(np.log(seconds / expected(inflow)), sd)
    if reading.highest_m is not None:
        total += _log_density(reading.highest_m - bed.prime_level_m, errors.level_m)
    return total


def _log_density(off: float, sd: float) -> float:
    return float(-0.5 * (off / sd) ** 2 - np.log(sd * np.sqrt(2.0 * np.pi)))
