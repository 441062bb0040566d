"""One bed type with one siphon kit as a physical thing: its siphon, windows, target and weight."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.formulate.siphon_levels import NoSuchSiphon
from optimizer.formulate.siphon_parts import Siphon, siphon_in
from optimizer.formulate.turns import flooding_inflows, floods_at, greatest_floods, turn_at
from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.physics.loads import floor_pressure_pa, load_per_support_n, wet_mass_kg
from optimizer.physics.turn import Turn, slowest_bed
from optimizer.physics.window import ROBUSTNESS, inflow_window, share_of_each
from optimizer.records.design import BedKind, Window
from optimizer.records.parts import Catalog, Kit
from optimizer.records.site import BedType, Goals, Site
from optimizer.records.standing import StandingSiphon
from optimizer.records.zones import Zones

EMPTY = Window(0.0, 0.0)


@dataclass(frozen=True)
class FittedBed:
    """A bed type with a kit fitted, before an inflow is chosen.

    ``windows`` is by robustness; ``target`` is the inflows that meet the flood goal. ``settings``
    is what the valve may be set to: the inflow, off either way by every margin, starts and stops
    the siphon as surely as the whole design's robustness asks of each of its kinds of bed.
    ``slowest`` is the bed with the coefficients of its bands that slow it down.
    """

    bed_type: BedType
    kit: Kit
    siphon: Siphon
    bed: SiphonBed
    start_froude: Band
    stop_ratio: Band
    porosity: Band
    turn_loss: Band
    windows: Mapping[str, Window]
    target: Window
    settings: Window
    slowest: SiphonBed
    zones: Zones | None = None
    turn: Turn | None = None

    def flooding_inflows(self, least: float, most: float | None) -> tuple[float, float] | None:
        """Return the inflows at which it floods as often as asked, and not too often."""
        return flooding_inflows(self.bed, self.slowest, self.zones, least, most)

    @property
    def greatest_floods(self) -> float:
        """Most floods an hour at any inflow."""
        return greatest_floods(self.bed, self.zones)


def fit_bed(
    site: Site,
    bed_type: BedType,
    kit: Kit,
    catalog: Catalog,
    there: StandingSiphon | None = None,
) -> FittedBed:
    """Fit a kit into a bed type, or take the siphon that stands, and find the inflows it works at.

    Coefficients the grower measured take the place of the catalog's.

    Raises:
        NoSuchSiphon: if the kit cannot be built into the container, or what stands cannot work.
    """
    container, known = catalog.containers[bed_type.container], site.coefficients
    turn_loss = known.turn_loss or kit.turn_loss
    warmth = site.goals.water_temperature_c
    siphon = siphon_in(bed_type, container, kit, turn_loss, catalog, warmth, there)
    porosity = known.porosity or catalog.media[bed_type.medium].porosity
    start, stop = known.start_froude or kit.start_froude, known.stop_ratio or kit.stop_ratio
    bed = SiphonBed(
        area_m2=container.length_m * container.width_m,
        porosity=porosity.nominal,
        drain_level_m=siphon.drain_level_m,
        crest_level_m=siphon.crest_level_m,
        bore_m=siphon.parts.standpipe_bore_m,
        outlet_level_m=siphon.outlet_level_m,
        loss_coefficient=siphon.loss_coefficient.nominal,
        start_froude=start.nominal,
        stop_ratio=stop.nominal,
        mouth_diameter_m=siphon.parts.rim_diameter_m,
    )
    if there is not None and bed.prime_level_m >= container.depth_m:
        raise NoSuchSiphon("water spills over the bed's rim before its siphon starts")
    bands = start, stop, siphon.loss_coefficient
    windows = {name: _window(inflow_window(bed, *bands, name)) for name in ROBUSTNESS}
    goals, (least, greatest) = site.goals, inflow_margins(site.goals)
    slowest = slowest_bed(bed, start, siphon.loss_coefficient, porosity, goals.robustness)
    often = goals.floods_per_hour_least
    target = flooding_inflows(bed, slowest, site.zones, often, goals.floods_per_hour_most)
    share = share_of_each(kinds_at_once(site))
    settings = inflow_window(bed, *bands, goals.robustness, share, least, greatest)
    return FittedBed(
        bed_type,
        kit,
        siphon,
        bed,
        start,
        stop,
        porosity,
        turn_loss,
        windows,
        _window(target),
        _window(settings),
        slowest,
        site.zones,
        turn_at(site.zones, often),
    )


def inflow_margins(goals: Goals) -> tuple[float, float]:
    """Return the shares of its set value that an inflow may fall and rise to: valve, then level."""
    error, drift = goals.valve_setting_error, goals.level_drift
    return (1.0 - drift) * (1.0 - error), (1.0 + drift) * (1.0 + error)


def kinds_at_once(site: Site) -> int:
    """Return how many kinds of bed a design of the site may have: the types that rows may hold."""
    like = {bed_type.id: bed_type.like or bed_type.id for bed_type in site.bed_types}
    return max(1, len({like.get(n, n) for row in site.rows for n in row.bed_types}))


def medium_m3(bed_type: BedType, catalog: Catalog) -> float:
    """Return the medium one bed takes, filled to its rim."""
    container = catalog.containers[bed_type.container]
    return container.length_m * container.width_m * container.depth_m


def bed_kind(
    fitted: FittedBed, inflow_m3_s: float, catalog: Catalog, *, stands: bool = False
) -> BedKind:
    """Return the design record of a fitted bed at a chosen inflow; ``stands``: its siphon does."""
    bed_type, bed = fitted.bed_type, fitted.bed
    container = catalog.containers[bed_type.container]
    medium, stand = catalog.media[bed_type.medium], catalog.stands[bed_type.stand]
    mass = wet_mass_kg(
        container.empty_mass_kg, medium_m3(bed_type, catalog), medium.wet_density_kg_m3
    )
    load = load_per_support_n(mass, stand.supports)
    return BedKind(
        id=bed_type.id,
        label=bed_type.id,
        container=container.label,
        medium=medium.label,
        stand=stand.label,
        kit=fitted.kit.id,
        kit_label=fitted.kit.label,
        length_m=container.length_m,
        width_m=container.width_m,
        depth_m=container.depth_m,
        area_m2=bed.area_m2,
        siphon=bed,
        parts=fitted.siphon.parts,
        start_froude=fitted.start_froude,
        stop_ratio=fitted.stop_ratio,
        loss_coefficient=fitted.siphon.loss_coefficient,
        porosity=fitted.porosity,
        windows=dict(fitted.windows),
        target=fitted.target,
        inflow_m3_s=inflow_m3_s,
        floods_per_hour=floods_at(bed, inflow_m3_s, fitted.turn),
        held_m3=bed.held_m3,
        wet_mass_kg=mass,
        stand_height_m=stand.height_m,
        supports=stand.supports,
        load_per_support_n=load,
        floor_pressure_pa=floor_pressure_pa(load, stand.foot_area_m2),
        stand_capacity_kg=stand.capacity_kg,
        container_id=container.id,
        medium_id=medium.id,
        stand_id=stand.id,
        turn_loss=fitted.turn_loss,
        siphon_stands=stands,
    )


def _window(pair: tuple[float, float] | None) -> Window:
    return Window(*pair) if pair else EMPTY
