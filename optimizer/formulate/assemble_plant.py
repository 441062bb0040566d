"""Pump, sump and fish tank of a chosen design."""

from __future__ import annotations

import math
from collections.abc import Sequence

from optimizer.formulate.assembly import Assembly
from optimizer.formulate.held import held_m3
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.sump_tables import above_outlet_m3, drain_back_share
from optimizer.physics.fish import feed_supported_kg_per_day, turnover_per_hour
from optimizer.records.design import BuiltPump, BuiltStretch, BuiltSump
from optimizer.records.fish_tank import BuiltFishTank
from optimizer.records.header_tank import TANK_RISER


def duty_watts(a: Assembly) -> float:
    """Return what the running pumps draw at the set total flow."""
    return float(a.curve.watts_at(pumped_m3_s(a)))


def pumped_m3_s(a: Assembly) -> float:
    """Return what the pumps move at the setting level: what the beds take, or fills the tank."""
    return a.duty.flow_steps * FLOW_STEP_M3_S if a.tank is None else a.tank.flow_m3_s


def _duty_head_m(a: Assembly) -> float:
    """Return the head the pumps add at the setting level."""
    if a.tank is None:
        return a.pump_head_m
    return float(a.tank.lift.curve.head_m(a.tank.flow_m3_s))


def built_pump(a: Assembly, watts: float) -> BuiltPump:
    """Return the chosen pump at its duty."""
    pump = a.catalog.pumps[a.pump.pump]
    return BuiltPump(
        id=pump.id,
        label=pump.label,
        count=a.pump.count,
        spares=int(a.site.purchase.spare_pump),
        flows_m3_s=pump.flows_m3_s,
        heads_m=pump.heads_m,
        watts=pump.watts,
        submergence_m=pump.submergence_m,
        duty_flow_m3_s=pumped_m3_s(a),
        duty_head_m=_duty_head_m(a),
        duty_watts=watts,
        standing=a.site.standing.pump == pump.id,
        there=a.site.standing.pump_count if a.site.standing.pump == pump.id else 0,
        noise_db=pump.noise_db,
    )


def built_sump(a: Assembly, stretches: Sequence[BuiltStretch]) -> BuiltSump:
    """Return the sump, filled so that the running levels lie evenly about the setting level."""
    pipes_m3 = sum(s.volume_m3 for s in stretches)
    sump = a.catalog.sumps[a.sump.sump]
    area = sump.area_m2 * a.sump.count
    lost = math.fsum(plan.lost_m3 for plan, _ in a.plans)
    swing = held_m3(a.plans, a.site.returns) + lost
    setting = a.setting_m
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
        power_cut_m=highest + _runs_down_m3(a, stretches) / area,
        fill_m3=highest * area + pipes_m3 + (0.0 if a.tank is None else a.tank.water_m3),
        standing=a.site.standing.sump == sump.id,
        there=a.site.standing.sump_count if a.site.standing.sump == sump.id else 0,
        lost_m3=lost,
    )


def _runs_down_m3(a: Assembly, stretches: Sequence[BuiltStretch]) -> float:
    """Return the water that comes down in a power cut: of the pipes, and over a tank's outlet."""
    share = drain_back_share(a.site)
    if a.tank is None:
        return share * sum(s.volume_m3 for s in stretches)
    below = sum(s.volume_m3 for s in stretches if s.id != TANK_RISER)
    return share * below + above_outlet_m3(a.tank.tank, a.catalog)


def built_fish_tank(a: Assembly) -> BuiltFishTank | None:
    """Return the site's fish tank with what the design gives it."""
    tank = a.site.fish_tank
    if tank is None:
        return None
    area = math.fsum(plan.area_m2 for plan, _ in a.plans)
    flow = pumped_m3_s(a)
    return BuiltFishTank(
        volume_m3=tank.volume_m3,
        water_level_m=tank.water_level_m,
        turnovers_per_hour=turnover_per_hour(flow, tank.volume_m3),
        turnovers_per_hour_least=tank.turnovers_per_hour_least,
        feed_kg_per_day=tank.feed_kg_per_day,
        feed_supported_kg_per_day=feed_supported_kg_per_day(area, tank.crop),
        crop=tank.crop,
        feeds_beds=a.site.fish_feed_beds,
    )
