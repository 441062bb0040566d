"""Lifts of a site whose beds are fed from a tank, worked out again: pump, riser and overflow pipe.

Part of the oracle in ``enumerate_site``. Every pump, number, riser and overflow pipe is tried, none
left out as dearer; what a pump brings up is found by bisection.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from scipy.optimize import brentq

from optimizer.physics.laws import DarcyWeisbach
from optimizer.physics.overflow import overflow_capacity_m3_s
from optimizer.physics.pressure import pressure_pa, rating_at_temperature
from optimizer.physics.pump import PumpCurve
from optimizer.records.header_tank import TANK, TANK_RISER
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog, Pipe
from optimizer.records.site import Site
from tests.oracles.enumerate_beds import STEPS_PER_M3_S, cents
from tests.oracles.enumerate_plant import (
    Plant,
    allowed_pumps,
    bands,
    heard_too_long,
    pump_error,
    pump_money,
)

BOUGHT = ("strainer", "union", "non_return_valve", "bulkhead")


def source_of(site: Site) -> str:
    """The node that the beds are fed from."""
    return TANK if site.header_tank else "pump"


def over_outlet_m3(site: Site, catalog: Catalog) -> float:
    """Water over the tank's outlet, which comes down in a power cut."""
    tank = site.header_tank
    if tank is None:
        return 0.0
    area = catalog.sumps[tank.part].area_m2 if tank.part else tank.surface_m2
    return area * tank.outlet_below_water_m


def lifts(
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    flow_steps: int,
    lowest_drain_m: float,
) -> Iterator[Plant]:
    """Every way to fill the tank with more than the beds take."""
    riser = next(s for s in network.stretches if s.id == TANK_RISER)
    every_band = bands(site, catalog, lowest_drain_m)
    if not every_band:
        return
    highest = max(top for _, top in every_band)
    head = site.header_tank.water_level_m - site.ground.sump_floor_level_m
    taken = flow_steps / STEPS_PER_M3_S
    taken *= (1.0 + site.goals.valve_setting_error) * (1.0 + site.goals.level_drift)
    off = pump_error(site.goals)
    for name in sorted(allowed_pumps(site, catalog, lowest_drain_m)):
        pump = catalog.pumps[name]
        for count in range(1, site.purchase.pumps_in_parallel_most + 1):
            if heard_too_long(site, pump, count):
                continue
            weak, usual, strong = (
                PumpCurve(
                    pump.flows_m3_s, tuple(share * h for h in pump.heads_m), pump.watts, count
                )
                for share in (1.0 - off, 1.0, 1.0 + off)
            )
            for pipe, standing in _risers(site, catalog):
                most = _brought(site, catalog, riser, pipe, strong, highest)
                if most is None or not _bears(site, pipe, usual, most, highest):
                    continue
                overflows = list(_overflows(site, catalog, riser, most))
                for low, high in every_band:
                    least = _brought(site, catalog, riser, pipe, weak, low)
                    middle = _brought(site, catalog, riser, pipe, usual, (low + high) / 2.0)
                    if least is None or middle is None or least < taken:
                        continue
                    if middle < _turnover_m3_s(site):
                        continue
                    first, later, energy = pump_money(site, pump, count, usual, middle)
                    for down, down_cents, down_pipe in overflows:
                        up, up_pipe = (0, 0) if standing else _price(catalog, riser, pipe, False)
                        laid = Counter({} if standing else {pipe.id: up_pipe})
                        laid.update({down.id: down_pipe})
                        yield Plant(
                            (low, high), head, head, 0.0,
                            first + later + energy + up + down_cents,
                            head, later + energy, dict(laid),
                        )  # fmt: skip


def _risers(site: Site, catalog: Catalog) -> Iterator[tuple[Pipe, bool]]:
    laid = {each.pipe for each in site.standing.pipes if each.run == "riser"}
    wanted = set(site.purchase.pipes)
    for pipe in catalog.pipes.values():
        sold = pipe.series == site.purchase.pipe_series and (not wanted or pipe.id in wanted)
        if sold or pipe.id in laid:
            yield pipe, pipe.id in laid


def _brought(
    site: Site,
    catalog: Catalog,
    riser: Stretch,
    pipe: Pipe,
    curve: PumpCurve,
    sump_m: float,
) -> float | None:
    """What a pump brings up; None where it brings nothing or its curve ends before."""
    local = sum(n * catalog.losses[kind].value for kind, n in riser.fittings)
    law = DarcyWeisbach(pipe.roughness_m, site.goals.water_temperature_c)
    rise = riser.points[-1][2] - site.ground.sump_floor_level_m - sump_m

    def over(flow: float) -> float:
        lost = law.head_loss_m(flow, riser.length_m, pipe.bore_m, local)
        return float(curve.head_m(flow)) - rise - float(lost)

    if over(0.0) <= 0.0 or over(curve.end_flow_m3_s) > 0.0:
        return None
    return brentq(over, 0.0, curve.end_flow_m3_s, xtol=1e-15)


def _bears(site: Site, pipe: Pipe, curve: PumpCurve, flow: float, highest_m: float) -> bool:
    area = 3.141592653589793 / 4.0 * pipe.bore_m**2
    warm = site.goals.water_temperature_c
    rating = rating_at_temperature(pipe.rating_pa, pipe.material, warm) / pressure_pa(1.0, warm)
    at_rest = float(curve.head_m(0.0)) + highest_m
    return flow / area <= site.goals.velocity_limit_m_s and rating >= at_rest


def _overflows(
    site: Site, catalog: Catalog, riser: Stretch, flow: float
) -> Iterator[tuple[Pipe, int, int]]:
    series = site.returns.pipe_series or site.purchase.pipe_series
    fall = site.header_tank.water_level_m - riser.points[1][2]
    for pipe in catalog.pipes.values():
        if pipe.series != series:
            continue
        slope = fall / riser.length_m
        if overflow_capacity_m3_s(pipe.bore_m, slope, site.returns.manning_n) >= flow:
            yield pipe, *_price(catalog, riser, pipe, True)


def _price(catalog: Catalog, riser: Stretch, pipe: Pipe, down: bool) -> tuple[int, int]:
    """Cents of a pipe beside the riser, fittings included, and of its metres alone."""
    counts = {kind: n for kind, n in riser.fittings if kind.startswith("elbow")}
    if down:
        counts["bulkhead"] = 1
    else:
        counts |= {kind: n for kind, n in riser.fittings if kind in BOUGHT}
    parts = sum(
        n * min(f.price for f in catalog.fittings.values()
                if (f.kind, f.series, f.nominal) == (kind, pipe.series, pipe.nominal))
        for kind, n in counts.items()
    )  # fmt: skip
    metres = cents(pipe.price_per_m * riser.length_m)
    return metres + cents(parts), metres


def _turnover_m3_s(site: Site) -> float:
    fish = site.fish_tank if site.fish_feed_beds else None
    return fish.turnovers_per_hour_least * fish.volume_m3 / 3600.0 if fish else 0.0
