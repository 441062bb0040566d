"""The zones of a chosen design: their turns, timed valves, timer, and what they cost."""

from __future__ import annotations

from optimizer.formulate.assembly import Assembly
from optimizer.formulate.fittings_price import cents
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.pump_tables import energy_kwh_per_year
from optimizer.formulate.turns import turn_at
from optimizer.formulate.zone_parts import (
    is_valved,
    timed_valve_cents,
    timer_of,
    valve_power_cents,
)
from optimizer.records.design import CostLine
from optimizer.records.zones import POWER_LINE, BuiltZone, BuiltZones, TimedValve


def built_zones(a: Assembly) -> BuiltZones | None:
    """Return the zones as built; None where every bed has water at all times."""
    zones, timer = a.site.zones, timer_of(a.site, a.catalog)
    turn = turn_at(zones, a.site.goals.floods_per_hour_least)
    if zones is None or timer is None or turn is None:
        return None
    valves = timed_valves(a)
    watts = len(valves) * zones.valve_watts / len(zones.groups)
    return BuiltZones(
        turn_s=turn.rotation_s / len(zones.groups),
        change_s=zones.change_s,
        floods=zones.floods,
        zones=tuple(_zone(a, zone.id, zone.branches) for zone in a.problem.zones),
        valves=valves,
        timer=timer.id,
        timer_label=timer.label,
        stations=timer.stations,
        valve_watts=zones.valve_watts,
        valves_kwh_per_year=energy_kwh_per_year(watts, a.site.goals),
    )


def _zone(a: Assembly, name: str, rows: tuple[str, ...]) -> BuiltZone:
    flow_m3_s = a.flow_steps[name] * FLOW_STEP_M3_S
    built = {plan.branch for plan, _ in a.plans}
    return BuiltZone(
        id=name,
        rows=tuple(row for row in rows if row in built),
        flow_m3_s=flow_m3_s,
        head_m=a.head_of_pump_m(a.flow_steps[name]),
        watts=float(a.curve.watts_at(flow_m3_s)),
    )


def timed_valves(a: Assembly) -> tuple[TimedValve, ...]:
    """Return every timed valve, at the beginning of the built pipe that only its zone has."""
    below: dict[str, str] = {}
    into = {each.stretch.head: name for name, each in a.laid.items()}
    for zone in a.problem.zones:
        for each in a.laid.values():
            if each.stretch.kind == "drop" and each.stretch.row in zone.branches:
                at: str | None = each.stretch.id
                while at is not None:
                    below.setdefault(at, zone.id)
                    at = into.get(a.laid[at].stretch.tail)
    return tuple(
        TimedValve(name, below[name], each.way.pipe.nominal)
        for name, each in a.laid.items()
        if is_valved(each.stretch)
    )


def zone_lines(a: Assembly) -> list[CostLine]:
    """Return the cost lines of timed valves, their power and the timer; none without zones."""
    timer = timer_of(a.site, a.catalog)
    if timer is None:
        return []
    prices = a.catalog.fitting_prices
    found: dict[str, list[int]] = {}
    for each in a.laid.values():
        if is_valved(each.stretch):
            price = timed_valve_cents(each.way.pipe, prices)
            found.setdefault(each.way.pipe.id, []).append(price or 0)
    pipes = sorted(found, key=lambda name: a.catalog.pipes[name].bore_m)
    count = sum(map(len, found.values()))
    years, power = a.site.goals.planning_years, count * valve_power_cents(a.site)
    return [
        *(
            CostLine(
                "capital",
                f"timed valves {a.catalog.pipes[name].nominal}",
                name,
                len(found[name]),
                "piece",
                sum(found[name]),
            )
            for name in pipes
        ),
        CostLine("capital", timer.label, timer.id, 1.0, "piece", cents(timer.price)),
        CostLine("running", POWER_LINE, "power", years, "year", power),
    ]
