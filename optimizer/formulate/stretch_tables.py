"""For every stretch: what each way to build it costs and loses under each duty.

Stretches alike in kind, fittings, standing pipe and loads share one table, and each pipe's friction
is worked out once for all flows of the site.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from optimizer.formulate.fittings_price import (
    cents,
    laying_price_per_m,
    parts_price,
)
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.loads import Load, closing_load
from optimizer.formulate.pump_tables import allowed_pumps
from optimizer.formulate.side_conditions import PipeRivals
from optimizer.formulate.stretch_ways import (
    BuildWay,
    Ways,
    change_cents,
    loss_coefficient,
    parts_in,
    rating_head_m,
    tees_at_ends,
)
from optimizer.formulate.throttle import pump_spread_m
from optimizer.formulate.zone_parts import is_valved, timed_valve_cents, valve_power_cents
from optimizer.physics.arrays import Array
from optimizer.physics.laws import DarcyWeisbach
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.water import GRAVITY
from optimizer.records.header_tank import TANK
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog, Pipe
from optimizer.records.problem import Build, StretchTable
from optimizer.records.site import Site

SOURCE = "pump"
"""What the program calls the node that the beds are fed from, also where that is a tank."""

Bools = npt.NDArray[np.bool_]


def stretch_tables(
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    loads: dict[str, tuple[Load, ...]],
) -> tuple[StretchTable, ...]:
    """Return the table of every stretch that can carry anything, parents first."""
    tees, tabled = tees_at_ends(network), _Tabling(site, catalog, loads)
    return tuple(
        tabled.of(stretch, loads[stretch.id], tees[stretch.id])
        for stretch in network.supply
        if loads[stretch.id]
    )


def still_tables(
    site: Site, catalog: Catalog, network: CandidateNetwork, stretches: Sequence[Stretch]
) -> tuple[StretchTable, ...]:
    """Return tables of stretches under one duty of hardly any flow: costs and volumes by size."""
    load: dict[str, tuple[Load, ...]] = {s.id: (closing_load(s),) for s in stretches}
    tees, tabled = tees_at_ends(network), _Tabling(site, catalog, load)
    return tuple(tabled.of(stretch, load[stretch.id], tees[stretch.id]) for stretch in stretches)


@dataclass(frozen=True)
class _Figures:
    """Of every way (rows) under every load (columns); ``allowed`` where it is slow enough."""

    allowed: Bools
    cost_cents: Array
    loss_m: Array
    volume_m3: Array
    throttle_m: Array
    pipe_cents: Array
    later_cents: int


class _Tabling:
    """Makes the tables of one site.

    Args:
        site: the site.
        catalog: the parts.
        loads: the loads of every stretch.
    """

    def __init__(self, site: Site, catalog: Catalog, loads: dict[str, tuple[Load, ...]]) -> None:
        self.site = site
        self.catalog = catalog
        self.ways = Ways(site, catalog)
        self.prices = catalog.fitting_prices
        self.laying_per_m = laying_price_per_m(catalog)
        steps = sorted({load.duty.flow_steps for found in loads.values() for load in found})
        self.place = {step: n for n, step in enumerate(steps)}
        self.flows_m3_s = np.array(steps, dtype=np.float64) * FLOW_STEP_M3_S
        pumps = [] if site.header_tank else allowed_pumps(site, catalog)
        self.spread_m = pump_spread_m(site, pumps)
        self.rivals = PipeRivals(site)
        self._friction: dict[str, Array] = {}
        self._ratings: dict[str, float] = {}
        self._shared: dict[tuple[object, ...], StretchTable] = {}

    def of(self, stretch: Stretch, loads: tuple[Load, ...], tees: int) -> StretchTable:
        """Return the table of a stretch."""
        there = self.ways.there(stretch)
        key = (stretch.kind, stretch.fittings, there, tees, loads)
        if key not in self._shared:
            self._shared[key] = self._table(stretch, loads, tees)
        return replace(
            self._shared[key],
            id=stretch.id,
            tail=SOURCE if stretch.tail == TANK else stretch.tail,
            head=stretch.head,
            branch=stretch.row,
        )

    def _table(self, stretch: Stretch, loads: tuple[Load, ...], tees: int) -> StretchTable:
        """Return the table of a stretch, for its like to share."""
        ways = self.ways.of(stretch)
        figures = self._figures(stretch, ways, loads, tees)
        ratings = np.array([self._rating_head_m(way.pipe) for way in ways])
        kept = _undominated(ways, figures, ratings, self.rivals)
        table: dict[tuple[str, str], Build] = {}
        for n in kept:
            name = ways[n].id
            table |= {
                (loads[d].duty.id, name): _build(ways[n], figures, n, d)
                for d in np.flatnonzero(figures.allowed[n]).tolist()
            }
        return StretchTable(
            id=stretch.id,
            tail=stretch.tail,
            head=stretch.head,
            branch=stretch.row,
            duties=tuple(load.duty for load in loads),
            builds=tuple(ways[n].id for n in kept),
            table=table,
            rating_head_m={ways[n].id: float(ratings[n]) for n in kept},
        )

    def _figures(
        self, stretch: Stretch, ways: Sequence[BuildWay], loads: tuple[Load, ...], tees: int
    ) -> _Figures:
        """Return the figures of every way under every load.

        A way is allowed where its speed, at the flow grown by the allowed level drift, stays within
        the limit. A valve must take up ``spread_m`` beside what the pump is counted on for.
        """
        at = [self.place[load.duty.flow_steps] for load in loads]
        lengths, flows = np.array([load.length_m for load in loads]), self.flows_m3_s[at]
        area = np.array([bore_area_m2(way.pipe.bore_m) for way in ways])[:, np.newaxis]
        local = np.array([loss_coefficient(stretch, way, self.catalog) for way in ways])
        goals = self.site.goals
        speed_head = (flows / area) ** 2 / (2.0 * GRAVITY)
        per_m = np.array([0.0 if way.standing else way.pipe.price_per_m for way in ways])
        pipe_cents = np.rint(per_m[:, np.newaxis] * lengths * 100.0)
        friction = np.array([self._friction_of(way.pipe)[at] for way in ways])
        shut = [way.valve.losses[0] - way.valve.losses[-1] if way.valve else np.inf for way in ways]
        priced, timed_cents, later = self._timed_valves(stretch, ways)
        return _Figures(
            priced & (flows * (1.0 + goals.level_drift) / area <= goals.velocity_limit_m_s),
            self._other_cents(stretch, ways, loads, tees) + pipe_cents + timed_cents + later,
            friction * lengths + local[:, np.newaxis] * speed_head,
            area * lengths,
            np.array(shut)[:, np.newaxis] * speed_head - self.spread_m,
            pipe_cents,
            later,
        )

    def _other_cents(
        self, stretch: Stretch, ways: Sequence[BuildWay], loads: tuple[Load, ...], tees: int
    ) -> Array:
        """Return the cost of work, fittings and valve, each rounded to a cent."""
        lengths = np.array([load.length_m for load in loads])
        last = np.array([int(load.last) for load in loads])
        bought = [parts_in(stretch, closed, tees) for closed in (False, True)]
        rows = []
        for way in ways:
            valve = cents(way.valve.price) if way.valve and not way.valve_standing else 0
            changed = [valve + change_cents(way, load.length_m, self.ways.kept) for load in loads]
            if way.standing:
                rows.append(np.array(changed, dtype=np.float64))
                continue
            parts = [
                cents(parts_price(bought[n], way.pipe, self.prices)) if n in last else 0
                for n in (0, 1)
            ]
            work = np.rint(lengths * self.laying_per_m * 100.0)
            rows.append(work + np.array(parts)[last] + np.array(changed))
        return np.array(rows)

    def _timed_valves(self, stretch: Stretch, ways: Sequence[BuildWay]) -> tuple[Bools, Array, int]:
        """Return for every way whether its timed valve is sold, its price, and power's worth."""
        if not is_valved(stretch):
            return np.ones((len(ways), 1), dtype=bool), np.zeros((len(ways), 1)), 0
        found = [timed_valve_cents(way.pipe, self.prices) for way in ways]
        sold = np.array([price is not None for price in found])[:, np.newaxis]
        price = np.array([float(price or 0) for price in found])[:, np.newaxis]
        return sold, price, valve_power_cents(self.site)

    def _friction_of(self, pipe: Pipe) -> Array:
        """Return the head a pipe loses by the metre at every flow of the site."""
        if pipe.id not in self._friction:
            law = DarcyWeisbach(pipe.roughness_m, self.site.goals.water_temperature_c)
            self._friction[pipe.id] = law.head_loss_m(self.flows_m3_s, 1.0, pipe.bore_m)
        return self._friction[pipe.id]

    def _rating_head_m(self, pipe: Pipe) -> float:
        if pipe.id not in self._ratings:
            self._ratings[pipe.id] = rating_head_m(pipe, self.site.goals.water_temperature_c)
        return self._ratings[pipe.id]


