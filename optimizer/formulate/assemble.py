"""From the program's choice by id to a complete design that stands on its own."""

from __future__ import annotations

from optimizer.formulate.assemble_beds import built_bed
from optimizer.formulate.assemble_drains import built_drains, drain_lines
from optimizer.formulate.assemble_mixes import Piece
from optimizer.formulate.assemble_pipe import built_stretch
from optimizer.formulate.assemble_plant import (
    built_fish_tank,
    built_pump,
    built_sump,
    duty_watts,
)
from optimizer.formulate.assemble_tank import built_riser, built_tank, tank_lines
from optimizer.formulate.assemble_zones import built_zones, zone_lines
from optimizer.formulate.assembly import Assembly
from optimizer.formulate.bed_options import BedCandidate
from optimizer.formulate.bill import LaidStretch, bill
from optimizer.formulate.build import Formulation
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.kept_lines import kept_lines
from optimizer.formulate.pump_tables import energy_kwh_per_year
from optimizer.formulate.shelf import shelf_of
from optimizer.formulate.side_conditions import budget_cents, stock_lengths_m
from optimizer.formulate.stock import from_stock
from optimizer.formulate.stretch_ways import parts_in
from optimizer.formulate.sump_tables import drain_back_share
from optimizer.records.choice import Choice
from optimizer.records.design import BuiltStretch, Design
from optimizer.records.network import CandidateNetwork, Point3
from optimizer.records.parts import Catalog
from optimizer.records.promise import Promise
from optimizer.records.site import Site

BED_NODE = "bed "
"""What the candidate network puts before a bed's id to name its node; a design has just the id."""


def assemble(
    site: Site, catalog: Catalog, network: CandidateNetwork, made: Formulation, choice: Choice
) -> Design:
    """Return the design that a choice stands for, valve settings and bill included."""
    a = Assembly(site, catalog, network, made, choice)
    risers = () if a.tank is None else (built_riser(a.tank),)
    pieces = [piece for found in a.pieces.values() for piece in found]
    stretches = (*risers, *(_stretch(a, piece) for piece in pieces))
    sump = built_sump(a, stretches)
    laid = [*(() if a.tank is None else (a.tank.laid,)), *(piece.laid for piece in pieces)]
    kinds = {c.kind.id: c.kind for _, c in a.plans}
    beds = tuple(built_bed(a, p) for p in network.positions if f"drop {p.id}" in a.laid)
    drains = built_drains(site, catalog, network, choice, _beds_at_nodes(a))
    watts = duty_watts(a)
    pump = built_pump(a, watts)
    overflow = [] if a.tank is None else [a.tank.lift.overflow.id]
    tanks = [a.tank.tank.part] if a.tank is not None and a.tank.tank.part else []
    zones = built_zones(a)
    timers = [] if zones is None else [zones.timer]
    return Design(
        site=site.name,
        currency=site.currency,
        units=site.units,
        promise=promise_of(site),
        kinds=tuple(kinds.values()),
        beds=beds,
        stretches=stretches,
        pump=pump,
        sump=sump,
        costs=(
            *from_stock(
                site,
                catalog,
                (
                    *bill(site, catalog, laid, a.plans, a.pump, a.duty, a.sump),
                    *(() if a.tank is None else tank_lines(a.tank)),
                    *zone_lines(a),
                    *drain_lines(site, catalog, network, choice),
                ),
            ),
            *kept_lines(tuple(kinds.values()), beds, stretches, drains, pump, sump),
        ),
        energy_kwh_per_year=energy_kwh_per_year(watts, site.goals),
        energy_price_per_kwh=site.goals.energy_price_per_kwh,
        record=choice.record,
        fish=built_fish_tank(a),
        drains=drains,
        shelf=shelf_of(
            catalog,
            tuple(kinds.values()),
            [*(s.pipe for s in stretches), *(d.pipe for d in drains), *overflow],
            [bed.valve for bed in beds],
            a.pump.pump,
            [a.sump.sump, *tanks],
            timers,
        ),
        tank=None if a.tank is None else built_tank(a.tank, sump.lowest_m, sump.highest_m),
        zones=zones,
    )


def _beds_at_nodes(a: Assembly) -> dict[str, list[BedCandidate]]:
    """Return the bed option built at every take-off that has one."""
    return {
        p.take_off: [a.candidate_of_row[p.row]]
        for p in a.network.positions
        if f"drop {p.id}" in a.laid
    }


def promise_of(site: Site) -> Promise:
    """Return the limits that a site's designs are made to keep."""
    goals = site.goals
    return Promise(
        floods_per_hour_least=goals.floods_per_hour_least,
        floods_per_hour_most=goals.floods_per_hour_most,
        robustness=goals.robustness,
        valve_setting_error=goals.valve_setting_error,
        level_drift=goals.level_drift,
        velocity_limit_m_s=goals.velocity_limit_m_s,
        water_temperature_c=goals.water_temperature_c,
        drain_back_share=drain_back_share(site),
        pump_hours_per_day=goals.pump_hours_per_day,
        bursts=site.returns.bursts,
        held=site.returns.held,
        confidence=site.returns.confidence,
        pump_tolerance=goals.pump_tolerance,
        budget_cents=budget_cents(site),
        pipe_sizes_most=site.purchase.pipe_sizes_most,
        stock_m=stock_lengths_m(site),
        noise=site.noise,
    )


def _stretch(a: Assembly, piece: Piece) -> BuiltStretch:
    each = piece.laid
    return built_stretch(
        each.stretch,
        each.way,
        a.catalog,
        head=each.stretch.head.removeprefix(BED_NODE),
        points=_route(a, each),
        length_m=each.load.length_m,
        flow_m3_s=each.load.duty.flow_steps * FLOW_STEP_M3_S,
        loss_m=piece.loss_m,
        volume_m3=piece.volume_m3,
        parts=parts_in(each.stretch, each.load.last, each.tees),
    )


def _route(a: Assembly, each: LaidStretch) -> tuple[Point3, ...]:
    """Return the stretch's route; a drop rises from its take-off to the bed's outlet."""
    if each.stretch.kind != "drop" or each.load.duty.outlet_level_m is None:
        return each.stretch.points
    x, y, low = each.stretch.points[0]
    level = each.load.duty.outlet_level_m + a.site.ground.sump_floor_level_m
    return ((x, y, low), (x, y, level))
