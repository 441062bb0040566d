"""Pumps, level bands and sumps of a site worked out again, one at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from scipy.optimize import brentq

from optimizer.physics.drift import GREATEST_EXPONENT, LEAST_EXPONENT
from optimizer.physics.money import present_worth_factor, replacement_present_worth
from optimizer.physics.pump import PumpCurve
from optimizer.records.parts import Catalog, Pump
from optimizer.records.site import Goals, Site
from tests.oracles.enumerate_beds import STEPS_PER_M3_S, cents

SWINGS_M = (0.15, 0.30, 0.45, 0.60, 0.90)
HOURS_PER_DAY = 24.0
DAYS = 365.0


@dataclass(frozen=True)
class Plant:
    """A pump, a number and a band at one flow; ``head_m`` above the sump's floor.

    ``later_cents`` of its cost are energy and replacements. ``pipe_cents`` is pipe by the metre
    that comes with it, by size: what fills a tank over the beds.
    """

    band: tuple[float, float]
    head_m: float
    shut_off_m: float
    authority: float
    cents: int
    most_head_m: float
    later_cents: int = 0
    pipe_cents: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Tank:
    """A sump, and a number of them, in one band."""

    working_m3: float
    spare_m3: float
    cents: int


def bands(site: Site, catalog: Catalog, lowest_drain_m: float) -> list[tuple[float, float]]:
    """Level bands: from where every pump that fits is under water, below the siphon outlets."""
    fitting = allowed_pumps(site, catalog, lowest_drain_m)
    low = max((catalog.pumps[name].submergence_m for name in fitting), default=0.0)
    deepest = _deepest_m(site, catalog, lowest_drain_m)
    return [(low, low + swing) for swing in SWINGS_M if low + swing <= deepest + 1e-12]


def _deepest_m(site: Site, catalog: Catalog, lowest_drain_m: float) -> float:
    """The deepest water of any allowed sump, which no siphon outlet may lie below."""
    sumps = [catalog.sumps[name] for name in _sumps(site, catalog)]
    return min(lowest_drain_m, max(sump.depth_m - sump.freeboard_m for sump in sumps))


def allowed_pumps(site: Site, catalog: Catalog, lowest_drain_m: float) -> set[str]:
    """Allowed pumps that stay under water in some sump with the least swing."""
    names = set(site.purchase.pumps or catalog.pumps)
    names |= {site.standing.pump} if site.standing.pump else set()
    deepest = _deepest_m(site, catalog, lowest_drain_m)
    return {n for n in names if catalog.pumps[n].submergence_m + SWINGS_M[0] <= deepest + 1e-12}


def _sumps(site: Site, catalog: Catalog) -> set[str]:
    names = set(site.purchase.sumps or catalog.sumps)
    return names | ({site.standing.sump} if site.standing.sump else set())


def pump_error(goals: Goals) -> float:
    """How far below its curve a pump may fall and the design still work."""
    return {"nominal": 0.0}.get(goals.robustness, goals.pump_tolerance)


def most_above_m(site: Site, catalog: Catalog) -> float:
    """How far the strongest pump, above its curve, may lie over one below: valves take it up.

    Below a tank they need not.
    """
    if site.header_tank is not None:
        return 0.0
    names = set(site.purchase.pumps or catalog.pumps)
    names |= {site.standing.pump} if site.standing.pump else set()
    heads = (catalog.pumps[name].heads_m[0] for name in names)
    return 2.0 * pump_error(site.goals) * max(heads)


def plants(
    site: Site,
    catalog: Catalog,
    flow_steps: int,
    lowest_outlet_m: float,
    lowest_drain_m: float,
    lesser: Sequence[int] = (),
) -> Iterator[Plant]:
    """Every pump, number and band that gives a flow within the allowed drift.

    Where zones turn, ``lesser`` flows that some zone might have keep within it too.
    """
    goals, flow = site.goals, flow_steps / STEPS_PER_M3_S
    for name in sorted(allowed_pumps(site, catalog, lowest_drain_m)):
        pump = catalog.pumps[name]
        heads = tuple(head * (1.0 - pump_error(goals)) for head in pump.heads_m)
        for count in range(1, site.purchase.pumps_in_parallel_most + 1):
            curve = PumpCurve(pump.flows_m3_s, heads, pump.watts, count)
            if flow > curve.end_flow_m3_s or heard_too_long(site, pump, count):
                continue
            first, again, energy = pump_money(site, pump, count, curve, flow)
            for band in bands(site, catalog, lowest_drain_m):
                setting, swing = (band[0] + band[1]) / 2.0, (band[1] - band[0]) / 2.0
                head = float(curve.head_m(flow)) + setting
                left = head - lowest_outlet_m
                authority = _authority(curve, flow, left, swing, goals.level_drift)
                asked = [authority]
                for steps in lesser:
                    less = steps / STEPS_PER_M3_S
                    spare = float(curve.head_m(less)) + setting - lowest_outlet_m
                    asked.append(_authority(curve, less, spare, swing, goals.level_drift))
                if None not in asked:
                    most = head if site.zones is None else pump.heads_m[0] + setting
                    price, later = first + again + energy, again + energy
                    yield Plant(band, head, pump.heads_m[0], max(asked), price, most, later)


def heard_too_long(site: Site, pump: Pump, count: int) -> bool:
    """Whether so many of a pump are loud for more hours than the site allows."""
    limit = site.noise
    if limit is None or site.goals.pump_hours_per_day <= limit.hours_per_day_most:
        return False
    if pump.noise_db is None:
        return True
    return count * 10.0 ** (pump.noise_db / 10.0) > 1.000001 * 10.0 ** (limit.louder_than_db / 10.0)


def pump_money(
    site: Site, pump: Pump, count: int, curve: PumpCurve, flow_m3_s: float
) -> tuple[int, int, int]:
    """Cents of pumps bought, of replacing them and of their energy, at present worth."""
    goals = site.goals
    years = present_worth_factor(
        goals.discount_rate, goals.planning_years, goals.energy_price_growth
    )
    stands = site.standing.pump_count if site.standing.pump == pump.id else 0
    bought = max(0, count + int(site.purchase.spare_pump) - stands)
    again = count * replacement_present_worth(
        pump.price, pump.life_years, goals.discount_rate, goals.planning_years
    )
    hours = DAYS * HOURS_PER_DAY * goals.pump_hours_per_day / HOURS_PER_DAY
    watts = float(curve.watts_at(flow_m3_s))
    energy = watts / 1000.0 * hours * goals.energy_price_per_kwh * years
    return cents(bought * pump.price), cents(again), cents(energy)


def power_worth(site: Site) -> float:
    """What one timed valve draws over the planning years, open in one turn of each rotation."""
    goals, zones = site.goals, site.zones
    years = present_worth_factor(
        goals.discount_rate, goals.planning_years, goals.energy_price_growth
    )
    watts = zones.valve_watts / len(zones.groups)
    return watts / 1000.0 * DAYS * goals.pump_hours_per_day * goals.energy_price_per_kwh * years


def _authority(
    curve: PumpCurve, flow: float, residual_m: float, swing_m: float, allowed: float
) -> float | None:
    """The authority of :mod:`optimizer.physics.drift`, by bisection one duty at a time."""
    if residual_m <= 0.0 or flow * (1.0 + allowed) > curve.end_flow_m3_s:
        return None
    head, b = float(curve.head_m(flow)), GREATEST_EXPONENT
    worst = 0.0
    for rise, limit in ((swing_m, 1.0 + allowed), (-swing_m, 1.0 - allowed)):

        def over(x: float, rise: float = rise) -> float:
            return residual_m * (x**b - 1.0) + head - float(curve.head_m(flow * x)) - rise

        if over(limit) * rise <= 0.0:
            return None
        seen = abs(brentq(over, 1.0, limit, xtol=1e-13) ** b - 1.0)
        may = abs(limit**LEAST_EXPONENT - 1.0)
        if seen >= may:
            return None
        worst = max(worst, seen / (may - seen))
    return worst


def tanks(
    site: Site, catalog: Catalog, band: tuple[float, float], lowest_drain_m: float
) -> Iterator[Tank]:
    """Every sump and number of them that keeps a band below freeboard and siphon outlets."""
    for name in sorted(_sumps(site, catalog)):
        sump = catalog.sumps[name]
        top = min(sump.depth_m - sump.freeboard_m, lowest_drain_m)
        if band[1] > top:
            continue
        stands = site.standing.sump_count if site.standing.sump == name else 0
        for count in range(1, site.purchase.sumps_most + 1):
            yield Tank(
                working_m3=count * sump.area_m2 * (band[1] - band[0]),
                spare_m3=count * sump.area_m2 * (top - band[1]),
                cents=cents(sump.price) * max(0, count - stands),
            )
