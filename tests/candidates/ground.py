"""Plain sites for tests of the candidate network: only the geometry matters."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.site import BedType, Corridor, Goals, Ground, KeepOut, Row, Site
from tests.tolerances import FORMULA

BOX = BedType("box", "box_120x120", "expanded_clay", "blocks_low")


def row(name: str, start: tuple[float, float], positions: int = 3, **changes: object) -> Row:
    """A row of places one metre apart to the east, on the ground at level 0."""
    plain = Row(
        id=name,
        start=start,
        direction=(1.0, 0.0),
        positions=positions,
        spacing_m=1.0,
        level_m=0.0,
        bed_types=("box",),
        beds_least=positions,
        beds_most=positions,
    )
    return replace(plain, **changes)


TWO_ROWS = (row("A", (2.0, 1.0)), row("B", (2.0, 3.0), level_m=0.5))
"""Two rows side by side, the second on a terrace."""


def spot(name: str, at: tuple[float, float], **changes: object) -> Row:
    """A named position."""
    return row(name, at, positions=1, named=True, **changes)


def site_of(
    *rows: Row,
    sump: tuple[float, float] = (0.0, 0.0),
    corridors: tuple[Corridor, ...] = (),
    keep_outs: tuple[KeepOut, ...] = (),
    pipe_height_m: float = 0.1,
) -> Site:
    """A site whose sump floor lies 0.9 m under level 0."""
    ground = Ground(sump, -0.9, corridors, keep_outs, pipe_height_m)
    return Site("plain ground", Goals(1.0), ground, (BOX,), rows)


def by_id(network: CandidateNetwork) -> dict[str, Stretch]:
    return {stretch.id: stretch for stretch in network.stretches}


def count_of(stretch: Stretch, name: str) -> int:
    return dict(stretch.fittings).get(name, 0)


def close(value: float) -> object:
    """A figure worked out by a formula."""
    return pytest.approx(value, rel=FORMULA)
