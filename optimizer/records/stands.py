"""A system that was built, as the grower measures it: piece by piece, with its valves as set."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class BedStands:
    """One bed that stands, with its siphon and its drop.

    Sizes that are None are as a design would have them. Levels count from the bed's floor.

    Attributes:
        bed: the bed's position.
        bed_type: its bed type.
        kit: its siphon kit, by catalog id.
        crest_level_m: top of its standpipe.
        drain_level_m: upper edge of its bell's slots.
        drain_drop_m: how far its outlet lies below its floor.
        bell: the bell's pipe, by catalog id.
        bell_height_m: underside of the bell's cap.
        bore_m: bore of its standpipe, where that is not its kit's.
        pipe: its drop's pipe, by catalog id.
        valve: its valve, by catalog id.
        opening: the share its valve is open; None where only its inflow is known.
        inflow_m3_s: its inflow as measured; None where only the opening is known.
    """

    bed: str
    bed_type: str
    kit: str
    pipe: str
    valve: str
    crest_level_m: float | None = None
    drain_level_m: float | None = None
    drain_drop_m: float | None = None
    bell: str | None = None
    bell_height_m: float | None = None
    bore_m: float | None = None
    opening: float | None = None
    inflow_m3_s: float | None = None


@dataclass(frozen=True)
class StretchStands:
    """A stretch of supply pipe; ``bore_m`` is its clear bore where that is not its size's own."""

    stretch: str
    pipe: str
    bore_m: float | None = None


@dataclass(frozen=True)
class DrainStands:
    """A stretch of return pipe, with its fall over its length."""

    stretch: str
    pipe: str
    slope: float


@dataclass(frozen=True)
class Stands:
    """A whole system.

    Attributes:
        beds: every bed.
        stretches: every stretch of supply pipe but the drops; a riser to a tank too.
        drains: return pipe; empty where none is described.
        pump: its pump, by catalog id.
        pump_count: how many run side by side.
        pump_head_share: its heads over those of its curve as sold: below 1 where it is worn.
        sump: its sump, by catalog id.
        sump_count: how many tanks.
        overflow: pipe of a tank's overflow, by catalog id; empty where no tank feeds the beds.
        drained_level_m: water in the sump with every bed drained and the pump running.
    """

    beds: tuple[BedStands, ...]
    stretches: tuple[StretchStands, ...]
    drains: tuple[DrainStands, ...]
    pump: str
    sump: str
    drained_level_m: float
    pump_count: int = 1
    pump_head_share: float = 1.0
    sump_count: int = 1
    overflow: str = ""
