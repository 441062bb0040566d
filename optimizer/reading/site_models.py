"""The keys of a site file, one class for each table. Values are SI once read.

A key left out is None; its default stands in :mod:`optimizer.records.site`, once. A rule between
keys is checked at the later key, so that a fault elsewhere in the table does not hide it.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, PlainValidator, ValidationInfo, field_validator

from optimizer.physics.window import ROBUSTNESS
from optimizer.reading import site_fields as field
from optimizer.reading.nearest import choose_from, shown
from optimizer.reading.site_fields import (
    BEDS_MOST,
    DAY_S,
    TABLES_MOST,
    FieldError,
    Level,
    Many,
    Name,
    Place,
    Table,
    YesOrNo,
)
from optimizer.reading.site_models_ground import GroundTable
from optimizer.reading.site_models_phases import Phases
from optimizer.reading.site_models_ring import HeaderRingTable
from optimizer.reading.site_models_standing import StandingTable
from optimizer.reading.site_models_water import (
    FishTankTable,
    HeaderTankTable,
    ReturnsTable,
    WaterLossTable,
)
from optimizer.reading.site_models_zones import ZonesTable

NOISE_DB_MOST = 140.0
COMPASS = {"east": (1.0, 0.0), "north": (0.0, 1.0), "west": (-1.0, 0.0), "south": (0.0, -1.0)}

FloodRate = Annotated[float, field.measure("rate_per_hour", high=60.0, above=0.0)]
Count = Annotated[int, field.whole(1, BEDS_MOST)]
CountOrNone = Annotated[int, field.whole(0, BEDS_MOST)]


def _beds(value: object) -> int | Literal["all"]:
    if value == "all":
        return "all"
    if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= BEDS_MOST:
        return value
    expected = f'a whole number from 1 to {BEDS_MOST} or "all"'
    raise FieldError(f"read {shown(value)}, expected {expected}.", "Write the least number.")


class GoalTable(Table):
    """``[goal]``."""

    floods: FloodRate
    floods_most: FloodRate | None = None
    beds: Annotated[int | Literal["all"], PlainValidator(_beds)] = "all"
    growing_area: Annotated[float, field.measure("area", 0.0, 1e6)] | None = None
    robustness: Annotated[str, field.word(*ROBUSTNESS)] | None = None
    planning_years: Annotated[float, field.number(1.0, 100.0)] | None = None
    discount_rate: Annotated[float, field.measure("share", 0.0, 1.0)] | None = None
    energy_price: Annotated[float, field.measure("energy_price", 0.0, 1e6)] | None = None
    energy_price_growth: Annotated[float, field.measure("share", -0.5, 1.0)] | None = None
    pump_hours: Annotated[float, field.measure("time", high=DAY_S, above=0.0)] | None = None
    water_temperature: Annotated[float, field.measure("temperature_c", 0.0, 60.0)] | None = None
    velocity_limit: Annotated[float, field.measure("velocity", 0.1, 10.0)] | None = None
    valve_setting_error: Annotated[float, field.measure("share", 0.0, 0.5)] | None = None
    level_drift: Annotated[float, field.measure("share", 0.0, 0.5)] | None = None
    pump_tolerance: Annotated[float, field.measure("share", 0.0, 0.5)] | None = None
    budget: Annotated[float, field.number(0.0, 1e9)] | None = None

    @field_validator("floods_most")
    @classmethod
    def _not_below_floods(cls, most: float | None, info: ValidationInfo) -> float | None:
        least = info.data.get("floods")
        if most is not None and least is not None and most < least:
            what = f"is {most:g} per hour, below floods, {least:g} per hour."
            raise FieldError(what, "Raise floods_most or lower floods.")
        return most


class BedTypeTable(Table):
    """``[[bed_type]]``."""

    name: Name
    container: Name
    medium: Name
    stand: Name
    kits: list[Name] = []
    drain_drop: Annotated[float, field.measure("length", 0.0, 10.0)] | None = None
    crest_below_rim: Annotated[float, field.measure("length", 0.005, 2.0)] | None = None


Towards = tuple[str | None, tuple[float, float]]


def _towards(value: object, info: ValidationInfo) -> Towards:
    """Return a compass word with its direction, or no word and an end point."""
    if isinstance(value, str) and value in COMPASS:
        return value, COMPASS[value]
    if isinstance(value, list) and len(value) == 2:
        gallon = (info.context or {}).get("gallon")
        end = [field.read_measure(part, "length", gallon, low=-1e4, high=1e4) for part in value]
        return None, (end[0], end[1])
    fix = choose_from(value, COMPASS) if isinstance(value, str) else "Write the way or the end."
    expected = 'east, north, west, south or an end point as ["10 m", "2 m"]'
    raise FieldError(f"read {shown(value)}, expected {expected}.", fix)


class RowTable(Table):
    """``[[row]]``: bed positions in a straight line, the first at ``start``."""

    name: Name
    start: Place
    towards: Annotated[Towards, PlainValidator(_towards)]
    positions: Count
    spacing: field.Spacing | None = Field(default=None, validate_default=True)
    level: Level = 0.0
    bed_types: Annotated[list[Name], Field(min_length=1)] | None = None
    beds_least: CountOrNone | None = None
    beds_most: Count | None = None
    standing_beds: CountOrNone = 0
    standing_type: Name | None = None

    @field_validator("towards")
    @classmethod
    def _leaves_the_start(cls, towards: Towards, info: ValidationInfo) -> Towards:
        if towards == (None, info.data.get("start")):
            raise FieldError("ends where it starts.", "Give another end point.")
        return towards

    @field_validator("spacing")
    @classmethod
    def _is_there(cls, spacing: float | None, info: ValidationInfo) -> float | None:
        by_word = info.data.get("towards", (None,))[0] is not None
        if spacing is None and by_word and info.data.get("positions", 1) > 1:
            what = "key missing; expected the distance between bed centres."
            raise FieldError(what, 'Add spacing = "1.5 m", or an end point.')
        return spacing


class PositionTable(Table):
    """``[[position]]``: one place for one bed."""

    name: Name
    at: Place
    level: Level = 0.0
    bed_types: Annotated[list[Name], Field(min_length=1)] | None = None
    required: YesOrNo | None = None


class BuyTable(Table):
    """``[buy]``: empty lists mean everything in the catalog."""

    pipe_series: Name | None = None
    pipes: list[Name] = []
    valves: list[Name] = []
    pumps: list[Name] = []
    pumps_in_parallel_most: Annotated[int, field.whole(1, 20)] | None = None
    spare_pump: YesOrNo | None = None
    sumps: list[Name] = []
    sumps_most: Annotated[int, field.whole(1, 100)] | None = None
    non_return_valve: YesOrNo | None = None
    pipe_sizes_most: Annotated[int, field.whole(1, 100)] | None = None
    two_sizes_on_a_stretch: YesOrNo | None = None


class NoiseTable(Table):
    """``[noise]``: how long a pump louder than a level may run."""

    louder_than: Annotated[float, field.measure("sound_level_db", 0.0, NOISE_DB_MOST)]
    hours_most: Annotated[float, field.measure("time", 0.0, DAY_S)]


COEFFICIENT_LEAST = 0.001
"""Least value of a coefficient: a siphon or a medium with one nearer to 0 does not exist."""

Ratio = Annotated[float, field.number(COEFFICIENT_LEAST, 100.0)]
Share = Annotated[float, field.number(COEFFICIENT_LEAST, 1.0)]


class CoefficientTable(Table):
    """One measured coefficient; ``low`` and ``high`` are ``value`` where left out."""

    value: Ratio
    low: Ratio | None = None
    high: Ratio | None = None
    origin: Name = Field(default="measured by the grower", alias="from")

    @field_validator("low")
    @classmethod
    def _not_above_value(cls, low: float | None, info: ValidationInfo) -> float | None:
        if low is not None and low > info.data.get("value", low):
            raise FieldError(f"read {low:g}, above value.", "Write low <= value <= high.")
        return low

    @field_validator("high")
    @classmethod
    def _not_below_value(cls, high: float | None, info: ValidationInfo) -> float | None:
        if high is not None and high < info.data.get("value", high):
            raise FieldError(f"read {high:g}, below value.", "Write low <= value <= high.")
        return high


class ShareTable(CoefficientTable):
    """A measured coefficient that is a share, up to 1."""

    value: Share
    low: Share | None = None
    high: Share | None = None


class CoefficientsTable(Table):
    """``[coefficients]``; ``include`` names a file that holds some of them."""

    include: Name | None = None
    start_froude: CoefficientTable | None = None
    stop_ratio: ShareTable | None = None
    turn_loss: CoefficientTable | None = None
    porosity: ShareTable | None = None


class PriceTable(Table):
    """``[[price]]``: the price of one part, in the site's currency."""

    part: Name
    price: Annotated[float, field.number(0.0, 1e9)]


