"""A system that stands as a design record, so that the check's own physics can run it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimizer.formulate.assemble import promise_of
from optimizer.formulate.bed_kind import FittedBed, bed_kind, fit_bed
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S, allowed_steps
from optimizer.formulate.siphon_levels import NoSuchSiphon
from optimizer.mend.built_pipes import return_pipes, supply_pipes
from optimizer.mend.built_tank import standing_tank
from optimizer.physics.valve import loss_at_opening
from optimizer.records.bed_inlet import INLET_OVER_RIM_M
from optimizer.records.choice import SolveRecord
from optimizer.records.design import (
    Bed,
    BedKind,
    BuiltPump,
    BuiltSump,
    Design,
)
from optimizer.records.network import CandidateNetwork, Position
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from optimizer.records.standing import StandingSiphon
from optimizer.records.stands import BedStands, Stands
from optimizer.simulate.sump_levels import held_aloft_m3, sump_levels

AS_IT_STANDS = SolveRecord("none", "stands", 0, 0.0, 0.0)


@dataclass(frozen=True)
class AsBuilt:
    """A system as it stands.

    Attributes:
        site: the site.
        catalog: the parts.
        network: its candidate network.
        stands: what was measured.
        design: all of it as a design record.
        refused: bed to why its siphon cannot work at all.
    """

    site: Site
    catalog: Catalog
    network: CandidateNetwork
    stands: Stands
    design: Design
    refused: Mapping[str, str]


def as_built(site: Site, catalog: Catalog, network: CandidateNetwork, stands: Stands) -> AsBuilt:
    """Return a system as it stands.

    Args:
        site: the site.
        catalog: the parts.
        network: its candidate network.
        stands: what stands there; it names a bed for every position and a size for every stretch.
    """
    kinds, of_bed, refused = _kinds(site, catalog, stands)
    beds = tuple(
        _bed(each, kinds[of_bed[each.bed]], site, catalog, network) for each in stands.beds
    )
    pump = catalog.pumps[stands.pump]
    design = Design(
        site=site.name,
        currency=site.currency,
        units=site.units,
        promise=promise_of(site),
        kinds=tuple(kinds.values()),
        beds=beds,
        stretches=supply_pipes(site, catalog, network, stands, {b.id: kinds[b.kind] for b in beds}),
        pump=BuiltPump(
            pump.id,
            pump.label,
            stands.pump_count,
            0,
            pump.flows_m3_s,
            tuple(stands.pump_head_share * head for head in pump.heads_m),
            pump.watts,
            pump.submergence_m,
            0.0,
            0.0,
            0.0,
            standing=True,
            there=stands.pump_count,
            noise_db=pump.noise_db,
        ),
        sump=_sump(site, catalog, stands),
        costs=(),
        energy_kwh_per_year=0.0,
        energy_price_per_kwh=site.goals.energy_price_per_kwh,
        record=AS_IT_STANDS,
        drains=return_pipes(site, catalog, network, stands, beds),
        tank=standing_tank(site, catalog, network, stands),
    )
    return AsBuilt(
        site, catalog, network, stands, filled_to(design, stands.drained_level_m), refused
    )


def filled_to(design: Design, drained_level_m: float) -> Design:
    """Return a system filled so that the sump stands at a level with every bed drained."""
    sump = design.sump
    area = sump.area_m2 * sump.count
    fill = drained_level_m * area + held_aloft_m3(design)
    design = replace(design, sump=replace(sump, fill_m3=fill))
    levels = sump_levels(design)
    return replace(
        design,
        sump=replace(
            design.sump,
            lowest_m=levels.lowest_m,
            highest_m=levels.highest_m,
            setting_m=(levels.lowest_m + levels.highest_m) / 2.0,
            power_cut_m=levels.power_cut_m,
        ),
    )


def losses_at(design: Design, openings: Mapping[str, float]) -> dict[str, float]:
    """Return K of every bed's valve at its opening."""
    return {
        bed.id: loss_at_opening(openings[bed.id], bed.valve_openings, bed.valve_losses)
        for bed in design.beds
    }


def standing_siphon(stands: BedStands, bed_type: str) -> StandingSiphon:
    """Return the siphon of a bed, as that of a bed type."""
    return StandingSiphon(
        bed_type,
        stands.kit,
        stands.crest_level_m,
        stands.drain_level_m,
        stands.drain_drop_m,
        stands.bell,
        stands.bell_height_m,
        stands.bore_m,
    )


