"""What a design that stands would cost at other prices: its own bill, line by line."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from optimizer.explore.point import ENERGY, REPLACEMENTS
from optimizer.formulate.fittings_price import cents
from optimizer.formulate.pump_tables import energy_present_worth, pump_cost
from optimizer.formulate.tank_tables import tank_cents
from optimizer.job import Job
from optimizer.records.design import BuiltDrain, BuiltStretch, CostLine, Design
from optimizer.records.zones import POWER_LINE


def repriced(design: Design, job: Job) -> Design:
    """Return a design with its bill at a job's prices of pipe, pump, tanks, energy and money.

    The parts stay. Each line is rounded to a cent just as when it was designed, so that at the
    prices it was designed at every line stays as it is. Lines of other parts (beds, kits, fittings,
    valves, work) stay as they are; no change of a study moves them.

    Args:
        design: the design.
        job: site and catalog with the prices; it knows every part of the design.

    Raises:
        KeyError: if the catalog lacks a part of the design.
    """
    costs = tuple(_line(line, design, job) for line in design.costs)
    goals = job.site.goals
    record = replace(design.record, cost_cents=sum(line.cents for line in costs))
    return replace(
        design, costs=costs, energy_price_per_kwh=goals.energy_price_per_kwh, record=record
    )


def _line(line: CostLine, design: Design, job: Job) -> CostLine:
    priced = next((price for begins, price in PRICED.items() if line.what.startswith(begins)), None)
    if priced is None:
        return line
    over_years = line.what in (ENERGY, POWER_LINE)
    quantity = job.site.goals.planning_years if over_years else line.quantity
    return replace(line, quantity=quantity, cents=priced(line, design, job))


def _supply_pipe(line: CostLine, design: Design, job: Job) -> int:
    return _laid(line, design.stretches, job)


def _return_pipe(line: CostLine, design: Design, job: Job) -> int:
    return _laid(line, design.drains, job)


def _laid(line: CostLine, pipes: Iterable[BuiltStretch | BuiltDrain], job: Job) -> int:
    """Return what all pipe of a line's size costs, each stretch rounded apart."""
    price = job.catalog.pipes[line.part].price_per_m
    laid = (each for each in pipes if each.pipe == line.part and not each.standing)
    return sum(cents(each.length_m * price) for each in laid)


def _overflow_pipe(line: CostLine, _: Design, job: Job) -> int:
    """Return what a tank's overflow pipe costs; nothing where it stands."""
    if line.part == job.site.standing.overflow:
        return 0
    return cents(line.quantity * job.catalog.pipes[line.part].price_per_m)


def _tank(_line: CostLine, _design: Design, job: Job) -> int:
    return tank_cents(job.site, job.catalog)


def _sump(_: CostLine, design: Design, job: Job) -> int:
    sump, standing = design.sump, job.site.standing
    there = standing.sump_count if standing.sump == sump.id else 0
    return cents(job.catalog.sumps[sump.id].price) * max(0, sump.count - there)


def _pump(_: CostLine, design: Design, job: Job) -> int:
    return cents(pump_cost(job.catalog.pumps[design.pump.id], design.pump.count, job.site)[0])


def _later_pumps(_: CostLine, design: Design, job: Job) -> int:
    return cents(pump_cost(job.catalog.pumps[design.pump.id], design.pump.count, job.site)[1])


def _pump_energy(_: CostLine, design: Design, job: Job) -> int:
    return cents(design.pump.duty_watts * energy_present_worth(job.site.goals))


def _valve_power(_: CostLine, design: Design, job: Job) -> int:
    """Return what timed valves draw, each rounded apart, open in one turn of each rotation."""
    zones = design.zones
    assert zones is not None  # only they have timed valves
    watts = zones.valve_watts / len(zones.zones)
    return len(zones.valves) * cents(watts * energy_present_worth(job.site.goals))


PRICED: dict[str, Callable[[CostLine, Design, Job], int]] = {
    "pipe ": _supply_pipe,
    "return pipe ": _return_pipe,
    "overflow pipe ": _overflow_pipe,
    "header tank: ": _tank,
    "sump: ": _sump,
    "pump: ": _pump,
    REPLACEMENTS: _later_pumps,
    ENERGY: _pump_energy,
    POWER_LINE: _valve_power,
}
"""How a line of the bill begins, and what it comes to in cents."""