def _build(way: BuildWay, figures: _Figures, row: int, load: int) -> Build:
    return Build(
        way.id,
        int(figures.cost_cents[row, load]),
        float(figures.loss_m[row, load]),
        float(figures.volume_m3[row, load]),
        float(figures.throttle_m[row, load]),
        "" if way.standing else way.pipe.id,
        int(figures.pipe_cents[row, load]),
        figures.later_cents,
    )


def _undominated(
    ways: Sequence[BuildWay], figures: _Figures, ratings: Array, rivals: PipeRivals
) -> list[int]:
    """Return the places of the ways worth keeping, by rising price.

    A way is left out if another is allowed under each of its duties, costs no more, loses no more,
    holds no more water, can throttle no less and bears no less pressure. As what beats a beaten way
    beats also what that one beats, every way is held against all that come before it.
    """
    least = np.where(figures.allowed, figures.cost_cents, np.inf).min(axis=1, initial=np.inf)
    usable = np.flatnonzero(figures.allowed.any(axis=1)).tolist()
    order = sorted(usable, key=lambda n: (least[n], ways[n].id))
    pipes = ["" if way.standing else way.pipe.id for way in ways]
    no_dearer = rivals.surely_no_dearer(pipes, figures.cost_cents, figures.pipe_cents)
    beats = _beats(figures, ratings, no_dearer)
    return [n for place, n in enumerate(order) if not beats[order[:place], n].any()]


def _beats(figures: _Figures, ratings: Array, no_dearer: Bools) -> Bools:
    """Return whether the way of a row beats that of a column."""

    def no_more(values: Array) -> Bools:
        kept: Bools = values[:, np.newaxis] <= values[np.newaxis]
        return kept

    able = figures.allowed[:, np.newaxis] & no_dearer
    able &= no_more(figures.loss_m) & no_more(figures.volume_m3)
    able &= no_more(-(figures.loss_m + figures.throttle_m))
    everywhere = np.all(able | ~figures.allowed[np.newaxis], axis=2)
    beaten: Bools = everywhere & no_more(-ratings)
    return beaten
