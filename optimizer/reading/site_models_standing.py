"""The keys of a site file about what is there already."""

from __future__ import annotations

from typing import Annotated

from optimizer.reading import site_fields as field
from optimizer.reading.site_fields import Many, Name, Table


class StandingPart(Table):
    """``[standing] pump`` or ``sump``."""

    part: Name
    count: Annotated[int, field.whole(1, 100)] = 1


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

    pump: StandingPart | None = None
    sump: StandingPart | None = None
    pipe: Many[StandingPipeTable] = []
    stock: Many[StockTable] = []
