"""How likely readings are for given coefficients (docs/method-calibrate.md).

The true inflow of a reading is its bucket's, times the bucket's own error, times an error of its
own. Siphons of one kind start at one inflow but for a spread from bed to bed and from flood to
flood; so they stop. "Started" and "stopped" are then one-sided readings of a threshold (probits),
and the times are normal in their logarithms. The inflow's own error is removed by taking the
logarithms of times as straight lines in it over one standard deviation either way; the spread from
bed to bed, which readings of one bed share, by Gauss-Hermite quadrature.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, logsumexp

from optimizer.learn.cases import Cases
from optimizer.learn.times import drain_s, fill_s, rim_head_m
from optimizer.physics.arrays import Array
from optimizer.records.readings import ReadingErrors

NODES = 11
"""Points of the quadrature over the spread from bed to bed."""

LOG_ROOT_TWO_PI = 0.9189385332046727

_STEPS = np.array([-1.0, 0.0, 1.0])[:, None, None]
"""Standard deviations of the inflow between which a time is taken as a straight line."""

_POINTS, _WEIGHTS = np.polynomial.hermite_e.hermegauss(NODES)
_LOG_WEIGHTS = np.log(_WEIGHTS) - LOG_ROOT_TWO_PI


@dataclass(frozen=True, eq=False)
class Predicted:
    """What coefficients make of each reading, at its inflow and its slope against the inflow.

    Rows are sets of coefficients, columns are readings.

    Attributes:
        log_start: logarithm of the least inflow that starts.
        log_stop: logarithm of the greatest inflow that stops.
        log_inflow: logarithm of the inflow, the bucket's own error taken out.
        log_fill, fill_slope: of the fill time.
        log_drain, drain_slope: of the drain time.
        highest_m: highest level.
    """

    log_start: Array
    log_stop: Array
    log_inflow: Array
    log_fill: Array
    fill_slope: Array
    log_drain: Array
    drain_slope: Array
    highest_m: Array


def predict(unknowns: Array, cases: Cases, errors: ReadingErrors) -> Predicted:
    """Return what each row of unknowns makes of each reading.

    Where a siphon started, its threshold of that flood lay below the inflow; the mean of it, given
    that, is where the water stood at the start.

    Args:
        unknowns: rows of ln Fr, ln r, ln K, ln e, ln bucket (:class:`optimizer.learn.prior.Prior`).
        cases: the readings.
        errors: how far they are off.
    """
    froude, ratio, loss, porosity, bucket = unknowns.T[:, :, None]
    log_inflow = cases.log_inflow + bucket
    log_start = froude + np.log(cases.froude_scale)
    slots = np.log(cases.siphon * np.sqrt(cases.drain_m - cases.outlet_m)) - 0.5 * loss
    sd = np.sqrt(errors.start_beds**2 + errors.start_repeats**2 + cases.inflow_sd**2)
    moved = log_inflow + _STEPS * cases.inflow_sd
    primed = np.exp(moved - mean_above_zero(moved - log_start, sd))
    fill = np.log(fill_s(np.exp(moved), primed, np.exp(porosity), cases))
    drain = np.log(drain_s(np.exp(moved), primed, np.exp(porosity), np.exp(loss), cases))
    over_rim = np.where(cases.starts == 0.0, np.exp(log_inflow), primed[1])
    return Predicted(
        log_start=log_start,
        log_stop=ratio + slots,
        log_inflow=log_inflow,
        log_fill=fill[1],
        fill_slope=(fill[2] - fill[0]) / (2.0 * cases.inflow_sd),
        log_drain=drain[1],
        drain_slope=(drain[2] - drain[0]) / (2.0 * cases.inflow_sd),
        highest_m=cases.crest_m + rim_head_m(over_rim, cases),
    )


def mean_above_zero(mean: Array, sd: Array) -> Array:
    """Return the mean of a normal distribution's part above zero."""
    ratio = mean / sd
    mills = np.exp(-0.5 * ratio**2 - LOG_ROOT_TWO_PI - log_ndtr(ratio))
    return np.asarray(mean + sd * mills)


