"""From the program's choice by id to a complete design that stands on its own."""

from __future__ import annotations

import math

from optimizer.formulate.assemble_drains import built_drains, drain_lines
from optimizer.formulate.bed_options import FLOW_STEP_M3_S, BedCandidate
from optimizer.formulate.bill import LaidStretch, bill
from optimizer.formulate.build import Formulation
from optimizer.formulate.loads import Load, loads_by_stretch
from optimizer.formulate.pump_tables import energy_kwh_per_year
from optimizer.formulate.stretch_tables import build_ways, tees_at_ends
from optimizer.physics.pipe import bore_area_m2, head_loss_m
from optimizer.physics.pump import PumpCurve
from optimizer.physics.valve import opening_for_loss
from optimizer.physics.water import GRAVITY
from optimizer.records.design import (
    Bed,
    BuiltFitting,
    BuiltPump,
    BuiltStretch,
    BuiltSump,
    Design,
    Promise,
)
from optimizer.records.network import CandidateNetwork, Point3, Position
from optimizer.records.parts import Catalog
from optimizer.records.problem import (
    BranchPlan,
    Build,
    Choice,
    LevelBand,
    PumpDuty,
    PumpOption,
    SumpOption,
)
from optimizer.records.site import Row, Site

BED_NODE = "bed "
"""What the candidate network puts before a bed's id to name its node; a design has just the id."""

BUCKET_M3 = 0.010
"""A 10 L bucket."""


class Assembly:
    """Looks up what a choice names, once, for the pieces below."""

    def __init__(
        self,
        site: Site,
        catalog: Catalog,
        network: CandidateNetwork,
        made: Formulation,
        choice: Choice,
    ) -> None:
        self.site, self.catalog, self.network, self.choice = site, catalog, network, choice
        self.problem = made.problem
        by_option = {c.option.id: c for c in made.candidates}
        chosen = {p.id: p for p in self.problem.plans}
        plans = [chosen[plan] for plan in choice.plans.values()]
        self.plans: list[tuple[BranchPlan, BedCandidate]] = [
            (plan, by_option[plan.option]) for plan in plans if plan.option is not None
        ]
        self.candidate_of_row = {plan.branch: c for plan, c in self.plans}
        self.rows: dict[str, Row] = {row.id: row for row in site.rows}
        tables = {s.id: s for s in self.problem.stretches}
        self.builds: dict[str, Build] = {
            sid: tables[sid].table[duty, way] for sid, (duty, way) in choice.builds.items()
        }
        self.laid = self._laid(made)
        self.pump: PumpOption = next(p for p in self.problem.pumps if p.id == choice.pump)
        self.band: LevelBand = next(b for b in self.problem.bands if b.id == choice.band)
        self.sump: SumpOption = next(s for s in self.problem.sumps if s.id == choice.sump)
        total = sum(plan.flow_steps for plan, _ in self.plans)
        self.duty: PumpDuty = next(
            d
            for d in self.problem.pump_duties
            if (d.pump, d.band, d.flow_steps) == (choice.pump, choice.band, total)
        )
        self.heads = self._heads()

    def _laid(self, made: Formulation) -> dict[str, LaidStretch]:
        loads = loads_by_stretch(self.site, self.network, made.candidates, self.problem.plans)
        tees = tees_at_ends(self.network)
        laid: dict[str, LaidStretch] = {}
        for stretch in self.network.stretches:
            if stretch.id not in self.choice.builds:
                continue
            duty, way_id = self.choice.builds[stretch.id]
            load: Load = next(d for d in loads[stretch.id] if d.duty.id == duty)
            ways = build_ways(stretch, self.site, self.catalog)
            way = next(w for w in ways if w.id == way_id)
            laid[stretch.id] = LaidStretch(stretch, way, load, tees[stretch.id])
        return laid

    def _heads(self) -> dict[str, float]:
        """Return the head at every built node above the sump floor, valves as set."""
        heads = {"pump": self.duty.head_m}
        for each in self.laid.values():
            stretch = each.stretch
            heads[stretch.head] = heads[stretch.tail] - self.builds[stretch.id].loss_m
        return heads


