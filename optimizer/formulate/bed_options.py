"""Every bed type with every siphon kit: what it costs, what inflow it asks, and why it may not do.

The cheapest inflow is the least one: pump power and pipe losses rise with flow, pump head falls.
So each bed type and kit is listed once, at its least allowed inflow rounded up to a whole step.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimizer.formulate.siphon_parts import NoSuchSiphon, Siphon, siphon_in
from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.physics.loads import floor_pressure_pa, load_per_support_n, wet_mass_kg
from optimizer.physics.window import inflow_window
from optimizer.records.design import BedKind, Window
from optimizer.records.parts import Catalog, Kit
from optimizer.records.problem import BedOption
from optimizer.records.site import BedType, Goals, Site

FLOW_STEP_M3_S = 0.1 / 60_000.0
"""Inflows are whole steps of 0.1 L/min, finer than a bucket and a watch can set."""

EMPTY = Window(0.0, 0.0)
ROBUSTNESS = ("nominal", "most", "whole")


@dataclass(frozen=True)
class BedCandidate:
    """A bed option with its physical record and costs in cents.

    ``shell_cents`` is container, medium and stand; ``siphon_cents`` kit; ``labour_cents`` work.
    """

    option: BedOption
    kind: BedKind
    shell_cents: int
    siphon_cents: int
    labour_cents: int

    @property
    def cost_cents(self) -> int:
        """Cost of one bed from bare ground."""
        return self.shell_cents + self.siphon_cents + self.labour_cents


@dataclass(frozen=True)
class Refused:
    """A bed type and kit that cannot be listed.

    ``floods_greatest`` is the flood frequency it can reach at all (0 if it cannot be built), and
    ``start_flow_m3_s`` the inflow it needs to start.
    """

    bed_type: str
    kit: str
    kit_label: str
    why: str
    floods_greatest: float = 0.0
    start_flow_m3_s: float = 0.0


def bed_candidates(
    site: Site, catalog: Catalog
) -> tuple[tuple[BedCandidate, ...], tuple[Refused, ...]]:
    """Return every bed option worth listing, and every pair refused with its reason.

    Of two kits for one bed type, one that costs more, asks more inflow and holds more water than
    another is left out: no design with it can be cheaper.
    """
    listed: list[BedCandidate] = []
    refused: list[Refused] = []
    for bed_type in site.bed_types:
        found: list[BedCandidate] = []
        for kit in kits_for(bed_type, site.purchase.pipe_series, catalog):
            made = _candidate(site, bed_type, kit, catalog)
            if isinstance(made, BedCandidate):
                found.append(made)
            else:
                refused.append(made)
        listed += _undominated(found)
    return tuple(listed), tuple(refused)


def kits_for(bed_type: BedType, pipe_series: str, catalog: Catalog) -> list[Kit]:
    """Return the kits a bed type may use: those it names, else all of the pipe's size system.

    Inch and millimetre sizes do not fit each other without adapters.
    """
    if bed_type.kits:
        return [catalog.kits[name] for name in bed_type.kits]
    systems = {p.nominal[-2:] for p in catalog.pipes.values() if p.series == pipe_series}
    return [kit for kit in catalog.kits.values() if kit.nominal[-2:] in systems]


def _candidate(site: Site, bed_type: BedType, kit: Kit, catalog: Catalog) -> BedCandidate | Refused:
    container = catalog.containers[bed_type.container]
    turn = site.coefficients.turn_loss or kit.turn_loss
    temperature = site.goals.water_temperature_c
    try:
        siphon = siphon_in(bed_type, container, kit, turn, catalog, temperature)
    except NoSuchSiphon as reason:
        return Refused(bed_type.id, kit.id, kit.label, str(reason))
    bed = _bed(site, bed_type, kit, siphon, catalog)
    start, stop = _bands(site, kit)
    windows = {
        name: _window(inflow_window(bed, start, stop, siphon.loss_coefficient, name))
        for name in ROBUSTNESS
    }
    goals = site.goals
    target = bed.inflow_interval(goals.floods_per_hour_least, goals.floods_per_hour_most)
    steps = least_inflow_steps(windows[goals.robustness], _window(target), goals)
    if steps is None:
        return _refusal(bed_type, kit, bed, windows[goals.robustness], target, goals)
    kind = _kind(site, bed_type, kit, siphon, bed, windows, _window(target), steps, catalog)
    option = BedOption(f"{bed_type.id} with {kit.id}", bed_type.id, kit.id, steps)
    shell = (
        container.price
        + catalog.media[bed_type.medium].price_per_m3 * _medium_m3(bed_type, catalog)
        + catalog.stands[bed_type.stand].price
    )
    labour = sum(s.price for s in catalog.services.values() if s.per == "bed")
    return BedCandidate(option, kind, cents(shell), cents(kit.price), cents(labour))


def least_inflow_steps(window: Window, target: Window, goals: Goals) -> int | None:
    """Return the least inflow, in whole steps, that keeps every margin; None where none does.

    The set inflow, drifted with the sump's level and off by the valve-setting error either way,
    must stay in the siphon's window and in the interval that meets the flood goal.
    """
    low = max(window.low_m3_s, target.low_m3_s)
    high = min(window.high_m3_s, target.high_m3_s)
    down = (1.0 - goals.level_drift) * (1.0 - goals.valve_setting_error)
    up = (1.0 + goals.level_drift) * (1.0 + goals.valve_setting_error)
    steps = math.ceil(low / down / FLOW_STEP_M3_S)
    return steps if steps > 0 and steps * FLOW_STEP_M3_S * up <= high else None


def cents(amount: float) -> int:
    """Return an amount of money in whole cents, rounded once per line of the bill."""
    return round(amount * 100.0)


def _undominated(found: list[BedCandidate]) -> list[BedCandidate]:
    def key(c: BedCandidate) -> tuple[int, int, float]:
        return (c.cost_cents, c.option.inflow_steps, c.kind.held_m3)

    kept: list[BedCandidate] = []
    for candidate in sorted(found, key=lambda c: (*key(c), c.option.id)):
        if not any(all(a <= b for a, b in zip(key(k), key(candidate), strict=True)) for k in kept):
            kept.append(candidate)
    return kept


def _window(pair: tuple[float, float] | None) -> Window:
    return Window(*pair) if pair else EMPTY


def _bands(site: Site, kit: Kit) -> tuple[Band, Band]:
    known = site.coefficients
    return known.start_froude or kit.start_froude, known.stop_ratio or kit.stop_ratio


def _medium_m3(bed_type: BedType, catalog: Catalog) -> float:
    container = catalog.containers[bed_type.container]
    return container.length_m * container.width_m * container.depth_m


def _bed(site: Site, bed_type: BedType, kit: Kit, siphon: Siphon, catalog: Catalog) -> SiphonBed:
    container = catalog.containers[bed_type.container]
    porosity = site.coefficients.porosity or catalog.media[bed_type.medium].porosity
    start, stop = _bands(site, kit)
    return SiphonBed(
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


def _kind(
    site: Site,
    bed_type: BedType,
    kit: Kit,
    siphon: Siphon,
    bed: SiphonBed,
    windows: Mapping[str, Window],
    target: Window,
    steps: int,
    catalog: Catalog,
) -> BedKind:
    container = catalog.containers[bed_type.container]
    medium, stand = catalog.media[bed_type.medium], catalog.stands[bed_type.stand]
    start, stop = _bands(site, kit)
    inflow = steps * FLOW_STEP_M3_S
    mass = wet_mass_kg(
        container.empty_mass_kg, _medium_m3(bed_type, catalog), medium.wet_density_kg_m3
    )
    load = load_per_support_n(mass, stand.supports)
    return BedKind(
        id=bed_type.id,
        label=bed_type.id,
        container=container.label,
        medium=medium.label,
        stand=stand.label,
        kit=kit.id,
        kit_label=kit.label,
        length_m=container.length_m,
        width_m=container.width_m,
        depth_m=container.depth_m,
        area_m2=bed.area_m2,
        siphon=bed,
        parts=siphon.parts,
        start_froude=start,
        stop_ratio=stop,
        loss_coefficient=siphon.loss_coefficient,
        porosity=site.coefficients.porosity or medium.porosity,
        windows=dict(windows),
        target=target,
        inflow_m3_s=inflow,
        floods_per_hour=bed.floods_per_hour(inflow),
        held_m3=bed.held_m3,
        wet_mass_kg=mass,
        stand_height_m=stand.height_m,
        supports=stand.supports,
        load_per_support_n=load,
        floor_pressure_pa=floor_pressure_pa(load, stand.foot_area_m2),
        stand_capacity_kg=stand.capacity_kg,
    )


def _refusal(
    bed_type: BedType,
    kit: Kit,
    bed: SiphonBed,
    window: Window,
    target: tuple[float, float] | None,
    goals: Goals,
) -> Refused:
    _, floods = bed.greatest_floods()
    anywhere = Window(0.0, math.inf)
    if floods < goals.floods_per_hour_least:
        why = f"floods at most {floods:.2f} times an hour"
    elif target is None:
        why = f"floods more than {goals.floods_per_hour_most:g} times an hour at any inflow"
    elif window.low_m3_s >= window.high_m3_s:
        why = f"its {goals.robustness} start-stop window is empty"
    elif least_inflow_steps(window, anywhere, goals) is None:
        why = "its window is narrower than valve error and level drift together"
    else:
        why = "the inflows that meet the flood goal and those that surely work hardly overlap"
    return Refused(bed_type.id, kit.id, kit.label, why, floods, bed.start_flow_m3_s)
