"""The story of a calibration."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.learn.cases import cases_of
from optimizer.learn.estimates import estimates_of
from optimizer.learn.posterior import Told, posterior
from optimizer.learn.prior import prior_of
from optimizer.records.calibration import Estimate
from optimizer.records.readings import KindBands, MeasuredBed, Reading, ReadingErrors


def estimate_kind(
    readings: Sequence[Reading],
    beds: Sequence[MeasuredBed],
    bands: KindBands,
    errors: ReadingErrors,
    seed: int = 0,
    told: Told | None = None,
) -> tuple[Estimate, ...]:
    """Return what readings of one kind of bed say of its coefficients.

    Args:
        readings: in any order.
        beds: the bed of each reading.
        bands: what was known before.
        errors: how far readings are off.
        seed: of the sampler.
        told: called with the share of the work done.
    """
    cases, prior = cases_of(readings, beds, errors), prior_of(bands, errors)
    return estimates_of(posterior(cases, prior, errors, seed, told), bands, errors, seed)
