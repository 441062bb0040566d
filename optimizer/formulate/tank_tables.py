"""Beds fed by gravity from a tank: every pump with every riser, and what it brings up.

The tank's level is held by its overflow, so the beds' inflows depend on nothing below it: the tank
is the source of the supply tree, at its level, whatever the pump does, as long as the pump brings
more than the beds take. What it brings follows from the pump's curve and the riser alone
(:mod:`optimizer.formulate.tank_lifting`). A pump with a riser is therefore one pump option, with
its cost and its watts, and the program itself is that of a site fed by the pump directly.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from optimizer.formulate.fittings_price import (
    cents,
    laying_price_per_m,
    parts_price,
)
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.kept import Kept
from optimizer.formulate.overflow_ways import overflow_cents, overflow_pipes
from optimizer.formulate.pump_tables import (
    PumpTables,
    curve_of,
    energy_present_worth,
    loud_hours,
    may_run,
    pump_cost,
)
from optimizer.formulate.stretch_ways import (
    BuildWay,
    build_ways,
    change_cents,
    parts_in,
    rating_head_m,
)
from optimizer.formulate.tank_lifting import Risers
from optimizer.formulate.tank_rivals import Offer, unbeaten
from optimizer.physics.arrays import Array
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.pump import PumpCurve
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog, Pipe, Pump
from optimizer.records.problem import LevelBand, PumpDuty, PumpOption
from optimizer.records.site import Site


@dataclass(frozen=True)
class Lift:
    """A number of pumps with a riser to the tank and the overflow pipe that goes with them.

    ``weak`` and ``strong`` are the curves of pumps as far off theirs as is allowed for.
    ``greatest_m3_s`` is what strong ones bring with the sump at the highest level of any band.
    """

    option: PumpOption
    curve: PumpCurve
    weak: PumpCurve
    strong: PumpCurve
    riser: BuildWay
    overflow: Pipe
    greatest_m3_s: float


@dataclass(frozen=True)
class TankTables:
    """Pump options with their duties, and by option id the lift that each stands for."""

    pumps: PumpTables
    lifts: Mapping[str, Lift]


def tank_tables(
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    pumps: Sequence[Pump],
    bands: Sequence[LevelBand],
    flows: Sequence[int],
) -> TankTables:
    """Return every pump with every riser that brings the tank more than the beds may take.

    One that another beats at every duty is left out (:func:`unbeaten`), and so is a pump whose
    curve ends before it meets the riser: nothing is known of it there.

    Args:
        site: a site with a tank that feeds its beds.
        catalog: the catalog.
        network: its candidate network.
        pumps: the pumps to choose from.
        bands: sump level bands.
        flows: total flows the beds can ask, in steps.
    """
    tank, stretch = site.header_tank, network.tank_riser
    if tank is None or stretch is None:
        raise ValueError("the site has no tank that feeds its beds")
    lifts: dict[str, Lift] = {}
    offers: list[Offer] = []
    for alike, least, usual in _lifts(site, catalog, stretch, pumps, bands):
        found = _duties(site, alike[0], bands, least, usual, flows)
        for lift in alike if found else ():
            lifts[lift.option.id] = lift
            own = tuple(replace(duty, pump=lift.option.id) for duty in found)
            offers.append(Offer(lift.option, own))
    kept = unbeaten(offers, site)
    tables = PumpTables(
        tuple(offer.option for offer in kept),
        tuple(duty for offer in kept for duty in offer.duties),
    )
    return TankTables(tables, {offer.option.id: lifts[offer.option.id] for offer in kept})


def riser_cents(stretch: Stretch, way: BuildWay, catalog: Catalog) -> tuple[int, int, int]:
    """Return the price of a riser's pipe, fittings and laying."""
    if way.standing:
        return (0, 0, 0)
    length = stretch.length_m
    return (
        cents(length * way.pipe.price_per_m),
        cents(parts_price(parts_in(stretch, False, 0), way.pipe, catalog.fitting_prices)),
        cents(length * laying_price_per_m(catalog)),
    )


def tank_cents(site: Site, catalog: Catalog) -> int:
    """Return the price of the tank that feeds the beds; 0 without one, or where it stands."""
    if site.standing.tank:
        return 0
    part = site.header_tank.part if site.header_tank else None
    return 0 if part is None else cents(catalog.sumps[part].price)


