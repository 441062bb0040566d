"""The keys of a site file about the phases in which it is built."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from pydantic import Field

from optimizer.reading import site_fields as field
from optimizer.reading.site_fields import BEDS_MOST, TABLES_MOST, Name, Table
from optimizer.records.phases import Phase

PHASES_MOST = 6


class PhaseTable(Table):
    """``[[phase]]``: one step of building, in the order of the file."""

    name: Name | None = None
    year: Annotated[float, field.number(0.0, 100.0)]
    rows: Annotated[list[Name], Field(min_length=1, max_length=TABLES_MOST)] | None = None
    beds: Annotated[int, field.whole(1, BEDS_MOST)] | None = None


Phases = Annotated[list[PhaseTable], Field(min_length=2, max_length=PHASES_MOST)]


def build_phases(tables: Sequence[PhaseTable] | None) -> tuple[Phase, ...]:
    """Return the phases of a file; a phase without a name is called by its number."""
    return tuple(
        Phase(
            name=table.name or f"phase {number}",
            year=table.year,
            rows=None if table.rows is None else tuple(table.rows),
            beds=table.beds,
        )
        for number, table in enumerate(tables or (), start=1)
    )
