"""Which reading would teach most next.

Each doable reading is one flood watched at a set inflow in a bed of the kind not read before. What
it may say is drawn from what is known now; draws are weighed anew by how likely they make that; the
score is the mean over the four coefficients of ln(width after / width now), averaged over what it
may say. The criterion is our own; it is akin to choosing the least expected volume (Bayesian
D-optimality: Chaloner and Verdinelli, Bayesian experimental design, Statistical Science, 1995; from
memory, not verified).
"""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from optimizer.learn.cases import UNREAD, Cases
from optimizer.learn.likelihood import by_bed, predict
from optimizer.learn.posterior import Posterior
from optimizer.physics.arrays import Array
from optimizer.records.calibration import COEFFICIENTS, NextReading
from optimizer.records.design import BUCKET_M3
from optimizer.records.readings import ReadingErrors

INFLOWS = 15
DRAWS = 1000
OUTCOMES = 96
SHOWN = 3
ROOM = 1.3
"""Inflows looked at reach this far below the least likely start and above the last likely stop."""

_TAIL = 0.025


def next_readings(
    found: Posterior, cases: Cases, errors: ReadingErrors, seed: int = 0
) -> tuple[NextReading, ...]:
    """Return the inflows that would teach most, the best first.

    Args:
        found: what is known now.
        cases: the readings so far; the first one's bed stands for the kind.
        errors: how far readings are off.
        seed: of what the readings may say.
    """
    draw = np.random.default_rng(seed)
    rows = found.draws[draw.choice(found.draws.shape[0], DRAWS, replace=False)]
    spans = predict(rows, cases, errors)
    low = np.quantile(spans.log_start[:, 0], _TAIL) - np.log(ROOM)
    stop = spans.log_stop[:, 0]
    high = np.quantile(stop if np.isfinite(stop).all() else spans.log_start[:, 0] + 1.0, 1 - _TAIL)
    inflows = np.exp(np.linspace(low, high + np.log(ROOM), INFLOWS))
    scored = [_score(float(q), rows, cases, errors, draw) for q in inflows]
    return tuple(sorted(scored, key=lambda each: each.score)[:SHOWN])


def _score(
    inflow: float, rows: Array, cases: Cases, errors: ReadingErrors, draw: np.random.Generator
) -> NextReading:
    told = rows[draw.choice(DRAWS, OUTCOMES, replace=False)]
    outcomes = _outcomes(inflow, told, cases, errors, draw)
    found = predict(rows, _first(outcomes), errors)  # the same for all: one inflow, one kind
    logs = by_bed(rows, outcomes, errors, found)
    weights = np.exp(logs - logs.max(axis=0))
    weights /= weights.sum(axis=0)
    level = np.full_like(weights, 1.0 / DRAWS)
    shares = [
        float(np.exp(np.mean(np.log(_widths(values, weights) / _widths(values, level)))))
        for values in rows[:, : len(COEFFICIENTS)].T
    ]
    return NextReading(inflow, tuple(shares), float(np.mean(np.log(shares))))


def _first(cases: Cases) -> Cases:
    return Cases(**{each.name: getattr(cases, each.name)[:1] for each in fields(cases)})


def _outcomes(
    inflow: float, told: Array, cases: Cases, errors: ReadingErrors, draw: np.random.Generator
) -> Cases:
    """Return one reading for each of some draws, each in a bed of its own."""
    count = told.shape[0]
    sd = float(np.hypot(errors.bucket_mark, errors.watch_s * inflow / BUCKET_M3))
    seconds = np.full(count, UNREAD)
    one = _first(cases)
    blank = Cases(**{each.name: np.repeat(getattr(one, each.name), count) for each in fields(one)})
    blank = replace(
        blank,
        bed=np.arange(count),
        log_inflow=np.full(count, np.log(inflow)),
        inflow_sd=np.full(count, sd),
        starts=np.ones(count),
        stops=seconds,
        log_fill=seconds,
        log_drain=seconds,
        highest_m=seconds,
    )
    here = predict(told, blank, errors)
    mean = {name: np.diagonal(getattr(here, name)) for name in _DRAWN}
    off = sd * draw.standard_normal(count)
    start_sd = np.hypot(errors.start_beds, errors.start_repeats)
    stop_sd = np.hypot(errors.stop_beds, errors.stop_repeats)
    inflows = mean["log_inflow"] + off
    starts = inflows > mean["log_start"] + start_sd * draw.standard_normal(count)
    stops = starts & (inflows < mean["log_stop"] + stop_sd * draw.standard_normal(count))
    fill, fill_sd = _timed(mean["log_fill"] + mean["fill_slope"] * off, errors, draw)
    drain, drain_sd = _timed(mean["log_drain"] + mean["drain_slope"] * off, errors, draw)
    return replace(
        blank,
        starts=starts.astype(float),
        stops=np.where(starts & np.isfinite(mean["log_stop"]), stops.astype(float), UNREAD),
        log_fill=np.where(starts, fill, UNREAD),
        fill_sd=fill_sd,
        log_drain=np.where(stops, drain, UNREAD),
        drain_sd=drain_sd,
    )


_DRAWN = (
    "log_inflow",
    "log_start",
    "log_stop",
    "log_fill",
    "fill_slope",
    "log_drain",
    "drain_slope",
)


def _timed(logs: Array, errors: ReadingErrors, draw: np.random.Generator) -> tuple[Array, Array]:
    sd = np.hypot(errors.times_share, errors.times_s * np.exp(-logs))
    return logs + sd * draw.standard_normal(logs.size), sd


def _widths(values: Array, weights: Array) -> Array:
    """Return the width of the middle 95 % of values under each column of weights."""
    order = np.argsort(values)
    sums = np.cumsum(weights[order], axis=0)
    ends = [np.argmax(sums >= share, axis=0) for share in (_TAIL, 1.0 - _TAIL)]
    low, high = (values[order][end] for end in ends)
    return np.asarray(np.maximum(high - low, 1e-9))
