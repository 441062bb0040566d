"""From a site, a catalog and a candidate network to the tables the program decides on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from optimizer.formulate.bed_options import BedCandidate, bed_candidates
from optimizer.formulate.drain_tables import drain_tables
from optimizer.formulate.fittings_price import cents
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.loads import Load, loads_by_stretch
from optimizer.formulate.mix_tables import with_mixes
from optimizer.formulate.no_plant import (
    require_a_level_band,
    require_a_pump,
    require_a_quiet_pump,
    require_room_for_a_pump,
    require_turnover,
)
from optimizer.formulate.no_siphon import require_option_for_every_row
from optimizer.formulate.plans import branch_plans
from optimizer.formulate.pump_tables import PumpTables, allowed_pumps, pump_tables
from optimizer.formulate.refused_siphons import Refused
from optimizer.formulate.side_conditions import budget_cents, pipe_stock
from optimizer.formulate.stretch_tables import stretch_tables
from optimizer.formulate.sump_tables import (
    allowed_sumps,
    drain_back_share,
    fish_water_m,
    fitting_pumps,
    level_bands,
    sump_options,
)
from optimizer.formulate.tank_tables import Lift, tank_cents, tank_tables
from optimizer.formulate.zone_parts import timer_cents
from optimizer.physics.fish import feed_supported_kg_per_day
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog, Pump
from optimizer.records.problem import DesignProblem, LevelBand, ZoneTable
from optimizer.records.requirements import Requirements
from optimizer.records.site import Site

SAME_STEP = 1e-6
"""Flow steps by which a flow may lie below what is asked; for rounding alone."""


@dataclass(frozen=True)
class Formulation:
    """The problem, with the physical records behind its bed options, and pairs refused.

    ``lifts`` is by pump option where a tank feeds the beds: the pump with its riser.
    """

    problem: DesignProblem
    candidates: tuple[BedCandidate, ...]
    refused: tuple[Refused, ...]
    lifts: Mapping[str, Lift] = field(default_factory=dict)


def formulate(
    site: Site, catalog: Catalog, network: CandidateNetwork, held_share: float = 1.0
) -> Formulation:
    """Return the tables of every decision.

    Args:
        site: the site.
        catalog: the parts.
        network: the site's candidate network.
        held_share: share of the water of all beds full that the sump must be able to give.

    Raises:
        Infeasible: if some row's bed types have no siphon kit that meets the flood goal, the beds
            cannot turn the fish tank over fast enough, no pump serves them or is quiet enough, or
            no sump holds water enough for one.
    """
    allowed, sumps = allowed_pumps(site, catalog), allowed_sumps(site, catalog)
    choice_of_pumps = fitting_pumps(allowed, sumps)
    candidates, refused = bed_candidates(site, catalog, choice_of_pumps)
    require_option_for_every_row(site, catalog, candidates, refused)
    plans = branch_plans(site, network, candidates, held_share)
    loads = loads_by_stretch(site, network, candidates, plans)
    lowest_outlet = _lowest_outlet_m(loads)
    lowest_siphon, ceiling = (
        lowest_siphon_outlet_m(site, candidates),
        water_ceiling_m(site, candidates),
    )
    require_room_for_a_pump(allowed, sumps, lowest_siphon, fish_water_m(site), site.units)
    choice_of_pumps = fitting_pumps(choice_of_pumps, sumps, ceiling)
    least_level = site.purchase.lowest_level_least_m
    bands = level_bands(choice_of_pumps, sumps, least_level, ceiling)
    require_a_level_band(bands, sumps, least_level, ceiling, site.units)
    flows = total_flows(site, loads[network.supply[0].id])
    pumps, lifts = _pumps(site, catalog, network, choice_of_pumps, bands, flows, lowest_outlet)
    if site.header_tank is None:
        require_a_pump(site, allowed, pumps, bands, flows, lowest_outlet)
    problem = DesignProblem(
        flow_step_m3_s=FLOW_STEP_M3_S,
        options=tuple(c.option for c in candidates),
        plans=plans,
        stretches=with_mixes(
            stretch_tables(site, catalog, network, loads), site, catalog, network, loads
        ),
        bands=bands,
        pumps=pumps.options,
        pump_duties=pumps.duties,
        sumps=sump_options(site, catalog, bands, ceiling),
        requirements=_requirements(site),
        lowest_outlet_m=lowest_outlet,
        drains=(
            drain_tables(site, catalog, network, candidates, plans) if site.returns.designed else ()
        ),
        stock=pipe_stock(site, catalog),
        fixed_cents=_fixed_cents(site, catalog),
        zones=zone_tables(site),
    )
    return Formulation(problem, candidates, refused, lifts)


def _lowest_outlet_m(loads: Mapping[str, Sequence[Load]]) -> float:
    """Return the lowest level above the sump's floor at which water enters any bed."""
    duties = [load.duty for found in loads.values() for load in found]
    levels = [duty.outlet_level_m for duty in duties if duty.outlet_level_m is not None]
    return min(levels, default=0.0)


