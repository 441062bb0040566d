"""A design's cost as a straight line in one price: of energy, or of one pump."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from optimizer.explore.changes import PUMP_PRICE
from optimizer.explore.point import ENERGY
from optimizer.formulate.pump_tables import energy_present_worth, pump_cost
from optimizer.job import Job
from optimizer.records.design import Design
from optimizer.records.zones import POWER_LINE

CENT = 0.01

LINES_ROUNDED = 3
"""Lines of the bill that a price moves at most, but for timed valves; each is whole cents."""


@dataclass(frozen=True)
class Line:
    """Cost against a price: ``fixed`` + ``per_price`` x price, in the site's currency.

    ``rounded`` amounts of the bill move with the price, each rounded to whole cents.
    """

    fixed: float
    per_price: float
    rounded: int = LINES_ROUNDED

    @property
    def rounding(self) -> float:
        """The most by which a bill may lie off the line."""
        return self.rounded * CENT

    def at(self, price: float) -> float:
        """Return the cost at a price."""
        return self.fixed + self.per_price * price

    def crosses(self, other: Line) -> float | None:
        """Return the price at which two lines cost the same, or None where they never part."""
        if self.per_price == other.per_price:
            return None
        return (other.fixed - self.fixed) / (self.per_price - other.per_price)


LineOf = Callable[[Design, Job], Line]


def energy_line(design: Design, job: Job) -> Line:
    """Return a design's cost against the price of energy: of its pump, and of timed valves.

    Of as many zones as there are one has its turn, and draws power at its valves.
    """
    at_one = replace(job.site.goals, energy_price_per_kwh=1.0)
    zones, watts, valves = design.zones, design.pump.duty_watts, 0
    if zones is not None:
        valves = len(zones.valves)
        watts += valves * zones.valve_watts / len(zones.zones)
    moved = _cents(design, ENERGY) + _cents(design, POWER_LINE)
    return Line(
        (design.record.cost_cents - moved) / 100.0,
        watts * energy_present_worth(at_one),
        LINES_ROUNDED + valves,
    )


def pump_line(pump: str) -> LineOf:
    """Return how a design's cost goes against the price of one pump."""

    def line(design: Design, job: Job) -> Line:
        total = design.record.cost_cents
        if design.pump.id != pump:
            return Line(total / 100.0, 0.0)
        part = job.catalog.pumps[pump]
        at_one = pump_cost(replace(part, price=1.0), design.pump.count, job.site)
        return Line((total - _cents(design, "pump")) / 100.0, sum(at_one))

    return line


def line_of(name: str) -> LineOf:
    """Return the line for a change that is a price.

    Raises:
        KeyError: for a change that costs do not follow in a straight line.
    """
    if name.startswith(PUMP_PRICE):
        return pump_line(name.removeprefix(PUMP_PRICE))
    return {"energy_price": energy_line}[name]


def _cents(design: Design, what: str) -> int:
    return sum(line.cents for line in design.costs if line.what.startswith(what))
