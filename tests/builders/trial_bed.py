"""A trial bed with invented sizes, and readings of it as a grower would state them."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.learn.cases import cases_of
from optimizer.learn.estimates import estimates_of
from optimizer.learn.posterior import posterior
from optimizer.learn.prior import prior_of
from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.records.calibration import Estimate
from optimizer.records.readings import KindBands, MeasuredBed, Reading, ReadingErrors

TRIAL = SiphonBed(2.88, 0.40, 0.03, 0.25, 0.02664, -0.15, 5.0)
BANDS = KindBands(
    start_froude=Band(0.30, 0.20, 0.45, "A1"),
    stop_ratio=Band(0.75, 0.60, 0.95, "A2"),
    loss_coefficient=Band(5.0, 4.0, 6.6, "A3"),
    porosity=Band(0.40, 0.35, 0.46, "A4"),
)
ERRORS = ReadingErrors()


def at(litres_a_minute: float, bed: str = "A1", **seen: object) -> Reading:
    """A reading of a 10 L bucket."""
    seconds = 600.0 / litres_a_minute
    return Reading(bed, 0.010 / seconds, seconds, **seen)  # type: ignore[arg-type]


def flood(litres_a_minute: float, bed: str = "A1", **changes: object) -> Reading:
    """A flood of the trial bed, read without any error."""
    inflow = litres_a_minute / 60_000.0
    seen = {
        "starts": True,
        "fill_s": TRIAL.fill_s(inflow),
        "drain_s": TRIAL.drain_s(inflow),
        "stops": True,
    }
    return at(litres_a_minute, bed, **(seen | changes))


def estimates_alone(
    readings: Sequence[Reading], beds: Sequence[MeasuredBed], bands: KindBands = BANDS
) -> tuple[Estimate, ...]:
    """Return the estimates from readings of some beds, contradictions or not."""
    cases, prior = cases_of(readings, beds, ERRORS), prior_of(bands, ERRORS)
    return estimates_of(posterior(cases, prior, ERRORS), prior, bands, ERRORS)
