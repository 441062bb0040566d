"""What a point changes in a job: one named number or choice at a time."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from optimizer.formulate.level_of_choice import with_level_of_choice
from optimizer.job import Job
from optimizer.physics.band import Band
from optimizer.records.parts import Pipe

Value = float | str
SMALL_BORE_M, LARGE_BORE_M = 0.030, 0.060
"""Bores that part small, middle and large pipe for prices: about 1 in and 2 in pipe."""

PUMP_PRICE = "pump_price "
"""A change named by this and a pump's id sets the price of that pump."""


@dataclass(frozen=True)
class Change:
    """One thing a study may change.

    Attributes:
        words: what it is, for a reader.
        unit: unit of its value; ``times`` for a factor on what the job has.
        apply: the job with the change made.
        now: its value in a job.
        around: how far a sensitivity goes down and up by default, as factors on the value now.
        adds: whether ``around`` is added instead.
        physics: whether a built design may break a promise by it, and not only cost otherwise.
    """

    words: str
    unit: str
    apply: Callable[[Job, Any], Job]
    now: Callable[[Job], float] = lambda _: 1.0
    around: tuple[float, float] = (0.8, 1.25)
    adds: bool = False
    physics: bool = False

    def ends(self, job: Job) -> tuple[float, float]:
        """Return the values a sensitivity goes down and up to by default."""
        now, (low, high) = self.now(job), self.around
        return (max(0.0, now + low), now + high) if self.adds else (low * now, high * now)


def is_change(name: str) -> bool:
    """Return whether a change has this name."""
    return name in CHANGES or name.startswith(PUMP_PRICE)


def change_of(name: str) -> Change:
    """Return the change of a name: one of :data:`CHANGES`, or ``pump_price`` and a pump's id.

    Raises:
        KeyError: for a name that is no change.
    """
    if name.startswith(PUMP_PRICE):
        pump = name.removeprefix(PUMP_PRICE)
        return Change(
            f"price of pump {pump}",
            "each",
            lambda job, price: _priced_pump(job, pump, price),
            lambda job: job.catalog.pumps[pump].price,
        )
    return CHANGES[name]


def changed(job: Job, changes: Mapping[str, Value]) -> Job:
    """Return a job with every named change made, those of :data:`CHANGES` in its order.

    Raises:
        KeyError: for a name that is no change.
    """
    place = {name: number for number, name in enumerate(CHANGES)}
    for name in sorted(changes, key=lambda each: (place.get(each, len(place)), each)):
        job = change_of(name).apply(job, changes[name])
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


def _priced_pump(job: Job, pump: str, price: float) -> Job:
    pumps = dict(job.catalog.pumps)
    pumps[pump] = replace(pumps[pump], price=price)
    return replace(job, catalog=replace(job.catalog, pumps=pumps))


def _only_pump(job: Job, pump: str) -> Job:
    """Allow one pump; the sump's lowest level stays, so that costs can be compared."""
    standing = job.site.standing
    if standing.pump != pump:
        standing = replace(standing, pump=None, pump_count=0)
    purchase = with_level_of_choice(job.site, job.catalog).purchase
    return _with_site(job, purchase=replace(purchase, pumps=(pump,)), standing=standing)


def _only_sump(job: Job, sump: str) -> Job:
    """Allow one sump, as ``id`` or up to so many of it, as ``id x count``."""
    part, _, count = sump.partition(" x ")
    standing = job.site.standing
    if standing.sump != part:
        standing = replace(standing, sump=None, sump_count=0)
    most = int(count or job.site.purchase.sumps_most)
    purchase = with_level_of_choice(job.site, job.catalog).purchase
    only = replace(purchase, sumps=(part,), sumps_most=most)
    return _with_site(job, purchase=only, standing=standing)


def _goal_change(
    words: str, unit: str, field: str, around: tuple[float, float] = (0.8, 1.25)
) -> Change:
    def now(job: Job) -> float:
        return float(getattr(job.site.goals, field))

    return Change(words, unit, _goal(field), now, around)


CHANGES: dict[str, Change] = {
    "floods": replace(
        _goal_change("least floods of every bed", "per hour", "floods_per_hour_least"),
        physics=True,
    ),
    "growing_area": replace(
        _goal_change("least growing area", "m2", "growing_area_least_m2"), physics=True
    ),
    "beds": replace(_goal_change("least number of beds", "", "beds_least"), physics=True),
    "robustness": Change(
        "siphon coefficients it must work for", "", _goal("robustness"), physics=True
    ),
    "energy_price": _goal_change(
        "price of energy", "per kWh", "energy_price_per_kwh", around=(0.5, 2.0)
    ),
    "planning_years": _goal_change("planning years", "years", "planning_years", around=(0.5, 1.5)),
    "discount_rate": replace(
        _goal_change("discount rate", "a year", "discount_rate", around=(-0.03, 0.03)), adds=True
    ),
    "water_temperature": replace(
        _goal_change("water temperature", "C", "water_temperature_c", around=(-8.0, 8.0)),
        adds=True,
        physics=True,
    ),
    "pipe_prices": Change("price of all pipe", "times", _pipe_prices(0.0, math.inf)),
    "small_pipe_prices": Change(
        "price of pipe below 30 mm bore", "times", _pipe_prices(0.0, SMALL_BORE_M)
    ),
    "middle_pipe_prices": Change(
        "price of pipe of 30 to 60 mm bore", "times", _pipe_prices(SMALL_BORE_M, LARGE_BORE_M)
    ),
    "large_pipe_prices": Change(
        "price of pipe from 60 mm bore", "times", _pipe_prices(LARGE_BORE_M, math.inf)
    ),
    "pump_prices": Change("price of pumps", "times", _field_times("pumps", "price")),
    "sump_prices": Change("price of sumps", "times", _field_times("sumps", "price")),
    "pipe_roughness": Change(
        "roughness of pipe walls",
        "times",
        _field_times("pipes", "roughness_m"),
        around=(0.5, 4.0),
        physics=True,
    ),
    "porosity": Change(
        "drainable share of the medium", "times", _porosity, around=(0.9, 1.1), physics=True
    ),
    "start_froude": Change(
        "Froude number at which siphons start",
        "times",
        _coefficient("start_froude"),
        around=(0.9, 1.1),
        physics=True,
    ),
    "stop_ratio": Change(
        "stop ratio of siphons",
        "times",
        _coefficient("stop_ratio", most=1.0),
        around=(0.9, 1.1),
        physics=True,
    ),
    "turn_loss": Change(
        "loss of the turn under the bell",
        "times",
        _coefficient("turn_loss"),
        around=(0.8, 1.25),
        physics=True,
    ),
    "pump": Change("pump, the only one allowed", "", _only_pump),
    "sump": Change("sump, the only one allowed", "", _only_sump),
}
"""Every change by name. The defaults of ``around`` are our choice (common practice, no source)."""