def log_likelihood(unknowns: Array, cases: Cases, errors: ReadingErrors) -> Array:
    """Return the logarithm of the likelihood of all readings, row by row; as :func:`by_bed`."""
    return np.asarray(by_bed(unknowns, cases, errors).sum(axis=1))


def by_bed(
    unknowns: Array, cases: Cases, errors: ReadingErrors, found: Predicted | None = None
) -> Array:
    """Return the logarithm of the likelihood of each bed's readings, one column a bed.

    Args:
        unknowns: as in :func:`predict`.
        cases: the readings.
        errors: how far they are off.
        found: what :func:`predict` says of the readings, where that is known; one column where it
            is the same for all.
    """
    found = found or predict(unknowns, cases, errors)
    times, shift, sd = _times(found, cases)
    level = _normal(cases.highest_m - found.highest_m, np.full(len(cases), errors.level_m))
    total = _summed(times + level, cases)
    inflow = found.log_inflow + shift
    for seen, margin, beds, repeats in (
        (cases.starts, inflow - found.log_start, errors.start_beds, errors.start_repeats),
        (cases.stops, found.log_stop - inflow, errors.stop_beds, errors.stop_repeats),
    ):
        total = total + _seen(seen, margin, np.hypot(sd, repeats), beds, cases)
    return np.asarray(total)


def _normal(off: Array, sd: Array) -> Array:
    """Return the logarithm of a normal density, and 0 where nothing was read."""
    density = -0.5 * (off / sd) ** 2 - np.log(sd) - LOG_ROOT_TWO_PI
    return np.where(np.isnan(density), 0.0, density)


def _times(found: Predicted, cases: Cases) -> tuple[Array, Array, Array]:
    """Return the log likelihood of the times, and the inflow's error once they are known."""
    precision = 1.0 / cases.inflow_sd**2 + np.zeros_like(found.log_inflow)
    pull, squares = np.zeros_like(precision), np.zeros_like(precision)
    logs = -2.0 * np.log(cases.inflow_sd)
    for read, mean, slope, sd in (
        (cases.log_fill, found.log_fill, found.fill_slope, cases.fill_sd),
        (cases.log_drain, found.log_drain, found.drain_slope, cases.drain_sd),
    ):
        known = ~np.isnan(read - mean)
        off, tilt = np.where(known, read - mean, 0.0), np.where(known, slope, 0.0)
        spread = np.where(known, sd, 1.0)
        precision = precision + (tilt / spread) ** 2
        pull = pull + tilt * off / spread**2
        squares = squares + (off / spread) ** 2
        logs = logs - np.where(known, 2.0 * np.log(spread) + 2.0 * LOG_ROOT_TWO_PI, 0.0)
    value = 0.5 * (logs - np.log(precision) - squares + pull**2 / precision)
    return value, pull / precision, 1.0 / np.sqrt(precision)


def _seen(seen: Array, margin: Array, sd: Array, spread: float, cases: Cases) -> Array:
    """Return the log likelihood of yes-or-no readings of a threshold, bed by bed.

    Args:
        seen: 1 yes, 0 no, NaN not seen.
        margin: how far on the side of "yes" the mean bed is.
        sd: of the margin from flood to flood.
        spread: of the threshold from bed to bed.
        cases: the readings.
    """
    known = ~np.isnan(seen)
    sign = np.where(seen[known] == 1.0, 1.0, -1.0)
    off = margin[:, None, known] + spread * _POINTS[:, None]
    logs = np.zeros((margin.shape[0], NODES, margin.shape[1]))
    logs[..., known] = log_ndtr(sign * off / sd[:, None, known])
    return np.asarray(logsumexp(_summed(logs, cases) + _LOG_WEIGHTS[:, None], axis=1))


def _summed(values: Array, cases: Cases) -> Array:
    """Return sums over the readings of each bed, along the last axis."""
    if np.array_equal(cases.bed, np.arange(len(cases))):
        return values
    order = np.argsort(cases.bed, kind="stable")
    firsts = np.searchsorted(cases.bed[order], np.arange(cases.beds))
    return np.asarray(np.add.reduceat(values[..., order], firsts, axis=-1))
