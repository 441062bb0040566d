"""The keys of a site file about water on its way back, water lost, and a fish tank.

Bounds stand here once; :mod:`optimizer.reading.review_water` holds sites made in code to them too.
They are what a person could mean (assumption), not what is good practice.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import ValidationInfo, field_validator

from optimizer.reading import site_fields as field
from optimizer.reading.site_fields import (
    DAY_S,
    FieldError,
    Level,
    Name,
    Place,
    Table,
    YesOrNo,
    given,
)
from optimizer.records.header_tank import HeaderTank
from optimizer.records.site import FishTank, Returns, WaterLoss

BURSTS = ("all", "binomial")
HELD = ("worst", "quantile")
CROPS = ("leafy", "fruiting")
CONFIDENCE = (0.5, 0.9999)
FILL_LIMIT = (0.3, 0.9)
MANNING_N = (0.007, 0.02)
EVAPORATION_M_PER_DAY = (0.0, 0.1)
TOP_UP_DAYS_MOST = 30.0
TANK_M3 = (1e-3, 1e4)
TURNOVERS_MOST = 60.0
FEED_KG_PER_DAY_MOST = 1000.0
SURFACE_M2 = (0.01, 1e4)
OUTLET_DEPTH_M = (0.05, 5.0)

Evaporation = Annotated[float, field.measure("length", *EVAPORATION_M_PER_DAY)]
TopUpTime = Annotated[float, field.measure("time", high=TOP_UP_DAYS_MOST * DAY_S, above=0.0)]


class ReturnsTable(Table):
    """``[returns]``."""

    designed: YesOrNo | None = None
    bursts: Annotated[str, field.word(*BURSTS)] | None = None
    held: Annotated[str, field.word(*HELD)] | None = None
    confidence: Annotated[float, field.measure("share", *CONFIDENCE)] | None = None
    fill_limit: Annotated[float, field.measure("share", *FILL_LIMIT)] | None = None
    manning_n: Annotated[float, field.number(*MANNING_N)] | None = None
    pipe_series: Name | None = None
    pipes: list[Name] = []


class WaterLossTable(Table):
    """``[water_loss]``."""

    evaporation_per_day: Evaporation | None = None
    top_up_every: TopUpTime | None = None


class FishTankTable(Table):
    """``[fish_tank]``: every key is needed."""

    volume: Annotated[float, field.measure("volume", *TANK_M3)]
    water_level: Level
    turnovers: Annotated[float, field.measure("rate_per_hour", high=TURNOVERS_MOST, above=0.0)]
    feed_per_day: Annotated[float, field.measure("mass", 0.0, FEED_KG_PER_DAY_MOST)]
    crop: Annotated[str, field.word(*CROPS)]


class HeaderTankTable(Table):
    """``[header_tank]``: the tank that the pump fills and that feeds the beds by gravity."""

    at: Place
    water_level: Level
    part: Name | None = None
    surface: Annotated[float, field.measure("area", *SURFACE_M2)] | None = None
    outlet_below_water: Annotated[float, field.measure("length", *OUTLET_DEPTH_M)] | None = None

    @field_validator("surface")
    @classmethod
    def _only_of_the_fish_tank(cls, surface: float | None, info: ValidationInfo) -> float | None:
        if surface is not None and info.data.get("part") is not None:
            raise FieldError("is known from the part.", "Take out surface, or part.")
        return surface


def build_header_tank(table: HeaderTankTable | None) -> HeaderTank | None:
    """Return the tank that feeds the beds, if there is one; a key left out keeps its default."""
    if table is None:
        return None
    depth = given(outlet_below_water_m=table.outlet_below_water)
    return HeaderTank(table.at, table.water_level, table.part, table.surface, **depth)


def build_returns(table: ReturnsTable) -> Returns:
    """Return how water comes back; a key left out keeps the record's default."""
    return Returns(**{**given(**dict(table)), "pipes": tuple(table.pipes)})


def build_water_loss(table: WaterLossTable) -> WaterLoss:
    """Return the water lost; a key left out keeps the record's default."""
    every_s = table.top_up_every
    return WaterLoss(
        **given(
            evaporation_m_per_day=table.evaporation_per_day,
            top_up_days=None if every_s is None else every_s / DAY_S,
        )
    )


def build_fish_tank(table: FishTankTable | None) -> FishTank | None:
    """Return the fish tank, if there is one."""
    if table is None:
        return None
    return FishTank(
        volume_m3=table.volume,
        water_level_m=table.water_level,
        turnovers_per_hour_least=table.turnovers,
        feed_kg_per_day=table.feed_per_day,
        crop=table.crop,
    )