def assemble(
    site: Site, catalog: Catalog, network: CandidateNetwork, made: Formulation, choice: Choice
) -> Design:
    """Return the design that a choice stands for, valve settings and bill included."""
    a = Assembly(site, catalog, network, made, choice)
    stretches = tuple(_stretch(a, each) for each in a.laid.values())
    kinds = {c.kind.id: c.kind for _, c in a.plans}
    duty_watts = _watts(a)
    return Design(
        site=site.name,
        currency=site.currency,
        units=site.units,
        promise=_promise(site),
        kinds=tuple(kinds.values()),
        beds=tuple(_bed(a, p) for p in network.positions if f"drop {p.id}" in a.laid),
        stretches=stretches,
        pump=_pump(a, duty_watts),
        sump=_sump(a, sum(s.volume_m3 for s in stretches)),
        costs=(
            *bill(site, catalog, list(a.laid.values()), a.plans, a.pump, a.duty, a.sump),
            *drain_lines(site, catalog, network, choice),
        ),
        energy_kwh_per_year=energy_kwh_per_year(duty_watts, site.goals),
        energy_price_per_kwh=site.goals.energy_price_per_kwh,
        record=choice.record,
        drains=built_drains(site, catalog, network, choice, beds_at_nodes(a)),
    )


def beds_at_nodes(a: Assembly) -> dict[str, list[BedCandidate]]:
    """Return the bed option built at every take-off that has one."""
    return {
        p.take_off: [a.candidate_of_row[p.row]]
        for p in a.network.positions
        if f"drop {p.id}" in a.laid
    }


def _promise(site: Site) -> Promise:
    goals = site.goals
    return Promise(
        floods_per_hour_least=goals.floods_per_hour_least,
        floods_per_hour_most=goals.floods_per_hour_most,
        robustness=goals.robustness,
        valve_setting_error=goals.valve_setting_error,
        level_drift=goals.level_drift,
        velocity_limit_m_s=goals.velocity_limit_m_s,
        water_temperature_c=goals.water_temperature_c,
        drain_back_share=0.0 if site.purchase.non_return_valve else 1.0,
        pump_hours_per_day=goals.pump_hours_per_day,
        bursts=site.returns.bursts,
        held=site.returns.held,
        confidence=site.returns.confidence,
    )


def _stretch(a: Assembly, each: LaidStretch) -> BuiltStretch:
    stretch, pipe, build = each.stretch, each.way.pipe, a.builds[each.stretch.id]
    losses = a.catalog.losses
    fittings = tuple(
        BuiltFitting(name, count, losses[name].value) for name, count in stretch.fittings
    )
    return BuiltStretch(
        id=stretch.id,
        kind=stretch.kind,
        row=stretch.row,
        tail=stretch.tail,
        head=stretch.head.removeprefix(BED_NODE),
        points=_route(a, each),
        length_m=each.load.length_m,
        pipe=pipe.id,
        nominal=pipe.nominal,
        bore_m=pipe.bore_m,
        roughness_m=pipe.roughness_m,
        rating_pa=pipe.rating_pa,
        fittings=fittings,
        loss_coefficient=sum(f.count * f.loss_coefficient for f in fittings),
        flow_m3_s=each.load.duty.flow_steps * FLOW_STEP_M3_S,
        loss_m=build.loss_m,
        volume_m3=build.volume_m3,
        standing=each.way.standing,
        material=pipe.material,
    )


def _route(a: Assembly, each: LaidStretch) -> tuple[Point3, ...]:
    """Return the stretch's route; a drop rises from its take-off to the bed's outlet."""
    if each.stretch.kind != "drop" or each.load.duty.outlet_level_m is None:
        return each.stretch.points
    x, y, low = each.stretch.points[0]
    level = each.load.duty.outlet_level_m + a.site.ground.sump_floor_level_m
    return ((x, y, low), (x, y, level))


