"""The keys of a site file's ``[ground]``: where the sump stands and where pipe may run.

A key left out is None; its default stands in :mod:`optimizer.records.site`, once.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from optimizer.reading import site_fields as field
from optimizer.reading.site_fields import (
    Coordinate,
    FieldError,
    Level,
    Many,
    Name,
    Place,
    Table,
    given,
)
from optimizer.records.site import Corridor, Ground, KeepOut, SumpPlace

SUMP_PLACES_MOST = 20
HEADER_FED = ("nearest", "centre", "end", "any", "north", "east", "south", "west")


class SumpTable(Table):
    """``[ground] sump``."""

    x: Coordinate
    y: Coordinate
    floor_level: Level


class SumpPlaceTable(SumpTable):
    """``[[ground.sump_place]]``: one of several places to compare."""

    name: Name


class CorridorTable(Table):
    """``[[ground.corridor]]``."""

    name: Name
    points: Annotated[list[Place], Field(min_length=2)]


class KeepOutTable(Table):
    """``[[ground.keep_out]]``: two opposite corners of a rectangle."""

    name: Name
    corner: Place = Field(alias="from")
    opposite: Place = Field(alias="to")

    @field_validator("opposite")
    @classmethod
    def _encloses_ground(cls, opposite: Place, info: ValidationInfo) -> Place:
        corner = info.data.get("corner")
        if corner is not None and (corner[0] == opposite[0] or corner[1] == opposite[1]):
            raise FieldError("encloses no ground.", "Give two opposite corners.")
        return opposite


class GroundTable(Table):
    """``[ground]``."""

    sump_place: Annotated[list[SumpPlaceTable], Field(max_length=SUMP_PLACES_MOST)] = []
    sump: SumpTable | None = Field(default=None, validate_default=True)
    header_fed: Annotated[str, field.word(*HEADER_FED)] | None = None
    pipe_height: Annotated[float, field.measure("length", -5.0, 20.0)] | None = None
    corridor: Many[CorridorTable] = []
    keep_out: Many[KeepOutTable] = []

    @field_validator("sump")
    @classmethod
    def _stands_somewhere(cls, sump: SumpTable | None, info: ValidationInfo) -> SumpTable | None:
        places = info.data.get("sump_place")
        if places == [] and sump is None:
            what = "key missing; expected where the sump stands."
            fix = 'Add sump = { x = "0 m", y = "0 m", floor_level = "-0.6 m" }.'
            raise FieldError(what, fix)
        if places and sump is not None:
            what = "stands beside [[ground.sump_place]]."
            raise FieldError(what, "Name this place among them, or take them out.")
        return sump


def build_ground(table: GroundTable) -> Ground:
    """Return the lie of the land; the first of several sump places is the one it stands at."""
    places = tuple(SumpPlace(p.name, (p.x, p.y), p.floor_level) for p in table.sump_place)
    stands = table.sump or table.sump_place[0]
    return Ground(
        sump=(stands.x, stands.y),
        sump_floor_level_m=stands.floor_level,
        corridors=tuple(Corridor(each.name, tuple(each.points)) for each in table.corridor),
        keep_outs=tuple(_keep_out(each) for each in table.keep_out),
        sump_places=places,
        **given(pipe_height_m=table.pipe_height, header_fed=table.header_fed),
    )


def _keep_out(table: KeepOutTable) -> KeepOut:
    (x1, y1), (x2, y2) = table.corner, table.opposite
    return KeepOut(table.name, (min(x1, x2), min(y1, y2)), (max(x1, x2), max(y1, y2)))
