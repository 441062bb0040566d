"""The sizes of one siphon, from the standpipe outward."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SiphonParts:
    """Sizes of one siphon, to cut and drill from. An outside diameter of 0 is not known."""

    standpipe: str
    standpipe_bore_m: float
    standpipe_length_m: float
    rim_diameter_m: float
    bell: str
    bell_bore_m: float
    bell_height_m: float
    annulus_area_m2: float
    slot_count: int
    slot_width_m: float
    slot_height_m: float
    slot_area_m2: float
    guard: str
    guard_bore_m: float
    bulkhead_hole_m: float
    standpipe_outside_m: float = 0.0
    bell_outside_m: float = 0.0
    guard_outside_m: float = 0.0
