"""From draws to estimates with intervals."""

from __future__ import annotations

import numpy as np

from optimizer.learn.posterior import Posterior
from optimizer.learn.prior import Prior
from optimizer.physics.arrays import Array
from optimizer.records.calibration import COEFFICIENTS, Estimate
from optimizer.records.readings import KindBands, ReadingErrors

QUANTILES = (0.025, 0.5, 0.975)

TOLD_SHARE = 0.9
"""A coefficient is told where its interval is at most this share of that before (assumption).

An end of an interval is good to about 2 % of its width, so chance alone hardly does that.
"""


def estimates_of(
    found: Posterior, prior: Prior, bands: KindBands, errors: ReadingErrors, seed: int = 0
) -> tuple[Estimate, ...]:
    """Return an estimate of each coefficient.

    A bed's own interval adds the spread from bed to bed to the draws of the kind.

    Args:
        found: draws.
        prior: what was known before, as a distribution.
        bands: what was known before.
        errors: with the spread from bed to bed.
        seed: of the spread drawn.
    """
    draw = np.random.default_rng(seed)
    spreads = {"start_froude": errors.start_beds, "stop_ratio": errors.stop_beds}
    before = np.exp(prior.quantiles(QUANTILES))
    made = []
    for index, name in enumerate(COEFFICIENTS):
        logs = found.draws[:, index]
        band = getattr(bands, name)
        low, value, high = _quantiles(logs)
        off = spreads.get(name, 0.0) * draw.standard_normal(logs.size)
        of_bed = np.minimum(logs + off, 0.0) if name == "stop_ratio" else logs + off
        bed_low, _, bed_high = _quantiles(of_bed)
        told = high - low <= TOLD_SHARE * (before[2, index] - before[0, index])
        made.append(Estimate(name, band, value, low, high, bed_low, bed_high, bool(told)))
    return tuple(made)


def _quantiles(logs: Array) -> tuple[float, float, float]:
    low, middle, high = np.exp(np.quantile(logs, QUANTILES))
    return float(low), float(middle), float(high)