def _fixed_cents(site: Site, catalog: Catalog) -> int:
    """Return what no decision moves: work for the site, a tank over the beds, a timer."""
    work = sum(cents(s.price) for s in catalog.services.values() if s.per == "site")
    return work + tank_cents(site, catalog) + timer_cents(site, catalog)


def zone_tables(site: Site) -> tuple[ZoneTable, ...]:
    """Return the zones that flood in turn, in the order of their turns; none without zones."""
    groups = site.zones.groups if site.zones else ()
    return tuple(ZoneTable(f"zone {n}", group) for n, group in enumerate(groups, start=1))


def _requirements(site: Site) -> Requirements:
    return Requirements(
        beds_least=site.goals.beds_least,
        area_least_m2=_area_least_m2(site),
        drain_back_share=drain_back_share(site),
        fed_by_tank=site.header_tank is not None,
        budget_cents=budget_cents(site),
        pipe_sizes_most=site.purchase.pipe_sizes_most,
        loud_hours_most=site.noise.hours_per_day_most if site.noise else None,
        units=site.units,
    )


def _pumps(
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    pumps: Sequence[Pump],
    bands: Sequence[LevelBand],
    flows: Sequence[int],
    lowest_outlet_m: float,
) -> tuple[PumpTables, Mapping[str, Lift]]:
    """Return the pump options that feed the beds, or that fill the tank which does."""
    lifts: Mapping[str, Lift] = {}
    if site.header_tank is None:
        tables = pump_tables(site, pumps, bands, flows, lowest_outlet_m)
    else:
        found = tank_tables(site, catalog, network, pumps, bands, flows)
        tables, lifts = found.pumps, found.lifts
    require_a_quiet_pump(site, catalog, tables.options)
    return tables, lifts


def total_flows(site: Site, loads: tuple[Load, ...]) -> list[int]:
    """Return the total flows to look for pumps at: those that turn a fish tank over fast enough."""
    tank = None if site.fish_feed_beds else site.fish_tank
    least = tank.turnovers_per_hour_least * tank.volume_m3 / 3600.0 if tank else 0.0
    flows = {load.duty.flow_steps for load in loads}
    enough = sorted(flow for flow in flows if flow >= least / FLOW_STEP_M3_S - SAME_STEP)
    require_turnover(site, enough, max(flows, default=0) * FLOW_STEP_M3_S)
    return enough


def _area_least_m2(site: Site) -> float:
    """Return the growing area asked for, or that the fish feed needs, whichever is more."""
    tank = site.fish_tank
    if tank is None:
        return site.goals.growing_area_least_m2
    _, most_feed = feed_supported_kg_per_day(1.0, tank.crop)
    return max(site.goals.growing_area_least_m2, tank.feed_kg_per_day / most_feed)


def water_ceiling_m(site: Site, candidates: tuple[BedCandidate, ...]) -> float:
    """Return the level above the sump's floor that its water stays below, however deep the sump."""
    return min(lowest_siphon_outlet_m(site, candidates), fish_water_m(site))


def lowest_siphon_outlet_m(site: Site, candidates: tuple[BedCandidate, ...]) -> float:
    """Return the lowest drain outlet that any bed may have, above the sump's floor."""
    outlets = [
        row.level_m + c.kind.stand_height_m + c.kind.siphon.outlet_level_m
        for row in site.rows
        for c in candidates
        if c.option.bed_type in row.bed_types
    ]
    return min(outlets, default=0.0) - site.ground.sump_floor_level_m
