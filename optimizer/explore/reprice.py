"""What a design that stands would cost at other prices: its own bill, line by line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimizer.explore.point import ENERGY, REPLACEMENTS
from optimizer.formulate.fittings_price import cents
from optimizer.formulate.pump_tables import energy_present_worth, pump_cost
from optimizer.job import Job
from optimizer.records.design import CostLine, Design
from optimizer.records.zones import POWER_LINE

PIPE, RETURN_PIPE = "pipe ", "return pipe "
PUMP, SUMP = "pump: ", "sump: "


def repriced(design: Design, job: Job) -> Design:
    """Return a design with its bill at a job's prices of pipe, pump, sump, energy and money.

    The parts stay. Each line is rounded to a cent just as when it was designed, so that at the
    prices it was designed at every line stays as it is. Lines of other parts (beds, kits, fittings,
    valves, work) stay as they are; no change of a study moves them.

    Args:
        design: the design.
        job: site and catalog with the prices; it knows every part of the design.

    Raises:
        KeyError: if the catalog lacks a part of the design.
    """
    pipes = _Pipes.of(design, job)
    costs = tuple(_line(line, design, job, pipes) for line in design.costs)
    goals = job.site.goals
    record = replace(design.record, cost_cents=sum(line.cents for line in costs))
    return replace(
        design, costs=costs, energy_price_per_kwh=goals.energy_price_per_kwh, record=record
    )


@dataclass(frozen=True)
class _Pipes:
    """Cents of pipe by catalog id, as laid in the supply and in the return."""

    supply: Mapping[str, int]
    returns: Mapping[str, int]

    @staticmethod
    def of(design: Design, job: Job) -> _Pipes:
        supply = [(s.pipe, s.length_m) for s in design.stretches if not s.standing]
        returns = [(drain.pipe, drain.length_m) for drain in design.drains if not drain.standing]
        return _Pipes(_summed(supply, job), _summed(returns, job))


def _summed(laid: list[tuple[str, float]], job: Job) -> dict[str, int]:
    money: dict[str, int] = {}
    for pipe, length_m in laid:
        price = cents(length_m * job.catalog.pipes[pipe].price_per_m)
        money[pipe] = money.get(pipe, 0) + price
    return money


def _line(line: CostLine, design: Design, job: Job, pipes: _Pipes) -> CostLine:
    what, pump = line.what, design.pump
    if what.startswith(RETURN_PIPE):
        return replace(line, cents=pipes.returns[line.part])
    if what.startswith(PIPE):
        return replace(line, cents=pipes.supply[line.part])
    if what.startswith(SUMP):
        return replace(line, cents=_sump_cents(design, job))
    if what.startswith((PUMP, REPLACEMENTS)):
        first, later = pump_cost(job.catalog.pumps[pump.id], pump.count, job.site)
        return replace(line, cents=cents(first if what.startswith(PUMP) else later))
    if what in (ENERGY, POWER_LINE):
        worth = _pump_energy_cents if what == ENERGY else _valve_power_cents
        years = job.site.goals.planning_years
        return replace(line, quantity=years, cents=worth(design, job))
    return line


def _pump_energy_cents(design: Design, job: Job) -> int:
    return cents(design.pump.duty_watts * energy_present_worth(job.site.goals))


def _valve_power_cents(design: Design, job: Job) -> int:
    """Return what timed valves draw, each rounded apart, open in one turn of each rotation."""
    zones = design.zones
    assert zones is not None  # only they have timed valves
    watts = zones.valve_watts / len(zones.zones)
    return len(zones.valves) * cents(watts * energy_present_worth(job.site.goals))


def _sump_cents(design: Design, job: Job) -> int:
    sump, standing = design.sump, job.site.standing
    there = standing.sump_count if standing.sump == sump.id else 0
    return cents(job.catalog.sumps[sump.id].price) * max(0, sump.count - there)
