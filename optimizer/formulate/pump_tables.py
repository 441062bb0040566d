"""Pumps, how many in parallel, and what each does at every total flow the site can ask."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from optimizer.formulate.bed_options import FLOW_STEP_M3_S
from optimizer.formulate.fittings_price import cents
from optimizer.physics.drift import valve_authority
from optimizer.physics.money import present_worth_factor, replacement_present_worth
from optimizer.physics.pump import PumpCurve
from optimizer.records.parts import Catalog, Pump
from optimizer.records.problem import LevelBand, PumpDuty, PumpOption
from optimizer.records.site import Goals, Site

HOURS_PER_YEAR = 24.0 * 365.0

AUTHORITIES_KEPT = 8192
"""Rows of authorities kept from one design to the next; a whole catalog makes about 700."""


@dataclass(frozen=True)
class PumpTables:
    """Pump options and their duties; ``refused`` says why a pump has none."""

    options: tuple[PumpOption, ...]
    duties: tuple[PumpDuty, ...]


def allowed_pumps(site: Site, catalog: Catalog) -> list[Pump]:
    """Return the pumps the site may use, by id."""
    names: Sequence[str] = site.purchase.pumps or tuple(catalog.pumps)
    wanted = set(names) | ({site.standing.pump} if site.standing.pump else set())
    return [catalog.pumps[name] for name in sorted(wanted)]


def energy_present_worth(goals: Goals) -> float:
    """Return the present worth of drawing one watt whenever the pump runs, in currency."""
    years = present_worth_factor(
        goals.discount_rate, goals.planning_years, goals.energy_price_growth
    )
    kwh = energy_kwh_per_year(1.0, goals)
    return kwh * goals.energy_price_per_kwh * years


def energy_kwh_per_year(watts: float, goals: Goals) -> float:
    """Return the yearly energy of a draw kept up for the pump's hours each day, in kWh."""
    return watts / 1000.0 * HOURS_PER_YEAR * goals.pump_hours_per_day / 24.0


def pump_cost(pump: Pump, count: int, site: Site) -> tuple[float, float]:
    """Return the purchase price and the present worth of replacements of running pumps."""
    standing = site.standing.pump_count if site.standing.pump == pump.id else 0
    bought = max(0, count + int(site.purchase.spare_pump) - standing)
    goals = site.goals
    later = count * replacement_present_worth(
        pump.price, pump.life_years, goals.discount_rate, goals.planning_years
    )
    return bought * pump.price, later


def counted_curve(pump: Pump, count: int, goals: Goals) -> PumpCurve:
    """Return the curve a design counts on: the pump's own, its heads less their tolerance.

    A stronger pump is no harm: its valves take up the rest, and inflows then drift less with the
    sump's level.
    """
    heads = tuple((1.0 - goals.pump_margin) * head for head in pump.heads_m)
    return PumpCurve(pump.flows_m3_s, heads, pump.watts, count)


def pump_tables(
    site: Site,
    pumps: Sequence[Pump],
    bands: Sequence[LevelBand],
    flows: Sequence[int],
    lowest_outlet_m: float,
) -> PumpTables:
    """Return every pump option with its duties.

    Args:
        site: the site.
        pumps: the pumps to choose from.
        bands: sump level bands.
        flows: total flows the site can ask, in steps.
        lowest_outlet_m: lowest outlet of any bed option above the sump floor.

    An option is left out if another costs no more and, at every duty of it, gives no less head,
    draws no more and needs no more authority.
    """
    found: dict[PumpOption, list[PumpDuty]] = {}
    for pump in pumps:
        for count in range(1, site.purchase.pumps_in_parallel_most + 1):
            option = _option(pump, count, site)
            curve = counted_curve(pump, count, site.goals)
            duties = _duties(option, curve, bands, flows, lowest_outlet_m, site.goals)
            if duties:
                found[option] = duties
    kept = _undominated(found)
    return PumpTables(tuple(kept), tuple(duty for option in kept for duty in found[option]))


def _option(pump: Pump, count: int, site: Site) -> PumpOption:
    first, later = pump_cost(pump, count, site)
    return PumpOption(
        id=f"{count} x {pump.id}",
        pump=pump.id,
        count=count,
        cost_cents=cents(first) + cents(later),
        shut_off_m=pump.heads_m[0],
    )


def _duties(
    option: PumpOption,
    curve: PumpCurve,
    bands: Sequence[LevelBand],
    flows: Sequence[int],
    lowest_outlet_m: float,
    goals: Goals,
) -> list[PumpDuty]:
    per_watt = energy_present_worth(goals)
    steps = tuple(f for f in flows if f * FLOW_STEP_M3_S <= curve.end_flow_m3_s)
    if not steps:
        return []
    values = np.array(steps) * FLOW_STEP_M3_S
    heads, watts = curve.head_m(values), curve.watts_at(values)
    duties: list[PumpDuty] = []
    for band in bands:
        at_outlet = heads + (band.low_m + band.high_m) / 2.0
        authority = _authority(curve, steps, band, lowest_outlet_m, goals.level_drift)
        duties += [
            PumpDuty(option.id, band.id, step, float(head), cents(float(draw) * per_watt), float(a))
            for step, head, draw, a in zip(steps, at_outlet, watts, authority, strict=True)
            if not math.isnan(a)
        ]
    return duties


@lru_cache(maxsize=AUTHORITIES_KEPT)
def _authority(
    curve: PumpCurve, steps: tuple[int, ...], band: LevelBand, lowest_outlet_m: float, drift: float
) -> tuple[float, ...]:
    """Return the authority at each flow; kept, as prices do not move it and it is slow to find."""
    values = np.array(steps) * FLOW_STEP_M3_S
    setting, swing = (band.low_m + band.high_m) / 2.0, (band.high_m - band.low_m) / 2.0
    residual = curve.head_m(values) + setting - lowest_outlet_m
    return tuple(valve_authority(curve, values, residual, swing, drift).tolist())


def _undominated(found: dict[PumpOption, list[PumpDuty]]) -> list[PumpOption]:
    tables = {
        option.id: {(d.band, d.flow_steps): d for d in duties} for option, duties in found.items()
    }
    kept: list[PumpOption] = []
    for option in sorted(found, key=lambda o: (o.cost_cents, o.id)):
        mine = tables[option.id]
        if not any(k.shut_off_m <= option.shut_off_m and _beats(tables[k.id], mine) for k in kept):
            kept.append(option)
    return kept


def _beats(first: dict[tuple[str, int], PumpDuty], second: dict[tuple[str, int], PumpDuty]) -> bool:
    return all(
        key in first
        and first[key].head_m >= duty.head_m
        and first[key].running_cents <= duty.running_cents
        and first[key].authority <= duty.authority
        for key, duty in second.items()
    )