class SiteTable(Table):
    """The whole file."""

    name: Name
    currency: field.Currency | None = None
    units: Annotated[str, field.word("metric", "us")] | None = None
    gallon: Annotated[str, field.word("US", "imperial")] | None = None
    catalog: Name | None = None
    goal: GoalTable
    ground: GroundTable
    bed_type: Annotated[list[BedTypeTable], Field(min_length=1, max_length=TABLES_MOST)]
    row: Many[RowTable] = []
    position: Many[PositionTable] = Field(default=[], validate_default=True)
    buy: BuyTable = Field(default_factory=BuyTable)
    standing: StandingTable = Field(default_factory=StandingTable)
    returns: ReturnsTable = Field(default_factory=ReturnsTable)
    water_loss: WaterLossTable = Field(default_factory=WaterLossTable)
    fish_tank: FishTankTable | None = None
    header_tank: HeaderTankTable | None = None
    zones: ZonesTable | None = None
    header_ring: HeaderRingTable | None = None
    noise: NoiseTable | None = None
    coefficients: CoefficientsTable = Field(default_factory=CoefficientsTable)
    price: Many[PriceTable] = []
    phase: Phases | None = None

    @field_validator("position")
    @classmethod
    def _has_room(cls, positions: list[PositionTable], info: ValidationInfo) -> list[PositionTable]:
        if not positions and info.data.get("row") == []:
            raise FieldError("no place for a bed.", "Add a [[row]] or a [[position]].")
        return positions
