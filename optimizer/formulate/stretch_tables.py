"""For every stretch: how it may be built, and what each way costs and loses under each duty."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from optimizer.formulate.bed_options import FLOW_STEP_M3_S
from optimizer.formulate.fittings_price import (
    FittingPrices,
    PartCount,
    cents,
    fitting_prices,
    laying_price_per_m,
    parts_price,
)
from optimizer.formulate.loads import Load
from optimizer.formulate.pump_tables import allowed_pumps
from optimizer.formulate.throttle import pump_spread_m, throttle_m
from optimizer.physics.laws import DarcyWeisbach
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.pressure import rating_at_temperature
from optimizer.physics.water import GRAVITY, density_kg_m3
from optimizer.records.header_tank import TANK
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog, Pipe, Valve
from optimizer.records.problem import Build, StretchTable
from optimizer.records.site import Site

NO_PART = frozenset({"entrance", "exit", "tee_run", "tee_branch"})
"""Losses that are no bought part of their stretch; a tee is bought by the stretch ending at it."""

SOURCE = "pump"
"""What the program calls the node that the beds are fed from, also where that is a tank."""

TEE_OUTLETS = frozenset({"tee_run", "tee_branch"})
"""A stretch that begins at a tee gets a reducer there (A9: counted at every tee outlet)."""


@dataclass(frozen=True)
class BuildWay:
    """A pipe size, with a valve at a drop. ``standing`` pipe is already laid."""

    id: str
    pipe: Pipe
    valve: Valve | None
    standing: bool = False


def build_ways(stretch: Stretch, site: Site, catalog: Catalog) -> list[BuildWay]:
    """Return the ways to build a stretch: each pipe, with each valve of its size at a drop."""
    standing = _standing_pipe(stretch, site)
    pipes = [p for p in catalog.pipes.values() if _may_buy(p, site) or p.id == standing]
    if stretch.kind != "drop":
        return [BuildWay(p.id, p, None, p.id == standing) for p in pipes]
    kinds = site.purchase.valve_kinds
    return [
        BuildWay(f"{p.id} + {v.id}", p, v)
        for p in pipes
        for v in catalog.valves.values()
        if (v.series, v.nominal) == (p.series, p.nominal) and (not kinds or v.kind in kinds)
    ]


def parts_in(stretch: Stretch, last: bool, tees_at_end: int) -> tuple[PartCount, ...]:
    """Return the fittings a stretch is bought with.

    Its own elbows, unions, strainer and non-return valve; a reducer where it begins at a tee; the
    tees it ends at; a clean-out that closes the tee at the last bed of a row.
    """
    counts = {name: count for name, count in stretch.fittings if name not in NO_PART}
    if any(name in TEE_OUTLETS for name, _ in stretch.fittings):
        counts["reducer"] = counts.get("reducer", 0) + 1
    if tees_at_end:
        counts["tee"] = tees_at_end
    if last and tees_at_end:
        counts["clean_out"] = 1
    return tuple(PartCount(kind, count) for kind, count in sorted(counts.items()))


def loss_coefficient(stretch: Stretch, way: BuildWay, catalog: Catalog) -> float:
    """Return the sum of local losses, valve fully open, referred to the stretch's bore."""
    total = sum(count * catalog.losses[name].value for name, count in stretch.fittings)
    return total + (way.valve.losses[-1] if way.valve else 0.0)


def tees_at_ends(network: CandidateNetwork) -> dict[str, int]:
    """Return, per stretch, the tees bought where it ends.

    One fewer than the stretches that leave there; at a row's last bed one, its run closed for
    flushing and later beds; none at a lone bed.
    """
    leaving: dict[str, list[Stretch]] = {}
    for stretch in network.stretches:
        leaving.setdefault(stretch.tail, []).append(stretch)
    tees: dict[str, int] = {}
    for stretch in network.stretches:
        after = leaving.get(stretch.head, [])
        at_tee = any(name in TEE_OUTLETS for s in after for name, _ in s.fittings)
        tees[stretch.id] = max(len(after) - 1, 1) if at_tee else 0
    return tees


def stretch_tables(
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    loads: dict[str, tuple[Load, ...]],
) -> tuple[StretchTable, ...]:
    """Return the table of every stretch that can carry anything, parents first."""
    tees, prices = tees_at_ends(network), fitting_prices(catalog)
    by_tank = site.header_tank is not None
    spread_m = 0.0 if by_tank else pump_spread_m(site, allowed_pumps(site, catalog))
    return tuple(
        _table(stretch, loads[stretch.id], tees[stretch.id], site, catalog, prices, spread_m)
        for stretch in network.supply
        if loads[stretch.id]
    )


