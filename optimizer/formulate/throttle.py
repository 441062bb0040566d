"""How much head a nearly shut valve can take up, the other end of what a drop must do."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

from optimizer.formulate.stretch_ways import may_buy
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.water import GRAVITY
from optimizer.records.parts import Catalog, Pipe, Pump, Valve
from optimizer.records.problem import StretchTable
from optimizer.records.site import Site


def throttle_m(flow_m3_s: float, pipe: Pipe, valve: Valve) -> float:
    """Return the head a valve takes up nearly shut beyond what it takes up open, in metres."""
    speed = flow_m3_s / float(bore_area_m2(pipe.bore_m))
    return (valve.losses[0] - valve.losses[-1]) * speed**2 / (2.0 * GRAVITY)


def free_of_throttling(table: StretchTable) -> StretchTable:
    """Return a stretch whose valve may take up any head."""
    builds = {key: replace(build, throttle_m=math.inf) for key, build in table.table.items()}
    return replace(table, table=builds)


def pump_spread_m(site: Site, pumps: Sequence[Pump]) -> float:
    """Return the most by which the strongest pump may outdo the head it is counted on for.

    Designs count on a pump's curve less its tolerance; the pump bought may lie above its curve by
    as much, and valves must still hold every inflow down.
    """
    strongest = max((pump.heads_m[0] for pump in pumps), default=0.0)
    return 2.0 * site.goals.pump_margin * strongest


def tames_every_pump(
    site: Site, catalog: Catalog, pumps: Sequence[Pump]
) -> Callable[[float], bool]:
    """Return a test: can the narrowest drop, at a flow, throttle the shut-off head of every pump?

    Where it can, some width of drop suits any pump, since a wider drop loses a little less open and
    still takes up far more shut; a smaller inflow is then never worse than a larger one.
    """
    strongest = max((pump.heads_m[0] for pump in pumps), default=0.0)
    strongest *= 1.0 + site.goals.pump_margin
    drops = [
        (pipe, valve)
        for pipe in catalog.pipes.values()
        for valve in catalog.valves.values()
        if (valve.series, valve.nominal) == (pipe.series, pipe.nominal)
        and may_buy(pipe, site)
        and (not site.purchase.valve_kinds or valve.kind in site.purchase.valve_kinds)
    ]
    limit = site.goals.velocity_limit_m_s / (1.0 + site.goals.level_drift)

    @cache
    def tames(flow_m3_s: float) -> bool:
        return any(
            throttle_m(flow_m3_s, pipe, valve) >= strongest
            for pipe, valve in drops
            if flow_m3_s <= limit * float(bore_area_m2(pipe.bore_m))
        )

    return tames
