"""The pipe that brings a tank's overflow back down beside its riser: how wide and how dear."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.formulate.fittings_price import (
    cents,
    laying_price_per_m,
    parts_price,
)
from optimizer.formulate.side_conditions import PipeRivals
from optimizer.physics.overflow import overflow_capacity_m3_s
from optimizer.records.network import Stretch
from optimizer.records.parts import Catalog, Pipe
from optimizer.records.shelf import CountedPart
from optimizer.records.site import Site


def overflow_pipes(
    site: Site, catalog: Catalog, stretch: Stretch, flow_m3_s: float
) -> Sequence[Pipe]:
    """Return the return pipes worth laying that bring all a pump lifts back down, cheapest first.

    That is the cheapest alone, but where pipe in stock or a limit on sizes may favour another.
    """
    returns, tank = site.returns, site.header_tank
    series = returns.pipe_series or site.purchase.pipe_series
    fall = (tank.water_level_m if tank else 0.0) - stretch.points[1][2]
    slope = fall / stretch.length_m
    wide = [
        pipe
        for pipe in catalog.pipes.values()
        if pipe.series == series
        and overflow_capacity_m3_s(pipe.bore_m, slope, returns.manning_n) >= flow_m3_s
    ]
    price = {pipe.id: overflow_cents(stretch, pipe, catalog, site) for pipe in wide}
    wide.sort(key=lambda pipe: (sum(price[pipe.id]), pipe.id))
    rivals = PipeRivals(site)
    return [
        pipe
        for i, pipe in enumerate(wide)
        if not any(
            rivals.pipe_surely_no_dearer(
                (one.id, sum(price[one.id])), (pipe.id, sum(price[pipe.id])), price[pipe.id][0]
            )
            for one in wide[:i]
        )
    ]


def overflow_parts(stretch: Stretch) -> tuple[CountedPart, ...]:
    """Return the fittings of the overflow pipe, which runs beside the riser."""
    turns = [CountedPart(name, n) for name, n in stretch.fittings if name.startswith("elbow")]
    return (*turns, CountedPart("bulkhead", 1))


def overflow_cents(
    stretch: Stretch, pipe: Pipe, catalog: Catalog, site: Site
) -> tuple[int, int, int]:
    """Return the price of the overflow's pipe, fittings and laying; none where it stands."""
    if pipe.id == site.standing.overflow:
        return (0, 0, 0)
    length = stretch.length_m
    return (
        cents(length * pipe.price_per_m),
        cents(parts_price(overflow_parts(stretch), pipe, catalog.fitting_prices)),
        cents(length * laying_price_per_m(catalog)),
    )
