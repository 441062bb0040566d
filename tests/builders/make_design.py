"""Build a small consistent Design by hand: invented beds, pump, sump and prices.

Every promise in it holds, so a test spoils one field with ``dataclasses.replace`` and sees what the
check or the report makes of that. Sizes are invented examples. Nothing here uses a solver.

The site: a sump at the origin, a riser, a header along x, rows along y.
Rows take turns between two kinds of bed ("broad" on a 1 in and "slim" on a 3/4 in standpipe).
Return pipe runs under the laterals and the header back to the sump, which is let into the ground as
deep as that asks for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from optimizer.physics.pump import PumpCurve
from optimizer.physics.valve import opening_for_loss
from optimizer.records.choice import SolveRecord
from optimizer.records.design import (
    Bed,
    BedKind,
    BuiltDrain,
    BuiltPump,
    BuiltStretch,
    BuiltSump,
    CostLine,
    Design,
)
from optimizer.records.near_miss import NearMiss
from optimizer.records.promise import Promise
from tests.builders.example_kinds import FLOODS_LEAST, GRAVITY, example_kind
from tests.builders.example_pipes import (
    BED_SPACING_M,
    OPEN_VALVE_LOSS,
    OUTLET_LEVEL_M,
    ROW_SPACING_M,
    example_stretches,
)
from tests.builders.example_returns import example_drains

VALVE_OPENINGS = (0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.8, 1.0)
VALVE_LOSSES = (30000.0, 5000.0, 1500.0, 350.0, 120.0, 17.3, 1.56, OPEN_VALVE_LOSS)
LIFT_AND_VALVE_M = 2.6
VALVE_LEAST_M = 1.0
SETTING_LEVEL_M = 0.4
HELD_DEPTH_M = 0.2
FLOOR_LEVEL_M = 0.62
SIPHON_OUTLET_LEVEL_M = 0.47
DRAIN_ABOVE_WATER_M = 0.05


def make_design() -> Design:
    """Four beds in two rows of two kinds, with return pipe."""
    return make_design_of(rows=2, beds_per_row=2)


def make_design_of(rows: int, beds_per_row: int) -> Design:
    """``rows`` rows of ``beds_per_row`` beds; rows take turns between the two kinds."""
    kinds = (example_kind("broad", 1.2, 0.02664, 2.0e-4), example_kind("slim", 0.8, 0.0209, 1.2e-4))
    return assemble(kinds, [(kinds[r % 2], beds_per_row) for r in range(rows)])


def assemble(kinds: Sequence[BedKind], rows: Sequence[tuple[BedKind, int]]) -> Design:
    """A design of the given rows, each a kind and a number of beds, sized so that all holds."""
    stretches = example_stretches(rows)
    drains = example_drains(stretches, _kind_of(rows), SIPHON_OUTLET_LEVEL_M)
    sump = _sump(rows, sum(s.volume_m3 for s in stretches), drains)
    heads = _losses_below_pump(stretches)
    need_m = max(heads[s.tail] + s.loss_m for s in stretches if s.kind == "drop")
    total = sum(kind.inflow_m3_s * count for kind, count in rows)
    setting_m = sump.floor_level_m + SETTING_LEVEL_M
    lift_m = OUTLET_LEVEL_M - setting_m
    pump = _pump(total, need_m + max(LIFT_AND_VALVE_M, lift_m + VALVE_LEAST_M))
    outlet_head = pump.duty_head_m + setting_m
    beds = _beds(rows, stretches, {n: outlet_head - loss for n, loss in heads.items()})
    costs = _costs(len(beds), pump)
    cents = sum(line.cents for line in costs)
    return Design(
        site="Example yard",
        currency="EUR",
        units="metric",
        promise=Promise(FLOODS_LEAST, None, "most", 0.07, 0.08, 1.5, 20.0, 1.0, 24.0),
        kinds=tuple(kinds),
        beds=beds,
        stretches=stretches,
        pump=pump,
        sump=sump,
        costs=costs,
        energy_kwh_per_year=pump.duty_watts * 24.0 * 365.0 / 1000.0,
        energy_price_per_kwh=0.30,
        record=SolveRecord("composed", "optimal", cents, float(cents), 0.0),
        near_misses=(NearMiss("next pump", 4200, "one size larger (example)"),),
        notes=("Every price here is an invented example.",),
        drains=drains,
    )


def _kind_of(rows: Sequence[tuple[BedKind, int]]) -> Mapping[str, BedKind]:
    return {
        f"bed_{r}_{i}": kind
        for r, (kind, count) in enumerate(rows, start=1)
        for i in range(1, count + 1)
    }


def _losses_below_pump(stretches: Sequence[BuiltStretch]) -> dict[str, float]:
    losses = {"pump": 0.0}
    for s in stretches:
        if s.kind != "drop":
            losses[s.head] = losses[s.tail] + s.loss_m
    return losses


def _pump(duty_flow_m3_s: float, duty_head_m: float) -> BuiltPump:
    flows = tuple(duty_flow_m3_s * share for share in (0.0, 0.5, 1.0, 1.5, 2.0))
    heads = tuple(duty_head_m * share for share in (1.30, 1.20, 1.0, 0.66, 0.20))
    duty_watts = 998.0 * GRAVITY * duty_flow_m3_s * duty_head_m / 0.30
    watts = tuple(duty_watts * share for share in (0.70, 0.88, 1.0, 1.06, 1.04))
    curve = PumpCurve(flows, heads, watts)
    return BuiltPump(
        id="pump_example",
        label="Example pump",
        count=1,
        spares=0,
        flows_m3_s=flows,
        heads_m=heads,
        watts=watts,
        submergence_m=0.10,
        duty_flow_m3_s=duty_flow_m3_s,
        duty_head_m=duty_head_m,
        duty_watts=float(curve.watts_at(duty_flow_m3_s)),
        standing=False,
    )


def _beds(
    rows: Sequence[tuple[BedKind, int]],
    stretches: Sequence[BuiltStretch],
    heads_m: dict[str, float],
) -> tuple[Bed, ...]:
    drops = {s.head: s for s in stretches if s.kind == "drop"}
    return tuple(
        _bed(r, i, kind, drops[f"bed_{r}_{i}"], heads_m)
        for r, (kind, count) in enumerate(rows, start=1)
        for i in range(1, count + 1)
    )


def _bed(row: int, i: int, kind: BedKind, drop: BuiltStretch, heads_m: dict[str, float]) -> Bed:
    velocity = kind.inflow_m3_s / (math.pi / 4.0 * drop.bore_m**2)
    spare_m = heads_m[drop.tail] - OUTLET_LEVEL_M - drop.loss_m
    valve_head_m = spare_m + OPEN_VALVE_LOSS * velocity**2 / (2.0 * GRAVITY)
    loss = valve_head_m * 2.0 * GRAVITY / velocity**2
    return Bed(
        id=drop.head,
        row=f"{row}",
        kind=kind.id,
        x_m=ROW_SPACING_M * row,
        y_m=BED_SPACING_M * i,
        along=(0.0, 1.0),
        floor_level_m=FLOOR_LEVEL_M,
        outlet_level_m=OUTLET_LEVEL_M,
        drop=drop.id,
        valve="ball_valve",
        valve_label="Example ball valve",
        valve_bore_m=drop.bore_m,
        valve_openings=VALVE_OPENINGS,
        valve_losses=VALVE_LOSSES,
        valve_head_m=valve_head_m,
        valve_opening=float(opening_for_loss(loss, VALVE_OPENINGS, VALVE_LOSSES)),
        bucket_s=0.010 / kind.inflow_m3_s,
        siphon_outlet_level_m=SIPHON_OUTLET_LEVEL_M,
        drain=f"return lateral_{row}_{i}",
    )


def _sump(
    rows: Sequence[tuple[BedKind, int]], pipes_m3: float, drains: Sequence[BuiltDrain]
) -> BuiltSump:
    """A sump whose water after a power cut stands a little below the end of the return pipe."""
    held_m3 = sum(kind.held_m3 * count for kind, count in rows)
    area_m2 = held_m3 / HELD_DEPTH_M
    highest_m = SETTING_LEVEL_M + HELD_DEPTH_M / 2.0
    power_cut_m = highest_m + pipes_m3 / area_m2
    end_m = min(drain.lower_invert_m for drain in drains)
    return BuiltSump(
        id="sump_example",
        label="Example sump",
        count=1,
        area_m2=area_m2,
        depth_m=0.8,
        freeboard_m=0.05,
        floor_level_m=end_m - DRAIN_ABOVE_WATER_M - power_cut_m,
        x_m=0.0,
        y_m=0.0,
        setting_m=SETTING_LEVEL_M,
        lowest_m=SETTING_LEVEL_M - HELD_DEPTH_M / 2.0,
        highest_m=highest_m,
        power_cut_m=power_cut_m,
        fill_m3=highest_m * area_m2 + pipes_m3,
        standing=False,
    )


def _costs(beds: int, pump: BuiltPump) -> tuple[CostLine, ...]:
    energy_cents = round(pump.duty_watts * 8.76 * 0.30 * 7.72 * 100)
    return (
        CostLine("capital", "Beds", "tray", float(beds), "piece", 9000 * beds),
        CostLine("capital", "Siphon kits", "kit", float(beds), "piece", 2400 * beds),
        CostLine("capital", "Pump", pump.id, 1.0, "piece", 12900),
        CostLine("capital", "Sump", "sump_example", 1.0, "piece", 8900),
        CostLine("running", "Energy", pump.id, 10.0, "year", energy_cents),
    )