def kind_names(stands: Stands) -> dict[str, str]:
    """Return, by bed, the name of its kind: its bed type, with a bed's name if its siphon differs.

    The siphon that most beds of a type have goes by the type's own name.
    """
    counts: dict[StandingSiphon, list[str]] = {}
    for each in stands.beds:
        counts.setdefault(standing_siphon(each, each.bed_type), []).append(each.bed)
    common: dict[str, StandingSiphon] = {}
    for siphon, beds in counts.items():
        best = common.get(siphon.bed_type)
        if best is None or len(beds) > len(counts[best]):
            common[siphon.bed_type] = siphon
    return {
        bed: siphon.bed_type
        if siphon == common[siphon.bed_type]
        else f"{siphon.bed_type} as {beds[0]}"
        for siphon, beds in counts.items()
        for bed in beds
    }


def _kinds(
    site: Site, catalog: Catalog, stands: Stands
) -> tuple[dict[str, BedKind], dict[str, str], dict[str, str]]:
    types = {bed_type.id: bed_type for bed_type in site.bed_types}
    of_bed, kinds, reasons = kind_names(stands), dict[str, BedKind](), dict[str, str]()
    for each in stands.beds:
        name = of_bed[each.bed]
        if name in kinds:
            continue
        bed_type, kit = types[each.bed_type], catalog.kits[each.kit]
        try:
            fitted = fit_bed(site, bed_type, kit, catalog, standing_siphon(each, each.bed_type))
        except NoSuchSiphon as reason:
            reasons[name] = str(reason)
            fitted = fit_bed(site, bed_type, kit, catalog)
        kind = bed_kind(fitted, _inflow_m3_s(fitted, site), catalog, stands=True)
        kinds[name] = replace(kind, id=name)
    refused = {bed: reasons[name] for bed, name in of_bed.items() if name in reasons}
    return kinds, of_bed, refused


def _inflow_m3_s(fitted: FittedBed, site: Site) -> float:
    """Return the least inflow that a bed should get; near its start where none will do."""
    steps = allowed_steps(fitted.settings, fitted.target, site.goals)
    return steps[0] * FLOW_STEP_M3_S if steps else 1.5 * fitted.bed.start_flow_m3_s


def _bed(
    each: BedStands, kind: BedKind, site: Site, catalog: Catalog, network: CandidateNetwork
) -> Bed:
    position: Position = next(p for p in network.positions if p.id == each.bed)
    row = next(row for row in site.rows if row.id == position.row)
    valve, floor = catalog.valves[each.valve], position.ground_level_m + kind.stand_height_m
    into = next(s for s in network.stretches if s.head == position.take_off)
    return Bed(
        id=each.bed,
        row=position.row,
        kind=kind.id,
        x_m=position.x_m,
        y_m=position.y_m,
        along=(-row.direction[1], row.direction[0]),
        floor_level_m=floor,
        outlet_level_m=floor + kind.depth_m + INLET_OVER_RIM_M,
        drop=f"drop {each.bed}",
        valve=valve.id,
        valve_label=f"{valve.kind} valve {valve.nominal}",
        valve_bore_m=catalog.pipes[each.pipe].bore_m,
        valve_openings=valve.openings,
        valve_losses=valve.losses,
        valve_head_m=0.0,
        valve_opening=1.0 if each.opening is None else each.opening,
        bucket_s=0.0,
        siphon_outlet_level_m=floor + kind.siphon.outlet_level_m,
        drain=f"return {into.id}" if site.returns.designed else "",
        standing=True,
        siphon_standing=True,
        valve_standing=True,
    )


def _sump(site: Site, catalog: Catalog, stands: Stands) -> BuiltSump:
    sump, (x, y) = catalog.sumps[stands.sump], site.ground.sump
    types = {t.id: t for t in site.bed_types}
    area = sum(
        box.length_m * box.width_m
        for box in (catalog.containers[types[b.bed_type].container] for b in stands.beds)
    )
    loss = site.water_loss
    return BuiltSump(
        id=sump.id,
        label=sump.label,
        count=stands.sump_count,
        area_m2=sump.area_m2,
        depth_m=sump.depth_m,
        freeboard_m=sump.freeboard_m,
        floor_level_m=site.ground.sump_floor_level_m,
        x_m=x,
        y_m=y,
        setting_m=0.0,
        lowest_m=0.0,
        highest_m=0.0,
        power_cut_m=0.0,
        fill_m3=0.0,
        standing=True,
        lost_m3=area * loss.evaporation_m_per_day * loss.top_up_days,
        there=stands.sump_count,
    )
