"""Pump, sump and fish tank of a chosen design."""

from __future__ import annotations

import math

from optimizer.formulate.assembly import Assembly
from optimizer.formulate.bed_options import FLOW_STEP_M3_S
from optimizer.formulate.held import held_m3
from optimizer.physics.fish import feed_supported_kg_per_day, turnover_per_hour
from optimizer.physics.pump import PumpCurve
from optimizer.records.design import BuiltPump, BuiltSump
from optimizer.records.fish_tank import BuiltFishTank


def duty_watts(a: Assembly) -> float:
    """Return what the running pumps draw at the set total flow."""
    pump = a.catalog.pumps[a.pump.pump]
    curve = PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts, a.pump.count)
    return float(curve.watts_at(a.duty.flow_steps * FLOW_STEP_M3_S))


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
        duty_flow_m3_s=a.duty.flow_steps * FLOW_STEP_M3_S,
        duty_head_m=a.pump_head_m,
        duty_watts=watts,
        standing=a.site.standing.pump == pump.id,
        there=a.site.standing.pump_count if a.site.standing.pump == pump.id else 0,
    )


def built_sump(a: Assembly, pipes_m3: float) -> BuiltSump:
    """Return the sump, filled so that the running levels lie evenly about the setting level."""
    sump = a.catalog.sumps[a.sump.sump]
    area = sump.area_m2 * a.sump.count
    lost = math.fsum(plan.lost_m3 for plan, _ in a.plans)
    swing = held_m3(a.plans, a.site.returns) + lost
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
        there=a.site.standing.sump_count if a.site.standing.sump == sump.id else 0,
        lost_m3=lost,
    )


def built_fish_tank(a: Assembly) -> BuiltFishTank | None:
    """Return the site's fish tank with what the design gives it."""
    tank = a.site.fish_tank
    if tank is None:
        return None
    area = math.fsum(plan.area_m2 for plan, _ in a.plans)
    flow = a.duty.flow_steps * FLOW_STEP_M3_S
    return BuiltFishTank(
        volume_m3=tank.volume_m3,
        water_level_m=tank.water_level_m,
        turnovers_per_hour=turnover_per_hour(flow, tank.volume_m3),
        turnovers_per_hour_least=tank.turnovers_per_hour_least,
        feed_kg_per_day=tank.feed_kg_per_day,
        feed_supported_kg_per_day=feed_supported_kg_per_day(area, tank.crop),
        crop=tank.crop,
    )
