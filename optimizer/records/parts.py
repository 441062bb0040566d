"""What can be bought: one immutable record for each kind of part, and the catalog of them all.

Every length is in metres, mass in kilograms, pressure in pascals. Prices are in the site's
currency; the shipped ones are invented examples to be replaced.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from optimizer.physics.band import Band

FittingPrices = Mapping[tuple[str, str, str], float]
"""(kind, series, nominal size) to price."""


@dataclass(frozen=True)
class Pipe:
    """One size of one pipe series."""

    id: str
    series: str
    nominal: str
    material: str
    outside_m: float
    wall_m: float
    bore_m: float
    rating_pa: float
    roughness_m: float
    stock_length_m: float
    price_per_m: float
    source: str


@dataclass(frozen=True)
class Fitting:
    """One fitting of one pipe series and size.

    ``kind`` is one of elbow_90, elbow_45, tee, reducer, union, cap, adapter, clean_out, strainer,
    non_return_valve, bulkhead, timed_valve. Its loss is looked up by name in ``Catalog.losses``.
    """

    id: str
    kind: str
    series: str
    nominal: str
    price: float
    source: str


@dataclass(frozen=True)
class LossCoefficient:
    """A local loss ``K`` in ``h = K V^2 / 2g``, V in the pipe named by ``refers_to``."""

    name: str
    value: float
    low: float
    high: float
    standard: str
    refers_to: str
    source: str


@dataclass(frozen=True)
class Valve:
    """One size of one kind of throttling valve (ball, gate, diaphragm).

    ``openings`` rise from just above 0 to 1 (fully open); ``losses`` are the matching K, falling.
    """

    id: str
    kind: str
    series: str
    nominal: str
    openings: tuple[float, ...]
    losses: tuple[float, ...]
    price: float
    source: str


@dataclass(frozen=True)
class Pump:
    """A pump by points of its curve at its rated speed.

    ``flows_m3_s`` rise from 0; ``heads_m`` fall; ``watts`` is electrical input at each point.
    ``noise_db`` is its sound pressure level one metre away, A-weighted; None where not told.
    """

    id: str
    label: str
    flows_m3_s: tuple[float, ...]
    heads_m: tuple[float, ...]
    watts: tuple[float, ...]
    submergence_m: float
    life_years: float
    price: float
    source: str
    noise_db: float | None = None


@dataclass(frozen=True)
class Container:
    """A bed container; inside sizes."""

    id: str
    label: str
    length_m: float
    width_m: float
    depth_m: float
    empty_mass_kg: float
    price: float
    source: str


@dataclass(frozen=True)
class Medium:
    """What fills a bed; ``porosity`` is the drainable share of its volume."""

    id: str
    label: str
    porosity: Band
    wet_density_kg_m3: float
    price_per_m3: float
    source: str


@dataclass(frozen=True)
class Stand:
    """What a bed stands on. ``capacity_kg`` is what its maker allows in all."""

    id: str
    label: str
    height_m: float
    supports: int
    foot_area_m2: float
    capacity_kg: float
    price: float
    source: str


@dataclass(frozen=True)
class Kit:
    """A siphon kit: standpipe, bell, guard, bulkhead, in one nominal standpipe size.

    ``style`` is plain, rim_funnel or breather_tube. ``mouth_ratio`` is the rim's diameter over the
    bore (1 for a plain rim). ``turn_loss`` is K of the turn under the bell's cap, referred to the
    standpipe bore.
    """

    id: str
    label: str
    style: str
    series: str
    nominal: str
    bulkhead_hole_m: float
    mouth_ratio: float
    start_froude: Band
    stop_ratio: Band
    turn_loss: Band
    price: float
    source: str


@dataclass(frozen=True)
class Sump:
    """A sump tank with straight sides. ``freeboard_m`` stays dry below the rim."""

    id: str
    label: str
    area_m2: float
    depth_m: float
    freeboard_m: float
    price: float
    source: str


@dataclass(frozen=True)
class Service:
    """Labour or delivery. ``per`` is bed, metre or site."""

    id: str
    label: str
    per: str
    price: float
    source: str


@dataclass(frozen=True)
class Timer:
    """A timer that opens timed valves in turn. ``stations`` is how many zones it can serve."""

    id: str
    label: str
    stations: int
    price: float
    source: str


@dataclass(frozen=True)
class Catalog:
    """Every part by id."""

    pipes: Mapping[str, Pipe]
    fittings: Mapping[str, Fitting]
    losses: Mapping[str, LossCoefficient]
    valves: Mapping[str, Valve]
    pumps: Mapping[str, Pump]
    containers: Mapping[str, Container]
    media: Mapping[str, Medium]
    stands: Mapping[str, Stand]
    kits: Mapping[str, Kit]
    sumps: Mapping[str, Sump]
    services: Mapping[str, Service]
    timers: Mapping[str, Timer] = field(default_factory=dict)

    @cached_property
    def fitting_prices(self) -> FittingPrices:
        """Price of every fitting; where a size is listed twice, the cheaper one."""
        prices: dict[tuple[str, str, str], float] = {}
        for fitting in self.fittings.values():
            key = (fitting.kind, fitting.series, fitting.nominal)
            prices[key] = min(fitting.price, prices.get(key, fitting.price))
        return prices
