"""Kinds of bed for example designs: invented sizes, siphons by the shared formulas."""

from __future__ import annotations

import math

from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.physics.window import inflow_window
from optimizer.records.design import BedKind, Window
from optimizer.records.siphon_parts import SiphonParts

GRAVITY = 9.80665
FROUDE_BAND = Band(0.30, 0.20, 0.45, "example")
STOP_BAND = Band(0.75, 0.60, 0.95, "example")
LOSS_BAND = Band(5.0, 4.0, 6.6, "example")
POROSITY_BAND = Band(0.40, 0.36, 0.44, "example")
FLOODS_LEAST = 2.0


def example_kind(name: str, area_m2: float, bore_m: float, inflow_m3_s: float) -> BedKind:
    siphon = SiphonBed(area_m2, POROSITY_BAND.nominal, 0.03, 0.25, bore_m, -0.15, 5.0)
    interval = siphon.inflow_interval(FLOODS_LEAST)
    assert interval is not None
    depth_m, supports, wet_kg = 0.32, 4, area_m2 * 0.30 * 1900.0 + 20.0
    load_n = wet_kg * GRAVITY / supports
    return BedKind(
        id=name,
        label=f"{name.title()} bed",
        container=f"tray_{name}",
        medium="gravel",
        stand="bench",
        kit=f"kit_{name}",
        kit_label=f"{name.title()} siphon",
        length_m=area_m2 / 0.8,
        width_m=0.8,
        depth_m=depth_m,
        area_m2=area_m2,
        siphon=siphon,
        parts=_parts(bore_m, siphon.crest_level_m),
        start_froude=FROUDE_BAND,
        stop_ratio=STOP_BAND,
        loss_coefficient=LOSS_BAND,
        porosity=POROSITY_BAND,
        windows={r: _window(siphon, r) for r in ("nominal", "most", "whole")},
        target=Window(*interval),
        inflow_m3_s=inflow_m3_s,
        floods_per_hour=float(siphon.floods_per_hour(inflow_m3_s)),
        held_m3=siphon.held_m3,
        wet_mass_kg=wet_kg,
        stand_height_m=0.6,
        supports=supports,
        load_per_support_n=load_n,
        floor_pressure_pa=load_n / 0.01,
        stand_capacity_kg=wet_kg * 1.25,
    )


def _window(siphon: SiphonBed, robustness: str) -> Window:
    interval = inflow_window(siphon, FROUDE_BAND, STOP_BAND, LOSS_BAND, robustness)
    return Window(*interval) if interval else Window(0.0, 0.0)


def _parts(bore_m: float, length_m: float) -> SiphonParts:
    outside_m, bell_m = bore_m + 0.0067, 2.3 * (bore_m + 0.0067)
    return SiphonParts(
        standpipe="standpipe",
        standpipe_bore_m=bore_m,
        standpipe_length_m=length_m,
        rim_diameter_m=bore_m,
        bell="bell",
        bell_bore_m=bell_m,
        bell_height_m=length_m + bore_m,
        annulus_area_m2=math.pi / 4.0 * (bell_m**2 - outside_m**2),
        slot_count=8,
        slot_width_m=0.008,
        slot_height_m=0.03,
        slot_area_m2=8 * 0.008 * 0.03,
        guard="guard",
        guard_bore_m=0.15,
        bulkhead_hole_m=outside_m + 0.01,
    )