def _lifts(
    site: Site,
    catalog: Catalog,
    stretch: Stretch,
    pumps: Sequence[Pump],
    bands: Sequence[LevelBand],
) -> Iterator[tuple[list[Lift], Array, Array]]:
    """Yield each pump with each riser, and what it brings in each band: weak, and as it is."""
    ways, margin = build_ways(stretch, site, catalog), site.goals.pump_margin
    risers = Risers.of(site, catalog, stretch, ways)
    highest = max(band.high_m for band in bands)
    lows, middles = [b.low_m for b in bands], [(b.low_m + b.high_m) / 2.0 for b in bands]
    for pump in pumps:
        for count in range(1, site.purchase.pumps_in_parallel_most + 1):
            if not may_run(pump, count, site):
                continue
            weak, own, strong = (curve_of(pump, count, 1.0 + off) for off in (-margin, 0.0, margin))
            most = risers.brought_m3_s(strong, [highest])[:, 0].tolist()
            for number, (way, flow) in enumerate(zip(ways, most, strict=True)):
                if math.isnan(flow) or not _riser_bears(site, way, own, flow, highest):
                    continue
                curves = (weak, own, strong)
                if alike := _lifts_by(site, catalog, stretch, (pump, way, curves), flow):
                    least = risers.brought_m3_s(weak, lows)[number]
                    yield alike, least, risers.brought_m3_s(own, middles)[number]


def _lifts_by(
    site: Site,
    catalog: Catalog,
    stretch: Stretch,
    built: tuple[Pump, BuildWay, tuple[PumpCurve, PumpCurve, PumpCurve]],
    flow_m3_s: float,
) -> list[Lift]:
    """Return a pump with a riser and each overflow pipe worth laying for what it brings."""
    pump, way, (weak, curve, strong) = built
    first, later = (cents(price) for price in pump_cost(pump, curve.count, site))
    kept = Kept(site)
    work = change_cents(way, stretch.length_m, kept) + kept.other_pump_cents(pump.id)
    riser, found = riser_cents(stretch, way, catalog), []
    for overflow in overflow_pipes(site, catalog, stretch, flow_m3_s):
        down = overflow_cents(stretch, overflow, catalog, site)
        laid = Counter({} if way.standing else {way.pipe.id: riser[0]})
        laid.update({overflow.id: down[0]})
        option = PumpOption(
            id=f"{curve.count} x {pump.id} by {way.id} and {overflow.id}",
            pump=pump.id,
            count=curve.count,
            cost_cents=first + later + sum(riser) + sum(down) + work,
            shut_off_m=_head_m(site),
            later_cents=later,
            pipe_cents=dict(laid),
            loud_hours=loud_hours(pump, curve.count, site),
        )
        found.append(Lift(option, curve, weak, strong, way, overflow, flow_m3_s))
    return found


def _riser_bears(
    site: Site, way: BuildWay, curve: PumpCurve, flow_m3_s: float, highest_m: float
) -> bool:
    """Return whether a riser's speed and rating are kept, the pump at no flow."""
    speed = flow_m3_s / float(bore_area_m2(way.pipe.bore_m))
    warm = site.goals.water_temperature_c
    slow = speed <= site.goals.velocity_limit_m_s
    return slow and rating_head_m(way.pipe, warm) >= float(curve.head_m(0.0)) + highest_m


def _duties(
    site: Site,
    lift: Lift,
    bands: Sequence[LevelBand],
    least_m3_s: Array,
    usual_m3_s: Array,
    flows: Sequence[int],
) -> list[PumpDuty]:
    """Return the duties of a lift: where it brings more than the beds take, valves set too wide."""
    per_watt, duties = energy_present_worth(site.goals), []
    brought = zip(bands, least_m3_s.tolist(), usual_m3_s.tolist(), strict=True)
    for band, least, usual in brought:
        if math.isnan(least) or not usual >= _turnover_m3_s(site):
            continue
        running = cents(float(lift.curve.watts_at(usual)) * per_watt)
        most = least / ((1.0 + site.goals.valve_setting_error) * (1.0 + site.goals.level_drift))
        duties += [
            PumpDuty(lift.option.id, band.id, step, _head_m(site), running, 0.0)
            for step in flows
            if step <= math.floor(most / FLOW_STEP_M3_S)
        ]
    return duties


def _turnover_m3_s(site: Site) -> float:
    """Return the least flow through a fish tank that feeds the beds."""
    fish = site.fish_tank if site.fish_feed_beds else None
    return fish.turnovers_per_hour_least * fish.volume_m3 / 3600.0 if fish else 0.0


def _head_m(site: Site) -> float:
    """Return the head at the tank's outlet above the sump's floor: that of its water."""
    level = site.header_tank.water_level_m if site.header_tank else 0.0
    return level - site.ground.sump_floor_level_m
