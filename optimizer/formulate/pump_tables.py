"""Pumps, how many in parallel, and what each does at every total flow the site can ask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from optimizer.formulate.fittings_price import cents
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.kept import Kept
from optimizer.physics.arrays import Array
from optimizer.physics.drift import valve_authority
from optimizer.physics.money import present_worth_factor, replacement_present_worth
from optimizer.physics.noise import loud_hours_per_day
from optimizer.physics.pump import PumpCurve
from optimizer.records.parts import Catalog, Pump
from optimizer.records.problem import LevelBand, PumpDuty, PumpOption
from optimizer.records.site import Goals, Site

Bools = npt.NDArray[np.bool_]
HOURS_PER_YEAR = 24.0 * 365.0


@dataclass(frozen=True)
class PumpTables:
    """Pump options and their duties."""

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
    return curve_of(pump, count, 1.0 - goals.pump_margin)


def curve_of(pump: Pump, count: int, share: float = 1.0) -> PumpCurve:
    """Return the curve of pumps in parallel whose heads are a share of their own."""
    heads = tuple(share * head for head in pump.heads_m)
    return PumpCurve(pump.flows_m3_s, heads, pump.watts, count)


def pump_tables(
    site: Site,
    pumps: Sequence[Pump],
    bands: Sequence[LevelBand],
    flows: Sequence[int],
    lowest_outlet_m: float,
) -> PumpTables:
    """Return every pump option with its duties.

    An option is left out if another costs no more, is loud no longer and, at every duty of it,
    gives no less head, draws no more and needs no more authority.

    Args:
        site: the site.
        pumps: the pumps to choose from.
        bands: sump level bands.
        flows: total flows the site can ask, in steps, rising.
        lowest_outlet_m: lowest outlet of any bed option above the sump floor.
    """
    counts = range(1, site.purchase.pumps_in_parallel_most + 1)
    grids: list[_Grid] = []
    for pump in pumps:
        options = [_option(pump, count, site) for count in counts if may_run(pump, count, site)]
        grids += _grids(pump, options, bands, flows, lowest_outlet_m, site.goals)
    if site.zones is not None:
        grids = [_at_every_smaller_zone(grid) for grid in grids]
    able = [grid for grid in grids if grid.allowed.any()]
    kept = _undominated(able, limited=site.goals.budget is not None)
    return PumpTables(
        tuple(grid.option for grid in kept),
        tuple(duty for grid in kept for duty in grid.duties(bands, flows)),
    )


def may_run(pump: Pump, count: int, site: Site) -> bool:
    """Return whether so many of a pump may run: of one that is not sold, as many as stand."""
    there = site.standing.pump_count if site.standing.pump == pump.id else 0
    return pump.id not in site.standing.not_sold or count <= there


def loud_hours(pump: Pump, count: int, site: Site) -> float:
    """Return the hours a day for which so many of a pump are louder than the site's limit."""
    if site.noise is None:
        return 0.0
    limit_db, hours = site.noise.louder_than_db, site.goals.pump_hours_per_day
    return loud_hours_per_day(pump.noise_db, count, limit_db, hours)


def _option(pump: Pump, count: int, site: Site) -> PumpOption:
    first, later = pump_cost(pump, count, site)
    return PumpOption(
        id=f"{count} x {pump.id}",
        pump=pump.id,
        count=count,
        cost_cents=cents(first) + cents(later) + Kept(site).other_pump_cents(pump.id),
        shut_off_m=pump.heads_m[0],
        later_cents=cents(later),
        loud_hours=loud_hours(pump, count, site),
    )


@dataclass(frozen=True, eq=False)
class _Grid:
    """What one pump option does in each band (rows) at each total flow (columns).

    ``allowed`` says where it may run; elsewhere head is -inf, running cost and authority inf.
    """

    option: PumpOption
    allowed: Bools
    head_m: Array
    running_cents: Array
    authority: Array

    def duties(self, bands: Sequence[LevelBand], flows: Sequence[int]) -> list[PumpDuty]:
        """Return the duties as records, band by band."""
        rows, columns = (place.tolist() for place in np.nonzero(self.allowed))
        figures = (self.head_m, self.running_cents, self.authority)
        heads, running, authority = (values[self.allowed].tolist() for values in figures)
        return [
            PumpDuty(self.option.id, bands[b].id, flows[f], head, round(cost), asked)
            for b, f, head, cost, asked in zip(
                rows, columns, heads, running, authority, strict=True
            )
        ]


