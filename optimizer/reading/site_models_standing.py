"""The keys of a site file about what is there already."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from optimizer.reading import site_fields as field
from optimizer.reading.site_fields import Many, Name, Table
from optimizer.records.standing import STANDPIPE_WORK


class StandingPart(Table):
    """``[standing] pump`` or ``sump``."""

    part: Name
    count: Annotated[int, field.whole(1, 100)] = 1


class StandingPump(StandingPart):
    """``[standing] pump``: ``worn`` is the share of its heads it has lost."""

    worn: Annotated[float, field.measure("share", low=0.0, high=0.9)] = 0.0


class StandingBedTable(Table):
    """``[[standing.bed]]``: beds alike in siphon, drop and valve, as measured."""

    beds: Annotated[list[Name], Field(min_length=1, max_length=field.TABLES_MOST)]
    bed_type: Name | None = None
    kit: Name | None = None
    drop: Name | None = None
    valve: Name | None = None
    opening: Annotated[float, field.measure("share", low=0.0, high=1.0)] | None = None
    inflow: Annotated[float, field.measure("flow", above=0.0)] | None = None
    standpipe_bore: Annotated[float, field.measure("length", above=0.0, high=0.2)] | None = None
    standpipe_top: Annotated[float, field.measure("length", above=0.0, high=5.0)] | None = None
    slots_top: Annotated[float, field.measure("length", above=0.0, high=5.0)] | None = None
    bell_cap: Annotated[float, field.measure("length", above=0.0, high=5.0)] | None = None
    bell: Name | None = None
    outlet_below_floor: Annotated[float, field.measure("length", low=0.0, high=5.0)] | None = None


class StandingStretchTable(Table):
    """``[[standing.stretch]]``: one stretch of supply pipe, where its run does not say."""

    stretch: Name
    size: Name
    bore: Annotated[float, field.measure("length", above=0.0, high=1.0)] | None = None


class StandingDrainTable(Table):
    """``[[standing.drain]]``: return pipe of a run, a stretch or all of it."""

    run: Name
    size: Name
    fall: Annotated[float, field.measure("share", above=0.0, high=1.0)]


Money = Annotated[float, field.number(0.0, 1e6)]


class LabourTable(Table):
    """``[standing.labour]``: money for the work of taking out what stands."""

    supply_per_metre: Money = 0.0
    return_per_metre: Money = 0.0
    siphon: Money = 0.0
    valve: Money = 0.0
    pump: Money = 0.0
    sump: Money = 0.0
    standpipe: Money = STANDPIPE_WORK


class StandingPipeTable(Table):
    """``[[standing.pipe]]``: a run (riser, header or a row) and its nominal size."""

    run: Name
    size: Name


class StockTable(Table):
    """``[[standing.stock]]``: pipe of one size that lies ready."""

    size: Name
    length: Annotated[float, field.measure("length", high=1e5, above=0.0)]
    series: Name | None = None


class StandingTable(Table):
    """``[standing]``: what is there already."""

    pump: StandingPump | None = None
    sump: StandingPart | None = None
    pipe: Many[StandingPipeTable] = []
    stock: Many[StockTable] = []
    bed: Many[StandingBedTable] = []
    stretch: Many[StandingStretchTable] = []
    drain: Many[StandingDrainTable] = []
    water_level: Annotated[float, field.measure("length", low=0.0, high=10.0)] | None = None
    overflow: Name | None = None
    standpipe_least: Annotated[float, field.measure("length", above=0.0, high=5.0)] | None = None
    labour: LabourTable = Field(default_factory=LabourTable)
