"""Where part of a stretch may be laid in a wider size, and what that costs and gains.

Only where the site allows it, and only on straight pipe: a stretch with an elbow in it would leave
open which part the elbow belongs to. Fittings at the stretch's ends are counted in the narrower
size, which loses no less; the reducer between the parts is bought and counted in the narrower size.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from optimizer.formulate.fittings_price import (
    cents,
    laying_price_per_m,
    parts_price,
)
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.loads import Load
from optimizer.formulate.stretch_ways import BuildWay, build_ways, parts_in, tees_at_ends
from optimizer.physics.laws import DarcyWeisbach
from optimizer.physics.pipe import bore_area_m2
from optimizer.records.mixes import Mix
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog, Pipe
from optimizer.records.problem import StretchTable
from optimizer.records.site import Site

LEAST_PIECE_M = 0.3
"""No part of a stretch is shorter than this (A66, common practice, no source)."""

REDUCER = "reducer"


def may_have_two_sizes(stretch: Stretch, site: Site) -> bool:
    """Return whether a stretch may have two sizes: straight pipe, where the site allows it."""
    straight = not any(name.startswith("elbow") for name, _ in stretch.fittings)
    return site.purchase.two_sizes_on_a_stretch and straight and stretch.kind != "drop"


def with_mixes(
    tables: Sequence[StretchTable],
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    loads: Mapping[str, Sequence[Load]],
) -> tuple[StretchTable, ...]:
    """Return the tables of stretches with what two sizes may do, where the site allows it.

    Args:
        tables: every stretch in one size.
        site: the site.
        catalog: the catalog.
        network: its candidate network.
        loads: stretch to what it may carry.
    """
    tees, laid = tees_at_ends(network), {s.id: s for s in network.supply}
    return tuple(
        replace(table, mixes=_mixes(laid[table.id], table, loads[table.id], tees, site, catalog))
        if may_have_two_sizes(laid[table.id], site)
        else table
        for table in tables
    )


def _mixes(
    stretch: Stretch,
    table: StretchTable,
    loads: Sequence[Load],
    tees: Mapping[str, int],
    site: Site,
    catalog: Catalog,
) -> dict[tuple[str, str], Mix]:
    """Return, by duty and build, how part of a stretch may be laid wider.

    Of the wider sizes the one is offered that gains most head for its money: mixed with any other,
    the same head would cost more.
    """
    ways = [way for way in build_ways(stretch, site, catalog) if way.id in table.builds]
    if any(way.other for way in ways):
        return {}  # pipe that stands is kept or taken out as a whole
    sizes = sorted((w for w in ways if not w.standing), key=lambda way: way.pipe.bore_m)
    found: dict[tuple[str, str], Mix] = {}
    for i, narrow in enumerate(sizes):
        for load in loads:
            offered = [
                _mix(narrow.pipe, wide, load, stretch, tees[stretch.id], site, catalog)
                for wide in sizes[i + 1 :]
                if {(load.duty.id, way.id) for way in (narrow, wide)} <= table.table.keys()
                and load.length_m >= 2.0 * LEAST_PIECE_M
            ]
            gaining = [mix for mix in offered if mix.gain_m > 0.0]
            if gaining:
                found[load.duty.id, narrow.id] = max(gaining, key=_head_for_money)
    return found


def _head_for_money(mix: Mix) -> float:
    """Return the head gained for a cent, the wider part's worth; endless where it costs no more."""
    return math.inf if mix.slope_cents <= 0.0 else mix.gain_m / mix.slope_cents


def with_reducer(stretch: Stretch) -> Stretch:
    """Return a stretch with the reducer between its parts among its fittings."""
    return replace(stretch, fittings=tuple(sorted((*stretch.fittings, (REDUCER, 1)))))


def reducer_loss_m(flow_m3_s: float, pipe: Pipe, site: Site, catalog: Catalog) -> float:
    """Return the head lost in a reducer into a pipe."""
    law = DarcyWeisbach(pipe.roughness_m, site.goals.water_temperature_c)
    return float(law.head_loss_m(flow_m3_s, 0.0, pipe.bore_m, catalog.losses[REDUCER].value))


def friction_m(flow_m3_s: float, length_m: float, pipe: Pipe, site: Site) -> float:
    """Return the friction of a length of pipe, without fittings."""
    law = DarcyWeisbach(pipe.roughness_m, site.goals.water_temperature_c)
    return float(law.head_loss_m(flow_m3_s, length_m, pipe.bore_m))


def _mix(
    narrow: Pipe,
    wide: BuildWay,
    load: Load,
    stretch: Stretch,
    tees: int,
    site: Site,
    catalog: Catalog,
) -> Mix:
    parts = parts_in(with_reducer(stretch), load.last, tees)
    flow, length = load.duty.flow_steps * FLOW_STEP_M3_S, load.length_m
    lost = [friction_m(flow, length, pipe, site) for pipe in (narrow, wide.pipe)]
    areas = [float(bore_area_m2(pipe.bore_m)) for pipe in (narrow, wide.pipe)]
    return Mix(
        wider=wide.id,
        length_m=length,
        prices_per_m=(narrow.price_per_m, wide.pipe.price_per_m),
        laying_per_m=laying_price_per_m(catalog),
        parts_cents=cents(parts_price(parts, narrow, catalog.fitting_prices)),
        friction_m=lost[1],
        gain_m=lost[0] - lost[1],
        reducer_m=reducer_loss_m(flow, narrow, site, catalog),
        extra_m3=(areas[1] - areas[0]) * length,
        least_share=LEAST_PIECE_M / length,
    )