def _grids(
    pump: Pump,
    options: Sequence[PumpOption],
    bands: Sequence[LevelBand],
    flows: Sequence[int],
    lowest_outlet_m: float,
    goals: Goals,
) -> list[_Grid]:
    """Return the grid of every number of one pump in parallel, all worked out together.

    So many equal pumps at a total flow are one pump at its share of it.
    """
    curve = counted_curve(pump, 1, goals)
    counts = np.array([option.count for option in options])[:, np.newaxis]
    each = np.array(flows, dtype=np.float64) * FLOW_STEP_M3_S / counts
    on_curve = each <= curve.end_flow_m3_s
    safe = np.where(on_curve, each, 0.0)
    settings = np.array([(band.low_m + band.high_m) / 2.0 for band in bands])
    swings = np.array([(band.high_m - band.low_m) / 2.0 for band in bands])
    shape = (len(options), len(bands), len(flows))
    heads = curve.head_m(safe)[:, np.newaxis, :] + settings[:, np.newaxis]
    asked = np.broadcast_to(on_curve[:, np.newaxis, :], shape)
    authority = np.full(shape, np.nan)
    authority[asked] = valve_authority(
        curve,
        np.broadcast_to(safe[:, np.newaxis, :], shape)[asked],
        heads[asked] - lowest_outlet_m,
        np.broadcast_to(swings[:, np.newaxis], shape)[asked],
        goals.level_drift,
    )
    watts = curve.watts_at(safe) * counts * energy_present_worth(goals)
    running = np.broadcast_to(np.rint(watts * 100.0)[:, np.newaxis, :], shape)
    allowed = ~np.isnan(authority)
    return [
        _Grid(
            option,
            allowed[n],
            np.where(allowed[n], heads[n], -np.inf),
            np.where(allowed[n], running[n], np.inf),
            np.where(allowed[n], authority[n], np.inf),
        )
        for n, option in enumerate(options)
    ]


def _at_every_smaller_zone(grid: _Grid) -> _Grid:
    """Return a grid whose duties also hold the drift of any zone that draws less.

    In the turn of a smaller zone the pump runs further up its curve; the authority asked at a flow
    is the greatest of those at this flow and every lesser one, and so is where it may not run.
    """
    authority = np.maximum.accumulate(grid.authority, axis=1)
    allowed = grid.allowed & np.isfinite(authority)
    return _Grid(
        grid.option,
        allowed,
        np.where(allowed, grid.head_m, -np.inf),
        np.where(allowed, grid.running_cents, np.inf),
        np.where(allowed, authority, np.inf),
    )


def _undominated(grids: Sequence[_Grid], *, limited: bool) -> list[_Grid]:
    """Leave out an option that a cheaper one matches wherever it may run.

    Where money to buy with is limited, it must match the price at first, too. As what beats a
    beaten option beats also what that one beats, each is held against all that come before it.
    """
    order = sorted(grids, key=lambda g: (g.option.cost_cents, g.option.id))
    if not order:
        return []
    shut_off = np.array([g.option.shut_off_m for g in order])
    loud = np.array([g.option.loud_hours for g in order])
    first = np.array([limited * (g.option.cost_cents - g.option.later_cents) for g in order])
    heads = np.array([grid.head_m.ravel() for grid in order])
    running = np.array([grid.running_cents.ravel() for grid in order])
    authority = np.array([grid.authority.ravel() for grid in order])
    return [
        grid
        for n, grid in enumerate(order)
        if not np.any(
            (shut_off[:n] <= shut_off[n])
            & (loud[:n] <= loud[n])
            & (first[:n] <= first[n])
            & (heads[:n] >= heads[n]).all(axis=1)
            & (running[:n] <= running[n]).all(axis=1)
            & (authority[:n] <= authority[n]).all(axis=1)
        )
    ]
