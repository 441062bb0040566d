"""Sizes of one siphon in one bed, from the standpipe outward, and what it loses."""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimizer.formulate.siphon_levels import NoSuchSiphon, levels_of, require_fit
from optimizer.physics.band import Band
from optimizer.physics.bell import (
    annulus_area_m2,
    least_bell_bore_m,
    least_guard_bore_m,
    slots_for,
)
from optimizer.physics.loss_chain import SiphonGeometry, siphon_loss_coefficient
from optimizer.records.parts import Catalog, Container, Kit, Pipe
from optimizer.records.siphon_parts import SiphonParts
from optimizer.records.site import BedType
from optimizer.records.standing import StandingSiphon


@dataclass(frozen=True)
class Siphon:
    """A siphon's sizes, levels above the bed floor, and its loss coefficient with its band."""

    parts: SiphonParts
    drain_level_m: float
    crest_level_m: float
    outlet_level_m: float
    loss_coefficient: Band


def siphon_in(
    bed_type: BedType,
    container: Container,
    kit: Kit,
    turn_loss: Band,
    catalog: Catalog,
    temperature_c: float,
    there: StandingSiphon | None = None,
) -> Siphon:
    """Return the siphon a kit makes in a container, or that stands in it.

    The bell is the smallest pipe of the kit's series that is wide enough, the guard likewise.

    Raises:
        NoSuchSiphon: if no pipe is wide enough for the bell, or the bed is too shallow; for one
            that stands, if its sizes do not go together.
    """
    standpipe = _standpipe(kit, catalog, there)
    bell = _bell(kit, standpipe, catalog, there)
    slots = slots_for(standpipe.bore_m, bell.outside_m)
    levels = levels_of(there, bed_type, container, slots.height_m)
    crest = levels.crest_m
    if there is not None:
        require_fit(levels, standpipe, bell, container)
    elif crest <= 2.0 * slots.height_m:
        raise NoSuchSiphon(f"a bed {container.depth_m:g} m deep is too shallow for {kit.label}")
    guard_bore = least_guard_bore_m(bell.outside_m)
    guard = _smallest(catalog, kit.series, guard_bore)
    parts = SiphonParts(
        standpipe=standpipe.nominal,
        standpipe_bore_m=standpipe.bore_m,
        standpipe_length_m=crest,
        rim_diameter_m=kit.mouth_ratio * standpipe.bore_m,
        bell=bell.nominal,
        bell_bore_m=bell.bore_m,
        bell_height_m=levels.bell_m,
        annulus_area_m2=annulus_area_m2(bell.bore_m, standpipe.outside_m),
        slot_count=slots.count,
        slot_width_m=slots.width_m,
        slot_height_m=slots.height_m,
        slot_area_m2=slots.area_m2,
        guard=guard.nominal if guard else "perforated basket",
        guard_bore_m=guard.bore_m if guard else guard_bore,
        bulkhead_hole_m=kit.bulkhead_hole_m,
        standpipe_outside_m=standpipe.outside_m,
        bell_outside_m=bell.outside_m,
        guard_outside_m=guard.outside_m if guard else 0.0,
    )
    outlet = levels.outlet_m
    losses = _loss_band(parts, standpipe, outlet, turn_loss, catalog, temperature_c)
    return Siphon(parts, levels.drain_m, crest, outlet, losses)


def _standpipe(kit: Kit, catalog: Catalog, there: StandingSiphon | None) -> Pipe:
    """Return the kit's pipe, or one as thick in the wall with the bore that was measured."""
    sold = kit_pipe(kit, catalog)
    if there is None or there.bore_m is None:
        return sold
    outside = there.bore_m + sold.outside_m - sold.bore_m
    name = f"{1000.0 * there.bore_m:g} mm bore"
    return replace(sold, bore_m=there.bore_m, outside_m=outside, nominal=name)


def _bell(kit: Kit, standpipe: Pipe, catalog: Catalog, there: StandingSiphon | None) -> Pipe:
    if there is not None and there.bell is not None:
        return catalog.pipes[there.bell]
    bell = _smallest(catalog, kit.series, least_bell_bore_m(standpipe.bore_m, standpipe.outside_m))
    if bell is None:
        raise NoSuchSiphon(f"no {kit.series} pipe is wide enough for the bell of {kit.label}")
    return bell


def _loss_band(
    parts: SiphonParts,
    standpipe: Pipe,
    outlet_m: float,
    turn_loss: Band,
    catalog: Catalog,
    temperature_c: float,
) -> Band:
    """Return K over the band of the turn under the cap, the part no handbook gives.

    Friction is taken at the flow of the mean driving head between crest and drain level.
    """

    def loss(turn: float) -> float:
        geometry = SiphonGeometry(
            standpipe_bore_m=parts.standpipe_bore_m,
            standpipe_outside_m=standpipe.outside_m,
            standpipe_length_m=parts.standpipe_length_m - outlet_m,
            bell_bore_m=parts.bell_bore_m,
            bell_height_m=parts.bell_height_m,
            slot_area_m2=parts.slot_area_m2,
            turn_loss=turn,
            elbows_loss=catalog.losses["elbow_90"].value,
            roughness_m=standpipe.roughness_m,
            temperature_c=temperature_c,
        )
        level = (parts.standpipe_length_m + parts.slot_height_m) / 2.0
        return siphon_loss_coefficient(geometry, level - outlet_m)

    return Band(
        loss(turn_loss.nominal),
        loss(turn_loss.low),
        loss(turn_loss.high),
        "built from parts; its band is that of the turn under the cap",
    )


def kit_pipe(kit: Kit, catalog: Catalog) -> Pipe:
    """Return the pipe that a kit's standpipe is cut from.

    Raises:
        NoSuchSiphon: if the catalog has none of its size.
    """
    for pipe in catalog.pipes.values():
        if (pipe.series, pipe.nominal) == (kit.series, kit.nominal):
            return pipe
    raise NoSuchSiphon(f"the catalog has no {kit.nominal} pipe of {kit.series} for {kit.label}")


def _smallest(catalog: Catalog, series: str, bore_m: float) -> Pipe | None:
    wide = [p for p in catalog.pipes.values() if p.series == series and p.bore_m >= bore_m]
    return min(wide, key=lambda pipe: pipe.bore_m, default=None)
