"""What a grower has and wants, in SI, as read from a site file."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from optimizer.physics.band import Band
from optimizer.records.header_ring import HeaderRing
from optimizer.records.header_tank import HeaderTank
from optimizer.records.noise import NoiseLimit
from optimizer.records.phases import Phase
from optimizer.records.standing import (
    ChangeLabour,
    StandingDrain,
    StandingSiphon,
    StandingStretch,
)
from optimizer.records.zones import Zones

Point = tuple[float, float]


@dataclass(frozen=True)
class Goals:
    """What the design must reach, and how money and risk are counted.

    ``robustness`` is nominal (the nominal coefficients), most (95 % of draws) or whole (the whole
    band). ``valve_setting_error`` is the relative error of a valve set by bucket and watch.
    ``level_drift`` is the relative change of inflow that the sump's level may cause (A-numbers in
    docs/assumptions.md). ``pump_tolerance`` is the share by which a pump's heads may lie off its
    curve; nominal robustness takes the curve as it is. ``budget`` is the most money to buy with,
    running costs apart.
    """

    floods_per_hour_least: float
    floods_per_hour_most: float | None = None
    beds_least: int = 1
    growing_area_least_m2: float = 0.0
    robustness: str = "most"
    planning_years: float = 10.0
    discount_rate: float = 0.05
    energy_price_growth: float = 0.0
    energy_price_per_kwh: float = 0.30
    pump_hours_per_day: float = 24.0
    velocity_limit_m_s: float = 1.5
    valve_setting_error: float = 0.07
    level_drift: float = 0.08
    water_temperature_c: float = 20.0
    budget: float | None = None
    pump_tolerance: float = 0.05

    @property
    def pump_margin(self) -> float:
        """Share of a pump's head that the design must do without, or be able to throttle away."""
        return 0.0 if self.robustness == "nominal" else self.pump_tolerance


@dataclass(frozen=True)
class BedType:
    """A kind of bed the grower would build: container, medium and stand by catalog id.

    ``kits`` lists the siphon kits to choose from (empty: every kit in the catalog).
    ``drain_drop_m`` is how far the siphon's outlet lies below the bed floor. ``like`` names the
    type that this one is, but for a siphon that stands in some of its beds; empty: none.
    """

    id: str
    container: str
    medium: str
    stand: str
    kits: tuple[str, ...] = ()
    drain_drop_m: float = 0.15
    crest_below_rim_m: float = 0.05
    like: str = ""


@dataclass(frozen=True)
class Row:
    """A straight row of bed positions, or one named position (``positions`` = 1, ``named``).

    ``beds_most`` 0 closes a row: it holds its place and no pipe goes there.
    ``start`` is the first position's centre, ``direction`` a unit vector along the row. Beds fill
    the row from its start. ``level_m`` is the ground under the row. ``standing_beds`` at its start
    are already built, of type ``standing_type``.
    """

    id: str
    start: Point
    direction: Point
    positions: int
    spacing_m: float
    level_m: float
    bed_types: tuple[str, ...]
    beds_least: int
    beds_most: int
    named: bool = False
    standing_beds: int = 0
    standing_type: str | None = None


@dataclass(frozen=True)
class Corridor:
    """A polyline along which pipe may run."""

    id: str
    points: tuple[Point, ...]


@dataclass(frozen=True)
class KeepOut:
    """A rectangle that no pipe may cross."""

    id: str
    low: Point
    high: Point


@dataclass(frozen=True)
class SumpPlace:
    """A place where the sump may stand, and the level of its inside floor there."""

    name: str
    at: Point
    floor_level_m: float


