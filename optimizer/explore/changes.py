"""What a point changes in a job: one named number or choice at a time."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from optimizer.physics.band import Band
from optimizer.pipeline import Job
from optimizer.records.parts import Pipe

Value = float | str
SMALL_BORE_M, LARGE_BORE_M = 0.030, 0.060
"""Bores that part small, middle and large pipe for prices: about 1 in and 2 in pipe."""


@dataclass(frozen=True)
class Change:
    """One thing a study may change.

    Attributes:
        words: what it is, for a reader.
        unit: SI-like unit of its value; ``times`` for a factor on what the job has.
        apply: the job with the change made.
    """

    words: str
    unit: str
    apply: Callable[[Job, Any], Job]


def changed(job: Job, changes: Mapping[str, Value]) -> Job:
    """Return a job with every named change made, in the order of :data:`CHANGES`.

    Raises:
        KeyError: for a name that is no change.
    """
    unknown = changes.keys() - CHANGES.keys()
    if unknown:
        raise KeyError(f"no such change: {', '.join(sorted(unknown))}")
    for name, change in CHANGES.items():
        if name in changes:
            job = change.apply(job, changes[name])
    return job


def _goal(field: str) -> Callable[[Job, Any], Job]:
    def apply(job: Job, value: Any) -> Job:  # noqa: ANN401  # as the goal's field
        return _with_site(job, goals=replace(job.site.goals, **{field: value}))

    return apply


def _with_site(job: Job, **fields: Any) -> Job:  # noqa: ANN401  # fields of Site
    return replace(job, site=replace(job.site, **fields))


def _with_parts(job: Job, table: str, each: Callable[[Any], Any]) -> Job:
    parts = {key: each(part) for key, part in getattr(job.catalog, table).items()}
    return replace(job, catalog=replace(job.catalog, **{table: parts}))


def _field_times(table: str, field: str) -> Callable[[Job, Any], Job]:
    def apply(job: Job, factor: float) -> Job:
        def scaled(part: Any) -> Any:  # noqa: ANN401  # any part
            return replace(part, **{field: factor * getattr(part, field)})

        return _with_parts(job, table, scaled)

    return apply


def _pipe_prices(low_m: float, high_m: float) -> Callable[[Job, Any], Job]:
    def apply(job: Job, factor: float) -> Job:
        def scaled(pipe: Pipe) -> Pipe:
            inside = low_m <= pipe.bore_m < high_m
            return replace(pipe, price_per_m=factor * pipe.price_per_m) if inside else pipe

        return _with_parts(job, "pipes", scaled)

    return apply


def _times(band: Band, factor: float, most: float = float("inf")) -> Band:
    low, nominal, high = (min(most, factor * x) for x in (band.low, band.nominal, band.high))
    return replace(band, nominal=nominal, low=low, high=high)


def _coefficient(name: str, most: float = float("inf")) -> Callable[[Job, Any], Job]:
    """Scale a siphon coefficient, measured or from the catalog's kits."""

    def apply(job: Job, factor: float) -> Job:
        measured: Band | None = getattr(job.site.coefficients, name)
        if measured is not None:
            band = _times(measured, factor, most)
            return _with_site(job, coefficients=replace(job.site.coefficients, **{name: band}))

        def scaled(kit: Any) -> Any:  # noqa: ANN401  # a Kit
            return replace(kit, **{name: _times(getattr(kit, name), factor, most)})

        return _with_parts(job, "kits", scaled)

    return apply


def _porosity(job: Job, factor: float) -> Job:
    measured = job.site.coefficients.porosity
    if measured is not None:
        band = _times(measured, factor, 1.0)
        return _with_site(job, coefficients=replace(job.site.coefficients, porosity=band))
    return _with_parts(job, "media", lambda m: replace(m, porosity=_times(m.porosity, factor, 1.0)))


def _only_pump(job: Job, pump: str) -> Job:
    standing = job.site.standing
    if standing.pump != pump:
        standing = replace(standing, pump=None, pump_count=0)
    purchase = replace(job.site.purchase, pumps=(pump,))
    return _with_site(job, purchase=purchase, standing=standing)


def _only_sump(job: Job, sump: str) -> Job:
    """Choose one sump: ``id`` or ``id x count``."""
    part, _, count = sump.partition(" x ")
    purchase = replace(job.site.purchase, sumps=(part,), sumps_most=int(count or 1))
    standing = replace(job.site.standing, sump=None, sump_count=0)
    return _with_site(job, purchase=purchase, standing=standing)


CHANGES: dict[str, Change] = {
    "floods": Change("least floods of every bed", "1/h", _goal("floods_per_hour_least")),
    "growing_area": Change("least growing area", "m2", _goal("growing_area_least_m2")),
    "beds": Change("least number of beds", "", _goal("beds_least")),
    "robustness": Change("siphon coefficients it must work for", "", _goal("robustness")),
    "energy_price": Change("price of energy", "per kWh", _goal("energy_price_per_kwh")),
    "planning_years": Change("planning years", "years", _goal("planning_years")),
    "discount_rate": Change("discount rate", "share a year", _goal("discount_rate")),
    "water_temperature": Change("water temperature", "C", _goal("water_temperature_c")),
    "pipe_prices": Change("price of all pipe", "times", _pipe_prices(0.0, float("inf"))),
    "small_pipe_prices": Change(
        "price of pipe below 30 mm bore", "times", _pipe_prices(0.0, SMALL_BORE_M)
    ),
    "middle_pipe_prices": Change(
        "price of pipe of 30 to 60 mm bore", "times", _pipe_prices(SMALL_BORE_M, LARGE_BORE_M)
    ),
    "large_pipe_prices": Change(
        "price of pipe from 60 mm bore", "times", _pipe_prices(LARGE_BORE_M, float("inf"))
    ),
    "pump_prices": Change("price of pumps", "times", _field_times("pumps", "price")),
    "sump_prices": Change("price of sumps", "times", _field_times("sumps", "price")),
    "pipe_roughness": Change(
        "roughness of pipe walls", "times", _field_times("pipes", "roughness_m")
    ),
    "porosity": Change("drainable share of the medium", "times", _porosity),
    "start_froude": Change(
        "Froude number at which siphons start", "times", _coefficient("start_froude")
    ),
    "stop_ratio": Change("stop ratio of siphons", "times", _coefficient("stop_ratio", most=0.99)),
    "turn_loss": Change("loss under the bell", "times", _coefficient("turn_loss")),
    "pump": Change("pump, the only one allowed", "", _only_pump),
    "sump": Change("sump, the only one allowed", "", _only_sump),
}