def _may_buy(pipe: Pipe, site: Site) -> bool:
    wanted = site.purchase.pipes
    return pipe.series == site.purchase.pipe_series and (not wanted or pipe.id in wanted)


def _standing_pipe(stretch: Stretch, site: Site) -> str | None:
    run = stretch.row if stretch.kind == "lateral" else stretch.kind
    return next((s.pipe for s in site.standing.pipes if s.run == run), None)


def _table(
    stretch: Stretch,
    loads: tuple[Load, ...],
    tees: int,
    site: Site,
    catalog: Catalog,
    prices: FittingPrices,
    spread_m: float,
) -> StretchTable:
    made: dict[str, dict[str, Build]] = {}
    ratings: dict[str, float] = {}
    for way in build_ways(stretch, site, catalog):
        builds = _builds(stretch, way, loads, tees, site, catalog, prices, spread_m)
        if builds:
            made[way.id] = builds
            ratings[way.id] = _rating_head_m(way.pipe, site.goals.water_temperature_c)
    kept = _undominated(made, ratings, [load.duty.id for load in loads])
    return StretchTable(
        id=stretch.id,
        tail=SOURCE if stretch.tail == TANK else stretch.tail,
        head=stretch.head,
        branch=stretch.row,
        duties=tuple(load.duty for load in loads),
        builds=tuple(kept),
        table={(duty, way): b for way in kept for duty, b in made[way].items()},
        rating_head_m={way: ratings[way] for way in kept},
    )


def _builds(
    stretch: Stretch,
    way: BuildWay,
    loads: tuple[Load, ...],
    tees: int,
    site: Site,
    catalog: Catalog,
    fitting_price: FittingPrices,
    spread_m: float,
) -> dict[str, Build]:
    """Return the builds of one way under every duty whose speed stays within the limit.

    The limit holds for the flow grown by the allowed level drift. A valve must take up
    ``spread_m`` beside what the pump is counted on for.
    """
    law = DarcyWeisbach(way.pipe.roughness_m, site.goals.water_temperature_c)
    area = float(bore_area_m2(way.pipe.bore_m))
    local = loss_coefficient(stretch, way, catalog)
    prices = {
        last: 0.0
        if way.standing
        else parts_price(parts_in(stretch, last, tees), way.pipe, fitting_price)
        for last in {load.last for load in loads}
    }
    flows = np.array([load.duty.flow_steps for load in loads]) * FLOW_STEP_M3_S
    lengths = np.array([load.length_m for load in loads])
    losses = law.head_loss_m(flows, 1.0, way.pipe.bore_m) * lengths + law.head_loss_m(
        flows, 0.0, way.pipe.bore_m, local
    )
    fast = flows * (1.0 + site.goals.level_drift) / area > site.goals.velocity_limit_m_s
    per_m = 0.0 if way.standing else way.pipe.price_per_m
    laying = 0.0 if way.standing else laying_price_per_m(catalog)
    valve = way.valve.price if way.valve else 0.0
    return {
        load.duty.id: Build(
            way.id,
            cents(load.length_m * per_m)
            + cents(load.length_m * laying)
            + cents(prices.get(load.last, 0.0))
            + cents(valve),
            float(loss),
            area * load.length_m,
            math.inf
            if way.valve is None
            else throttle_m(float(flow), way.pipe, way.valve) - spread_m,
        )
        for load, flow, loss, too_fast in zip(loads, flows, losses, fast, strict=True)
        if not too_fast
    }


def _rating_head_m(pipe: Pipe, temperature_c: float) -> float:
    rating = rating_at_temperature(pipe.rating_pa, pipe.material, temperature_c)
    return float(rating / (density_kg_m3(temperature_c) * GRAVITY))


def _undominated(
    made: dict[str, dict[str, Build]], ratings: dict[str, float], duties: list[str]
) -> list[str]:
    """Return the ways worth keeping, by rising price.

    A way is left out if another is allowed under each of its duties, costs no more, loses no more,
    holds no more water, can throttle no less and bears no less pressure.
    """

    def price(way: str) -> tuple[int, str]:
        return (min(b.cost_cents for b in made[way].values()), way)

    kept: list[str] = []
    for way in sorted(made, key=price):
        if not any(_beats(made[k], made[way]) and ratings[k] >= ratings[way] for k in kept):
            kept.append(way)
    return kept


def _beats(first: dict[str, Build], second: dict[str, Build]) -> bool:
    return all(
        duty in first
        and first[duty].cost_cents <= b.cost_cents
        and first[duty].loss_m <= b.loss_m
        and first[duty].volume_m3 <= b.volume_m3
        and first[duty].loss_m + first[duty].throttle_m >= b.loss_m + b.throttle_m
        for duty, b in second.items()
    )
