"""The keys of a site file about a header closed into a ring."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from optimizer.reading import site_fields as field
from optimizer.reading.site_fields import Place, Table, given
from optimizer.records.header_ring import RING_WANTED, HeaderRing

THROUGH_MOST = 20


class HeaderRingTable(Table):
    """``[header_ring]``: the way of the pipe that joins both ends of the header."""

    through: Annotated[list[Place], Field(min_length=1, max_length=THROUGH_MOST)]
    wanted: Annotated[str, field.word(*RING_WANTED)] | None = None


def build_header_ring(table: HeaderRingTable | None) -> HeaderRing | None:
    """Return the ring a header may be closed into; a key left out keeps the record's default."""
    if table is None:
        return None
    return HeaderRing(tuple(table.through), **given(wanted=table.wanted))
