"""Bed options of a site worked out again from site and catalog: the siphon, its inflow, its price.

Shares only ``optimizer.physics`` with the program. No kit is left out for being dearer, and the
least inflow is found by trying every step in turn.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from optimizer.physics.bed import SiphonBed
from optimizer.physics.bell import least_bell_bore_m, slots_for
from optimizer.physics.loss_chain import SiphonGeometry, siphon_loss_coefficient
from optimizer.physics.window import working_chance
from optimizer.records.parts import Catalog, Kit
from optimizer.records.site import BedType, Goals, Site

STEPS_PER_M3_S = 600_000
"""Inflows are whole tenths of a litre a minute."""

CAP_GAP_M = 0.015
INLET_OVER_RIM_M = 0.05
MOST_STEPS = 3000
ROUNDING = 1e-12
"""A chance of one may come out a hair below it."""


@dataclass(frozen=True)
class Option:
    """A bed type with a kit at its least inflow; prices in cents, levels above the ground.

    ``held_m3`` is what a full bed takes from the sump, with what it loses before a top-up.
    """

    bed_type: str
    kit: str
    steps: int
    shell_cents: int
    kit_cents: int
    work_cents: int
    area_m2: float
    width_m: float
    held_m3: float
    stand_m: float
    depth_m: float
    drain_above_ground_m: float

    def outlet_m(self, ground_m: float) -> float:
        """Level at which water enters, summed from the ground up (half cents hang on the order)."""
        return ground_m + self.stand_m + self.depth_m + INLET_OVER_RIM_M


def cents(amount: float) -> int:
    """Whole cents."""
    return round(amount * 100.0)


def options_of(site: Site, catalog: Catalog) -> list[Option]:
    """Every bed type with every kit that reaches the flood goal with all margins."""
    found = []
    for bed_type in site.bed_types:
        for kit in _kits(bed_type, site, catalog):
            option = _option(bed_type, kit, site, catalog)
            if option is not None:
                found.append(option)
    return found


def _kits(bed_type: BedType, site: Site, catalog: Catalog) -> list[Kit]:
    if bed_type.kits:
        return [catalog.kits[name] for name in bed_type.kits]
    inch = any(
        pipe.nominal.endswith("in")
        for pipe in catalog.pipes.values()
        if pipe.series == site.purchase.pipe_series
    )
    return [kit for kit in catalog.kits.values() if kit.nominal.endswith("in") == inch]


def _option(bed_type: BedType, kit: Kit, site: Site, catalog: Catalog) -> Option | None:
    made = _siphon(bed_type, kit, site, catalog)
    if made is None:
        return None
    bed, losses = made
    known, goals = site.coefficients, site.goals
    start, stop = known.start_froude or kit.start_froude, known.stop_ratio or kit.stop_ratio
    porosity = known.porosity or catalog.media[bed_type.medium].porosity
    slow = _slowest(bed, (start, losses, porosity), goals.robustness)
    target = bed.inflow_interval(goals.floods_per_hour_least, goals.floods_per_hour_most)
    if target is None and site.zones is None:
        return None
    types = {name for row in site.rows for name in row.bed_types}

    def works(least: float, most: float) -> bool:
        if site.zones is not None:
            if not (is_done_in_turn(slow, least, site) and is_done_in_turn(slow, most, site)):
                return False
        elif not target[0] <= least <= most <= target[1]:
            return False
        if goals.robustness == "nominal":
            return bed.start_flow_m3_s <= least and most <= bed.stop_flow_m3_s
        chance = working_chance(bed, start, stop, losses, least, most)
        asked = {"most": 0.95, "whole": 1.0}[goals.robustness]
        return chance ** len(types) >= asked * (1.0 - ROUNDING)

    steps = _least_steps(works, goals)
    if steps is None:
        return None
    container, stand = catalog.containers[bed_type.container], catalog.stands[bed_type.stand]
    medium = catalog.media[bed_type.medium]
    volume = container.length_m * container.width_m * container.depth_m
    return Option(
        bed_type=bed_type.id,
        kit=kit.id,
        steps=steps,
        shell_cents=cents(container.price + medium.price_per_m3 * volume + stand.price),
        kit_cents=cents(kit.price),
        work_cents=cents(sum(s.price for s in catalog.services.values() if s.per == "bed")),
        area_m2=container.length_m * container.width_m,
        width_m=container.width_m,
        held_m3=bed.area_m2 * bed.porosity * (bed.prime_level_m - bed.drain_level_m)
        + bed.area_m2 * site.water_loss.evaporation_m_per_day * site.water_loss.top_up_days,
        stand_m=stand.height_m,
        depth_m=container.depth_m,
        drain_above_ground_m=stand.height_m - bed_type.drain_drop_m,
    )


def _least_steps(works: Callable[[float, float], bool], goals: Goals) -> int | None:
    """The first step whose worst inflows both ways work."""
    less = (1.0 - goals.level_drift) * (1.0 - goals.valve_setting_error)
    more = (1.0 + goals.level_drift) * (1.0 + goals.valve_setting_error)
    for steps in range(1, MOST_STEPS):
        if works(steps / STEPS_PER_M3_S * less, steps / STEPS_PER_M3_S * more):
            return steps
    return None


def _slowest(bed: SiphonBed, bands, robustness: str) -> SiphonBed:
    """The bed with start, loss and porosity 95 % or all of the way up their bands."""
    share = {"nominal": None, "most": 0.95, "whole": 1.0}[robustness]
    if share is None:
        return bed
    start, loss, porosity = (band.low + share * (band.high - band.low) for band in bands)
    return replace(bed, start_froude=start, loss_coefficient=loss, porosity=min(1.0, porosity))


def is_done_in_turn(bed: SiphonBed, inflow: float, site: Site) -> bool:
    """Whether a bed, empty to its floor, has its floods in one equal share of the rotation."""
    zones = site.zones
    if not bed.start_flow_m3_s < inflow <= bed.stop_flow_m3_s:
        return False
    rotation = zones.floods / site.goals.floods_per_hour_least * 3600.0
    flood = bed.fill_s(inflow) + bed.drain_s(inflow)
    to_slots = bed.area_m2 * bed.porosity * bed.drain_level_m / inflow
    return to_slots + zones.floods * flood <= rotation / len(zones.groups) - zones.change_s


def _siphon(bed_type: BedType, kit: Kit, site: Site, catalog: Catalog):
    container = catalog.containers[bed_type.container]
    series = sorted(
        (pipe for pipe in catalog.pipes.values() if pipe.series == kit.series),
        key=lambda pipe: pipe.bore_m,
    )
    standpipe = next((pipe for pipe in series if pipe.nominal == kit.nominal), None)
    if standpipe is None:
        return None
    least = least_bell_bore_m(standpipe.bore_m, standpipe.outside_m)
    bell = next((pipe for pipe in series if pipe.bore_m >= least), None)
    if bell is None:
        return None
    slots = slots_for(standpipe.bore_m, bell.outside_m)
    crest = container.depth_m - bed_type.crest_below_rim_m
    if crest <= 2.0 * slots.height_m:
        return None
    turn = site.coefficients.turn_loss or kit.turn_loss
    elbow = catalog.losses["elbow_90"].value

    def loss(turn_loss: float) -> float:
        geometry = SiphonGeometry(
            standpipe_bore_m=standpipe.bore_m,
            standpipe_outside_m=standpipe.outside_m,
            standpipe_length_m=crest + bed_type.drain_drop_m,
            bell_bore_m=bell.bore_m,
            bell_height_m=crest + CAP_GAP_M,
            slot_area_m2=slots.area_m2,
            turn_loss=turn_loss,
            elbows_loss=elbow,
            roughness_m=standpipe.roughness_m,
            temperature_c=site.goals.water_temperature_c,
        )
        mean_head = (crest + slots.height_m) / 2.0 + bed_type.drain_drop_m
        return siphon_loss_coefficient(geometry, mean_head)

    losses = type(turn)(loss(turn.nominal), loss(turn.low), loss(turn.high), "enumeration")
    known = site.coefficients
    porosity = known.porosity or catalog.media[bed_type.medium].porosity
    bed = SiphonBed(
        area_m2=container.length_m * container.width_m,
        porosity=porosity.nominal,
        drain_level_m=slots.height_m,
        crest_level_m=crest,
        bore_m=standpipe.bore_m,
        outlet_level_m=-bed_type.drain_drop_m,
        loss_coefficient=losses.nominal,
        start_froude=(known.start_froude or kit.start_froude).nominal,
        stop_ratio=(known.stop_ratio or kit.stop_ratio).nominal,
        mouth_diameter_m=kit.mouth_ratio * standpipe.bore_m,
    )
    return bed, losses