@dataclass(frozen=True)
class Ground:
    """The lie of the land. Levels count from any datum the grower likes, upward.

    ``pipe_height_m`` is how far above the ground header and laterals run. ``header_fed`` says where
    the riser meets a header laid across the rows: nearest (to the sump), centre, or the end named
    north, east, south or west; end and any stand for several of these, to be compared.
    ``sump_places`` are places to compare; empty where ``sump`` is the only one.
    """

    sump: Point
    sump_floor_level_m: float
    corridors: tuple[Corridor, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    pipe_height_m: float = 0.1
    header_fed: str = "nearest"
    sump_places: tuple[SumpPlace, ...] = ()

    def at_each_sump_place(self) -> tuple[Ground, ...]:
        """Return the ground with the sump at each of its places."""
        return tuple(
            replace(self, sump=place.at, sump_floor_level_m=place.floor_level_m)
            for place in self.sump_places
        ) or (self,)


@dataclass(frozen=True)
class Purchase:
    """What may be bought; an empty tuple means everything in the catalog.

    The sump's lowest level keeps every pump that may be bought under water, so that one may replace
    another, and is never below ``lowest_level_least_m`` above its floor.
    ``pipe_sizes_most`` is how many sizes of supply and return pipe may be laid anew (None: any).
    """

    pipe_series: str = "pvc_sch40"
    pipes: tuple[str, ...] = ()
    valve_kinds: tuple[str, ...] = ()
    pumps: tuple[str, ...] = ()
    pumps_in_parallel_most: int = 2
    spare_pump: bool = False
    sumps: tuple[str, ...] = ()
    sumps_most: int = 4
    non_return_valve: bool = False
    two_sizes_on_a_stretch: bool = False
    lowest_level_least_m: float = 0.0
    pipe_sizes_most: int | None = None


@dataclass(frozen=True)
class StandingPipe:
    """A run already laid. ``run`` is ``riser``, ``header`` or a row's id; ``pipe`` a catalog id."""

    run: str
    pipe: str


@dataclass(frozen=True)
class StockPipe:
    """Pipe lying ready: a catalog id (or nominal size), its series (None: the supply's), length."""

    pipe: str
    length_m: float
    series: str | None = None


@dataclass(frozen=True)
class Standing:
    """What is already there and costs nothing more to use.

    ``stretches``, ``drains`` and ``siphons`` name what stands piece by piece; a stretch named there
    goes before the run it lies in. ``not_sold`` are pumps and sumps, by id, of which no more can be
    bought than stand. ``labour`` is what it costs to take something out, beside what takes its
    place. ``standpipe_least_m`` is how short a standpipe may be cut (None: no shorter than its bed
    type would have it). ``tank`` where the tank over the beds stands, with its overflow in the pipe
    ``overflow`` names.
    """

    pump: str | None = None
    pump_count: int = 0
    sump: str | None = None
    sump_count: int = 0
    pipes: tuple[StandingPipe, ...] = ()
    stock: tuple[StockPipe, ...] = ()
    stretches: tuple[StandingStretch, ...] = ()
    drains: tuple[StandingDrain, ...] = ()
    siphons: tuple[StandingSiphon, ...] = ()
    not_sold: tuple[str, ...] = ()
    labour: ChangeLabour = field(default_factory=ChangeLabour)
    standpipe_least_m: float | None = None
    tank: bool = False
    overflow: str = ""


@dataclass(frozen=True)
class Returns:
    """How water comes back to the sump.

    ``bursts`` is all (every siphon above a stretch fires at once) or binomial (Hunter's method at
    ``confidence``; allowed only where simulation shows that a staggered start holds).
    ``fill_limit`` is the greatest depth over bore. ``held`` is worst (all beds full at once) or
    quantile (of the held volume, at ``confidence``; the same condition). ``pipes`` empty means
    every size of ``pipe_series`` (None: the supply's). ``designed`` False leaves return pipes out.
    """

    designed: bool = True
    bursts: str = "all"
    held: str = "worst"
    confidence: float = 0.99
    fill_limit: float = 0.75
    manning_n: float = 0.011
    pipe_series: str | None = None
    pipes: tuple[str, ...] = ()


@dataclass(frozen=True)
class WaterLoss:
    """Water lost from the beds' surface and how often it is made up."""

    evaporation_m_per_day: float = 0.005
    top_up_days: float = 1.0


@dataclass(frozen=True)
class FishTank:
    """An optional fish tank that the whole pumped flow passes through on its way.

    ``crop`` is leafy or fruiting. ``water_level_m`` is on the site's datum.
    """

    volume_m3: float
    water_level_m: float
    turnovers_per_hour_least: float
    feed_kg_per_day: float
    crop: str


@dataclass(frozen=True)
class Coefficients:
    """Coefficients the grower measured; ``None`` keeps the catalog's band."""

    start_froude: Band | None = None
    stop_ratio: Band | None = None
    turn_loss: Band | None = None
    porosity: Band | None = None


@dataclass(frozen=True)
class Site:
    """One grower's site. ``units`` (metric or us) is what reports are written in."""

    name: str
    goals: Goals
    ground: Ground
    bed_types: tuple[BedType, ...]
    rows: tuple[Row, ...]
    currency: str = "EUR"
    units: str = "metric"
    purchase: Purchase = field(default_factory=Purchase)
    standing: Standing = field(default_factory=Standing)
    coefficients: Coefficients = field(default_factory=Coefficients)
    returns: Returns = field(default_factory=Returns)
    water_loss: WaterLoss = field(default_factory=WaterLoss)
    fish_tank: FishTank | None = None
    header_tank: HeaderTank | None = None
    zones: Zones | None = None
    phases: tuple[Phase, ...] = ()
    header_ring: HeaderRing | None = None
    noise: NoiseLimit | None = None

    @property
    def fish_feed_beds(self) -> bool:
        """Whether the fish tank is the tank that feeds the beds."""
        return self.header_tank is not None and self.header_tank.part is None
