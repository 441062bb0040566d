"""Every place and pipe run that could be built on a site."""

from __future__ import annotations

from dataclasses import dataclass

import networkx as nx

from optimizer.records.header_tank import TANK_RISER

Point3 = tuple[float, float, float]


@dataclass(frozen=True)
class Position:
    """A place where a bed may stand, counted from 1 along its row."""

    id: str
    row: str
    index: int
    x_m: float
    y_m: float
    ground_level_m: float
    take_off: str


@dataclass(frozen=True)
class Stretch:
    """One pipe of one size between two places.

    ``kind`` is riser, header, lateral or drop. ``length_m`` is the laid length; a drop's rise to
    the bed depends on the bed and is added when the bed is known. ``fittings`` counts loss names
    of the catalog, met by the water in this stretch. ``points`` is its route (x, y, level).
    """

    id: str
    kind: str
    tail: str
    head: str
    length_m: float
    points: tuple[Point3, ...]
    fittings: tuple[tuple[str, int], ...]
    row: str | None = None


@dataclass(frozen=True)
class Dropped:
    """A run that was left out, and why."""

    run: str
    reason: str


@dataclass(frozen=True)
class CandidateNetwork:
    """The tree from the pump to every position, with the runs left out.

    ``graph`` is a frozen ``networkx.DiGraph`` with edges pointing away from ``"pump"``; every node
    has ``x_m``, ``y_m``, ``level_m`` and ``kind`` (pump, junction, position), every edge has
    ``stretch`` (a :class:`Stretch`). Where the header is closed into a ring, ``closing`` is the
    pipe that closes it and ``ring`` names the stretches that it makes a ring with, in order.
    """

    graph: nx.DiGraph[str]
    positions: tuple[Position, ...]
    stretches: tuple[Stretch, ...]
    dropped: tuple[Dropped, ...] = ()
    closing: Stretch | None = None
    ring: tuple[str, ...] = ()

    @property
    def supply(self) -> tuple[Stretch, ...]:
        """The stretches whose flow the beds decide: all but a riser to a tank."""
        return tuple(s for s in self.stretches if s.id != TANK_RISER)

    @property
    def laid(self) -> tuple[Stretch, ...]:
        """The supply with the pipe that closes a ring, if there is one, last."""
        return self.supply if self.closing is None else (*self.supply, self.closing)

    @property
    def tank_riser(self) -> Stretch | None:
        """The riser to a tank that feeds the beds, if there is one."""
        return next((s for s in self.stretches if s.id == TANK_RISER), None)
