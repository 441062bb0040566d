"""The story of a calibration: readings of one kind of bed in, what they say out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from optimizer.errors import BadInput, Problem
from optimizer.learn.cases import cases_of
from optimizer.learn.contradictions import find_contradictions
from optimizer.learn.estimates import estimates_of
from optimizer.learn.next_reading import next_readings
from optimizer.learn.posterior import EFFECTIVE_LEAST, Posterior, Told, posterior
from optimizer.learn.prior import prior_of
from optimizer.learn.turn_loss import turn_band
from optimizer.physics.band import Band
from optimizer.reading.nearest import choose_from
from optimizer.records.calibration import Calibration, Estimate
from optimizer.records.readings import Reading, Readings


def calibrate(
    readings: Readings,
    *,
    kind: str | None = None,
    seed: int = 0,
    told: Told | None = None,
    next_too: bool = True,
) -> Calibration:
    """Return what readings say of the coefficients of one kind of bed.

    Args:
        readings: as read.
        kind: which kind, where several were read.
        seed: of the sampler; the same seed gives the same answer.
        told: called with the share of the work done.
        next_too: also look for what to read next.

    Raises:
        BadInput: if several kinds were read and none is named, or none of that name.
    """
    kind = _kind(readings, kind)
    chosen = [r for r in readings.readings if readings.beds[r.bed].kind == kind]
    beds = [readings.beds[r.bed] for r in chosen]
    bands, errors = readings.bands[kind], readings.errors
    cases = cases_of(chosen, beds, errors)
    prior = prior_of(bands, errors)
    found = posterior(cases, prior, errors, seed, told)
    likeliest = np.median(found.draws, axis=0)
    against = find_contradictions(chosen, cases, errors, likeliest, readings.units)
    estimates = () if against else estimates_of(found, prior, bands, errors, seed)
    days = sorted(r.date for r in chosen if r.date)
    provenance = _provenance(chosen, days)
    turn, turn_note = turn_band(estimates, bands, provenance)
    return Calibration(
        kind=kind,
        readings=len(chosen),
        beds=cases.beds,
        dates=(days[0], days[-1]) if days else ("", ""),
        estimates=estimates,
        contradictions=against,
        notes=(*_notes(estimates, readings, found), *turn_note),
        next_readings=next_readings(found, cases, errors, seed) if next_too and not against else (),
        turn_loss=turn,
        provenance=provenance,
        units=readings.units,
    )


def _kind(readings: Readings, wanted: str | None) -> str:
    kinds = list(dict.fromkeys(readings.beds[r.bed].kind for r in readings.readings))
    if wanted is not None and wanted not in kinds:
        what = "no reading is of a bed of this kind."
        raise BadInput([Problem(f"--kind {wanted}", what, choose_from(wanted, kinds))])
    if wanted is None and len(kinds) > 1:
        what = f"readings are of {len(kinds)} kinds of bed: {', '.join(kinds)}."
        fix = "Coefficients are those of one kind: name it with --kind, one after another."
        raise BadInput([Problem("readings", what, fix)])
    return wanted or kinds[0]


def _provenance(readings: Sequence[Reading], days: Sequence[str]) -> str:
    beds = len({each.bed for each in readings})
    dates = "" if not days else f", {days[0]}" + (f" to {days[-1]}" if days[0] < days[-1] else "")
    return f"calibrated from {_counted(len(readings), 'reading')} of {_counted(beds, 'bed')}{dates}"


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'s' if count != 1 else ''}"


def _notes(estimates: Sequence[Estimate], readings: Readings, found: Posterior) -> tuple[str, ...]:
    notes = [
        f"{each.name} lies outside the band before: {_where(each.prior, each.value)}. Either the "
        "band is wrong or what was told of the bed is: check its sizes and the bucket."
        for each in estimates
        if each.outside
    ]
    if replaced := readings.errors.replaced():
        notes.append(f"Errors not assumed but {readings.errors_from}: {', '.join(replaced)}.")
    if found.effective < EFFECTIVE_LEAST:
        notes.append(
            f"The sampler is worth only {found.effective:.0f} draws: ends of intervals are rough."
        )
    return tuple(notes)


def _where(band: Band, value: float) -> str:
    return f"{value:.3g}, not {band.low:.3g} to {band.high:.3g}"
