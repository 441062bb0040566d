"""What was known before: each band as the middle 95 % of a lognormal distribution.

Within a design a band is a range drawn from evenly (A12). Readings must be able to lead out of it,
as bands of a few coefficients are our assumptions, so here it has tails (A70).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from optimizer.physics.arrays import Array
from optimizer.physics.band import Band
from optimizer.records.calibration import COEFFICIENTS
from optimizer.records.readings import KindBands, ReadingErrors

TWO_SIDED_95 = 1.959963984540054
"""Standard deviations on either side that hold 95 % of a normal distribution."""

LEAST_SPREAD = 1e-4
"""Standard deviation of a coefficient given without a band: known, as far as readings can tell."""

SHARES = ("stop_ratio", "porosity")
"""Coefficients that are shares and stay below 1."""

LEAST_SHARE = 1e-3
"""Least value that a band is taken down to: logarithms have no zero."""


@dataclass(frozen=True, eq=False)
class Prior:
    """Independent normal distributions of the unknowns.

    The unknowns are the logarithms of the four coefficients, then the logarithm of the bucket's
    true volume over its stated one.

    Attributes:
        centre: of each unknown.
        spread: standard deviation of each.
        most: greatest value of each.
    """

    centre: Array
    spread: Array
    most: Array

    def log_density(self, unknowns: Array) -> Array:
        """Return the logarithm of the density up to a constant, row by row."""
        off = (unknowns - self.centre) / self.spread
        return np.where((unknowns < self.most).all(axis=1), -0.5 * (off**2).sum(axis=1), -np.inf)

    def quantiles(self, shares: Sequence[float]) -> Array:
        """Return the values below which given shares of each unknown lie, one row for a share."""
        below_most = norm.cdf((self.most - self.centre) / self.spread)
        return np.asarray(
            self.centre + self.spread * norm.ppf(np.array(shares)[:, None] * below_most)
        )


def prior_of(bands: KindBands, errors: ReadingErrors) -> Prior:
    """Return the prior of one kind of bed."""
    pairs = [_normal(getattr(bands, name)) for name in COEFFICIENTS]
    centre, spread = zip(*pairs, (0.0, max(errors.bucket_volume, LEAST_SPREAD)), strict=True)
    most = [0.0 if name in SHARES else math.inf for name in COEFFICIENTS]
    return Prior(np.array(centre), np.array(spread), np.array([*most, math.inf]))


def _normal(band: Band) -> tuple[float, float]:
    low, high = (math.log(max(end, LEAST_SHARE)) for end in (band.low, band.high))
    return (low + high) / 2.0, max((high - low) / (2.0 * TWO_SIDED_95), LEAST_SPREAD)
