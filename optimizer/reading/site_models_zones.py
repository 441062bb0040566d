"""The keys of a site file about zones that flood in turn."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from optimizer.reading import site_fields as field
from optimizer.reading.site_fields import TABLES_MOST, FieldError, Name, Table, given
from optimizer.records.zones import ZONES_MOST, Zones

FLOODS_MOST = 20
CHANGE_S = (5.0, 600.0)
VALVE_WATTS_MOST = 1000.0

Group = Annotated[list[Name], Field(min_length=1, max_length=TABLES_MOST)]
Groups = Annotated[list[Group], Field(min_length=2, max_length=ZONES_MOST)]


class ZonesTable(Table):
    """``[zones]``: groups of whole rows that have water one after another."""

    most: Annotated[int, field.whole(1, ZONES_MOST)] | None = None
    least: Annotated[int, field.whole(1, ZONES_MOST)] | None = None
    rows: Groups | None = Field(default=None, validate_default=True)
    floods_in_a_turn: Annotated[int, field.whole(1, FLOODS_MOST)] | None = None
    change_time: Annotated[float, field.measure("time", *CHANGE_S)] | None = None
    valve_watts: Annotated[float, field.number(0.0, VALVE_WATTS_MOST)] | None = None

    @field_validator("least")
    @classmethod
    def _not_above_most(cls, least: int | None, info: ValidationInfo) -> int | None:
        most = info.data.get("most")
        if least is not None and most is not None and least > most:
            raise FieldError(f"read {least}, above most, {most}.", "Lower least or raise most.")
        return least

    @field_validator("rows")
    @classmethod
    def _one_or_the_other(
        cls, rows: list[list[str]] | None, info: ValidationInfo
    ) -> list[list[str]] | None:
        numbers = [key for key in ("most", "least") if info.data.get(key) is not None]
        if rows is None and info.data.get("most") is None and "most" in info.data:
            what = "key missing; expected the most zones, or the rows of each."
            raise FieldError(what, 'Add most = 3, or rows = [["A", "B"], ["C"]].')
        if rows is not None and numbers:
            what = f"names the zones, and {' and '.join(numbers)} says how many to compare."
            raise FieldError(what, f"Take out rows, or {' and '.join(numbers)}.")
        return rows


def build_zones(table: ZonesTable | None) -> Zones | None:
    """Return the zones a site may be split into; a key left out keeps the record's default."""
    if table is None:
        return None
    groups = tuple(tuple(group) for group in table.rows or ())
    return Zones(
        groups=groups,
        **given(
            most=table.most,
            least=table.least,
            floods=table.floods_in_a_turn,
            change_s=table.change_time,
            valve_watts=table.valve_watts,
        ),
    )