def _bed(a: Assembly, position: Position) -> Bed:
    row = a.rows[position.row]
    kind = a.candidate_of_row[position.row].kind
    each = a.laid[f"drop {position.id}"]
    valve, pipe = each.way.valve, each.way.pipe
    outlet_m = each.load.duty.outlet_level_m
    if valve is None or outlet_m is None:
        raise AssertionError(f"the drop of {position.id} has no valve or outlet")
    local = sum(n * a.catalog.losses[name].value for name, n in each.stretch.fittings)
    lost = head_loss_m(
        kind.inflow_m3_s,
        each.load.length_m,
        pipe.bore_m,
        pipe.roughness_m,
        a.site.goals.water_temperature_c,
        local,
    )
    throttled = a.heads[position.take_off] - outlet_m - float(lost)
    speed = kind.inflow_m3_s / float(bore_area_m2(pipe.bore_m))
    wanted = throttled * 2.0 * GRAVITY / speed**2
    loss = min(max(wanted, valve.losses[-1]), valve.losses[0])
    return Bed(
        id=position.id,
        row=position.row,
        kind=kind.id,
        x_m=position.x_m,
        y_m=position.y_m,
        along=(-row.direction[1], row.direction[0]),
        floor_level_m=position.ground_level_m + kind.stand_height_m,
        outlet_level_m=outlet_m + a.site.ground.sump_floor_level_m,
        drop=each.stretch.id,
        valve=valve.id,
        valve_label=f"{valve.kind} valve {valve.nominal}",
        valve_bore_m=pipe.bore_m,
        valve_openings=valve.openings,
        valve_losses=valve.losses,
        valve_head_m=throttled,
        valve_opening=float(opening_for_loss(loss, valve.openings, valve.losses)),
        bucket_s=BUCKET_M3 / kind.inflow_m3_s,
        siphon_outlet_level_m=position.ground_level_m
        + kind.stand_height_m
        + kind.siphon.outlet_level_m,
        drain=_drain_under(a, position),
    )


def _drain_under(a: Assembly, position: Position) -> str:
    """Return the return stretch a bed's siphon ends over, or nothing where none is designed."""
    into = next(s for s in a.network.stretches if s.head == position.take_off)
    return f"return {into.id}" if f"return {into.id}" in a.choice.drains else ""


def _watts(a: Assembly) -> float:
    pump = a.catalog.pumps[a.pump.pump]
    curve = PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts, a.pump.count)
    return float(curve.watts_at(a.duty.flow_steps * FLOW_STEP_M3_S))


def _pump(a: Assembly, duty_watts: float) -> BuiltPump:
    pump = a.catalog.pumps[a.pump.pump]
    setting = (a.band.low_m + a.band.high_m) / 2.0
    return BuiltPump(
        id=pump.id,
        label=pump.label,
        count=a.pump.count,
        spares=int(a.site.purchase.spare_pump),
        flows_m3_s=pump.flows_m3_s,
        heads_m=pump.heads_m,
        watts=pump.watts,
        submergence_m=pump.submergence_m,
        duty_flow_m3_s=a.duty.flow_steps * FLOW_STEP_M3_S,
        duty_head_m=a.duty.head_m - setting,
        duty_watts=duty_watts,
        standing=a.site.standing.pump == pump.id,
    )


def _sump(a: Assembly, pipes_m3: float) -> BuiltSump:
    """Return the sump, filled so that the running levels lie evenly about the setting level."""
    sump = a.catalog.sumps[a.sump.sump]
    area = sump.area_m2 * a.sump.count
    lost = math.fsum(plan.lost_m3 for plan, _ in a.plans)
    swing = math.fsum(plan.held_m3 for plan, _ in a.plans) + lost
    setting = (a.band.low_m + a.band.high_m) / 2.0
    highest = setting + swing / area / 2.0
    x, y = a.site.ground.sump
    return BuiltSump(
        id=sump.id,
        label=sump.label,
        count=a.sump.count,
        area_m2=sump.area_m2,
        depth_m=sump.depth_m,
        freeboard_m=sump.freeboard_m,
        floor_level_m=a.site.ground.sump_floor_level_m,
        x_m=x,
        y_m=y,
        setting_m=setting,
        lowest_m=highest - swing / area,
        highest_m=highest,
        power_cut_m=highest + (0.0 if a.site.purchase.non_return_valve else pipes_m3 / area),
        fill_m3=highest * area + pipes_m3,
        standing=a.site.standing.sump == sump.id,
        lost_m3=lost,
    )
