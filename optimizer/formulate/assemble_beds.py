"""The built beds of a chosen design, each with its valve's setting."""

from __future__ import annotations

from optimizer.formulate.assembly import Assembly
from optimizer.formulate.stretch_ways import fittings_loss
from optimizer.physics.pipe import bore_area_m2, head_loss_m
from optimizer.physics.valve import opening_for_loss
from optimizer.physics.water import GRAVITY
from optimizer.records.design import BUCKET_M3, Bed
from optimizer.records.network import Position


def built_bed(a: Assembly, position: Position) -> Bed:
    """Return the bed built at a position, its valve set with the sump at the setting level."""
    row = a.rows[position.row]
    kind = a.candidate_of_row[position.row].kind
    each = a.laid[f"drop {position.id}"]
    valve, pipe = each.way.valve, each.way.pipe
    outlet_m = each.load.duty.outlet_level_m
    assert valve is not None and outlet_m is not None, "every drop has a valve and an outlet"
    lost = head_loss_m(
        kind.inflow_m3_s,
        each.load.length_m,
        pipe.bore_m,
        pipe.roughness_m,
        a.site.goals.water_temperature_c,
        fittings_loss(each.stretch, a.catalog),
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
        standing=position.index <= row.standing_beds,
        siphon_standing=kind.siphon_stands and position.index <= row.standing_beds,
        valve_standing=each.way.valve_standing,
    )


def _drain_under(a: Assembly, position: Position) -> str:
    """Return the return stretch a bed's siphon ends over, or nothing where none is designed."""
    into = next(s for s in a.network.stretches if s.head == position.take_off)
    return f"return {into.id}" if f"return {into.id}" in a.choice.drains else ""
