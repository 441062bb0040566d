"""The timed valves and the timer of zones that flood in turn, and what they cost."""

from __future__ import annotations

from optimizer.candidates.zones import TIMED_VALVE
from optimizer.formulate.fittings_price import cents
from optimizer.formulate.pump_tables import energy_present_worth
from optimizer.records.network import Stretch
from optimizer.records.parts import Catalog, FittingPrices, Pipe, Timer
from optimizer.records.site import Site


def is_valved(stretch: Stretch) -> bool:
    """Return whether a timed valve stands at the beginning of a stretch."""
    return any(name == TIMED_VALVE for name, _ in stretch.fittings)


def timed_valve_cents(pipe: Pipe, prices: FittingPrices) -> int | None:
    """Return the price of a timed valve in a pipe's size; None where none is sold."""
    price = prices.get((TIMED_VALVE, pipe.series, pipe.nominal))
    return None if price is None else cents(price)


def valve_power_cents(site: Site) -> int:
    """Return the present worth of what one timed valve draws, open in one turn of each rotation."""
    zones = site.zones
    if zones is None or not zones.groups:
        return 0
    watts = zones.valve_watts / len(zones.groups)
    return cents(watts * energy_present_worth(site.goals))


def timer_of(site: Site, catalog: Catalog) -> Timer | None:
    """Return the cheapest timer with enough stations; None without zones."""
    zones = site.zones
    if zones is None or not zones.groups:
        return None
    able = [t for t in catalog.timers.values() if t.stations >= len(zones.groups)]
    return min(able, key=lambda t: (t.price, t.id))


def timer_cents(site: Site, catalog: Catalog) -> int:
    """Return the price of the timer; 0 without zones."""
    timer = timer_of(site, catalog)
    return 0 if timer is None else cents(timer.price)
