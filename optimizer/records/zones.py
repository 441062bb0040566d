"""Zones that flood in turn: what a grower asks for, and what was built."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.physics.turn import Turn

CHANGE_S = 30.0
"""Time at the beginning of a turn while valves move, not counted on (A75, assumption)."""

VALVE_WATTS = 6.0
"""What one timed valve draws while it is open (A76, assumption)."""

POWER_LINE = "power of timed valves, present worth"
"""The bill's line for what timed valves draw."""

ZONES_MOST = 24
"""More zones than any timer of the shipped catalog has stations."""


@dataclass(frozen=True)
class Zones:
    """How a site may be split into zones of whole rows, of which one has water at a time.

    ``least`` to ``most`` zones are compared, 1 standing for none. ``groups`` names the rows of each
    zone, in the order of their turns; empty while their number is open. ``floods`` is how many
    whole floods every bed has in one turn. Valves move during the first ``change_s`` of a turn;
    each draws ``valve_watts`` while it is open.
    """

    most: int = 1
    least: int = 1
    groups: tuple[tuple[str, ...], ...] = ()
    floods: int = 1
    change_s: float = CHANGE_S
    valve_watts: float = VALVE_WATTS


@dataclass(frozen=True)
class BuiltZone:
    """One zone as built: its rows, and what the pump does in its turn at the setting level."""

    id: str
    rows: tuple[str, ...]
    flow_m3_s: float
    head_m: float
    watts: float


@dataclass(frozen=True)
class TimedValve:
    """A timed valve at the beginning of a stretch; it is open in the turn of one zone."""

    stretch: str
    zone: str
    nominal: str


@dataclass(frozen=True)
class BuiltZones:
    """Zones as built, in the order of their turns, each with an equal turn of ``turn_s``.

    A valve opens as its zone's turn begins; the valves of the zone before shut ``change_s`` later.
    The rest of the turn is what floods are counted in.
    """

    turn_s: float
    change_s: float
    floods: int
    zones: tuple[BuiltZone, ...]
    valves: tuple[TimedValve, ...]
    timer: str
    timer_label: str
    stations: int
    valve_watts: float
    valves_kwh_per_year: float

    @property
    def rotation_s(self) -> float:
        """Time from the beginning of one turn of a zone to its next."""
        return self.turn_s * len(self.zones)

    @property
    def turn(self) -> Turn:
        """When any bed has water."""
        return Turn(self.turn_s - self.change_s, self.rotation_s, self.floods)

    def zone_of(self, row: str) -> BuiltZone:
        """Return the zone that a row belongs to.

        Raises:
            KeyError: if it belongs to none.
        """
        for zone in self.zones:
            if row in zone.rows:
                return zone
        raise KeyError(row)
