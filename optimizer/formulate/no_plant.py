"""Why no pump serves a site, or none in quiet, and why beds cannot turn a fish tank over enough."""

from __future__ import annotations

import math
from collections.abc import Sequence

from optimizer.errors import Infeasible, Remedy
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.pump_tables import PumpTables, counted_curve
from optimizer.formulate.sump_tables import LEVEL_ROUNDING_M, SWINGS_M, fitting_pumps
from optimizer.physics.noise import together_db
from optimizer.records.parts import Catalog, Pump, Sump
from optimizer.records.problem import LevelBand, PumpOption
from optimizer.records.site import Site
from optimizer.units_told import HAIR, at_least, at_most, told

SECONDS_PER_HOUR = 3600.0
DIGITS = 2  # turnovers of a remedy are rounded down to so many decimals: they then suffice


def require_turnover(site: Site, enough: Sequence[int], most_m3_s: float) -> None:
    """Refuse a site whose beds together take too little water to turn its fish tank over.

    Args:
        site: the site.
        enough: total flows, in steps, that would do.
        most_m3_s: the most that its beds can take.

    Raises:
        Infeasible: where no flow would do, with the most turnovers and the largest tank.
    """
    tank = site.fish_tank
    if tank is None or enough or most_m3_s <= 0.0:
        return
    wanted, units = tank.turnovers_per_hour_least, site.units
    turnovers = _down(most_m3_s * SECONDS_PER_HOUR / tank.volume_m3, DIGITS)
    water = at_most(most_m3_s * SECONDS_PER_HOUR / wanted, "volume", units)
    taken = told(wanted * tank.volume_m3 / SECONDS_PER_HOUR, "flow", units)
    raise Infeasible(
        f"Turning {told(tank.volume_m3, 'volume', units)} of fish water over {wanted:g} "
        f"time{'' if wanted == 1 else 's'} an hour takes {taken}, and all beds together take at "
        f"most {told(most_m3_s, 'flow', units)}.",
        [
            Remedy("turnovers of the fish tank", f"ask for at most {turnovers:g} per hour."),
            Remedy("water in the fish tank", f"a tank of at most {water}."),
            Remedy("the number of beds", "make room for more beds, or for larger ones."),
        ],
    )


def require_room_for_a_pump(
    pumps: Sequence[Pump],
    sumps: Sequence[Sump],
    lowest_siphon_outlet_m: float,
    fish_water_m: float = math.inf,
    units: str = "metric",
) -> None:
    """Refuse a site whose sump has no water deep enough for any allowed pump.

    Args:
        pumps: the pumps that may run.
        sumps: the sumps that may be used.
        lowest_siphon_outlet_m: lowest drain outlet of any bed above the sump's floor.
        fish_water_m: water of a fish tank on the return above the sump's floor; infinite without.
        units: those that a refusal is told in.

    Raises:
        Infeasible: where no pump stays under water, with the height that is missing.
    """
    ceiling_m = min(lowest_siphon_outlet_m, fish_water_m)
    if not pumps or fitting_pumps(pumps, sumps, ceiling_m):
        return
    submergence_m = min(pump.submergence_m for pump in pumps)
    needed_m = submergence_m + SWINGS_M[0]
    tank_m = max(sump.depth_m - sump.freeboard_m for sump in sumps)

    def length(value_m: float) -> str:
        return told(value_m, "length", units)

    clash = (
        f"The sump needs at least {length(needed_m)} of water, {length(submergence_m)} over its "
        f"floor for the pump and {length(SWINGS_M[0])} for its level to move in"
    )
    if tank_m < needed_m - LEVEL_ROUNDING_M:
        told_of = f"{clash}. The deepest allowed sump holds {length(tank_m)}."
        change = "allow a deeper sump, or a pump that needs less water over it."
        raise Infeasible(told_of, [Remedy("sumps that may be bought", change)])
    lacking = at_least(needed_m - ceiling_m, "length", units)
    if fish_water_m < lowest_siphon_outlet_m:
        raise Infeasible(
            f"{clash}. The fish tank's water lies {length(fish_water_m)} above its floor, and "
            "would not run into a sump as full as that.",
            [
                Remedy(
                    "the fish tank's water must run into the sump",
                    f"set the fish tank at least {lacking} higher, or the sump so much lower.",
                )
            ],
        )
    raise Infeasible(
        f"{clash}. The lowest siphon outlet lies {length(lowest_siphon_outlet_m)} above its "
        "floor, and water above that outlet would keep the bed from draining.",
        [
            Remedy(
                "siphons must drain to the sump",
                f"set the beds at least {lacking} higher, or the sump so much lower.",
            )
        ],
    )


def require_a_level_band(
    bands: Sequence[LevelBand],
    sumps: Sequence[Sump],
    least_m: float,
    ceiling_m: float,
    units: str,
) -> None:
    """Refuse a site where no sump is deep enough for the level that is kept in it.

    Args:
        bands: the sump level bands there are.
        sumps: the sumps that may be used.
        least_m: level above the floor that is kept whatever the pumps.
        ceiling_m: level above the floor that the water stays below.
        units: those that a refusal is told in.

    Raises:
        Infeasible: where there is no band.
    """
    if bands:
        return
    deepest_m = min(max(sump.depth_m - sump.freeboard_m for sump in sumps), ceiling_m)
    kept, moves, deepest = (told(m, "length", units) for m in (least_m, SWINGS_M[0], deepest_m))
    raise Infeasible(
        f"The sump's water is kept at least {kept} deep, as the whole choice of pumps asks, and "
        f"its level moves by {moves} or more. No allowed sump holds so much: at most {deepest}.",
        [Remedy("sumps that may be bought", "allow a deeper sump.")],
    )


def require_a_pump(
    site: Site,
    allowed: Sequence[Pump],
    tables: PumpTables,
    bands: Sequence[LevelBand],
    flows: Sequence[int],
    lowest_outlet_m: float,
) -> None:
    """Refuse a site where no allowed pump has any duty, saying what is asked and what is given.

    Args:
        site: the site.
        allowed: the pumps that may run.
        tables: the duties found.
        bands: sump level bands.
        flows: total flows that the site may ask, in steps, rising.
        lowest_outlet_m: lowest inlet of any bed above the sump's floor.

    Raises:
        Infeasible: where there is no duty although there are flows.
    """
    if tables.duties or not flows or not allowed:
        return
    flow_m3_s = flows[0] * FLOW_STEP_M3_S
    lift_m = lowest_outlet_m - max((band.low_m + band.high_m) / 2.0 for band in bands)
    best, head_m = max(
        ((pump, _head_m(pump, flow_m3_s, site)) for pump in allowed),
        key=lambda found: (found[1], found[0].id),
    )
    flow, lift, head = (
        told(value, dimension, site.units)
        for value, dimension in ((flow_m3_s, "flow"), (lift_m, "length"), (head_m, "length"))
    )
    asked = (
        f"At the least flow that this site asks, {flow}, a pump must lift water {lift} to the "
        "lowest bed inlet"
    )
    if head_m > lift_m:
        clash = (
            f"{asked} and hold every inflow within {site.goals.level_drift:.0%} while the sump's "
            f"level moves. No allowed pump does both: {best.label} comes nearest with {head} of "
            "head."
        )
    elif head_m > 0.0:
        clash = f"{asked}. The strongest allowed pump there, {best.label}, gives {head}."
    else:
        clash = f"{asked}. No allowed pump gives so much water."
    change = "allow a pump with more head, or let more pumps run in parallel"
    raise Infeasible(clash, [Remedy("pumps that may be bought", f"{change}.")])


def require_a_quiet_pump(site: Site, catalog: Catalog, able: Sequence[PumpOption]) -> None:
    """Refuse a site where every pump that could serve it is heard for longer than it may be.

    Args:
        site: the site.
        catalog: its catalog.
        able: the pump options that have some duty.

    Raises:
        Infeasible: where all of them are too loud, with the quietest of them.
    """
    limit, hours = site.noise, site.goals.pump_hours_per_day
    if limit is None or not able:
        return
    if any(each.loud_hours <= limit.hours_per_day_most for each in able):
        return
    levels = [
        (together_db(level_db, each.count), catalog.pumps[each.pump].label, each.count)
        for each in able
        if (level_db := catalog.pumps[each.pump].noise_db) is not None
    ]
    told = "of none of them a sound level is told"
    if levels:
        quietest_db, label, count = min(levels)
        many = "" if count == 1 else f"{count} x "
        told = f"the quietest of them, {many}{label}, is at {quietest_db:.1f} dB"
    raise Infeasible(
        f"Every pump that can serve this site counts as louder than {limit.louder_than_db:g} dB "
        f"({told}) and would run {hours:.4g} hours a day, where {limit.hours_per_day_most:.4g} "
        "are allowed."
    )


def _head_m(pump: Pump, flow_m3_s: float, site: Site) -> float:
    """Return the head that as many pumps as may run in parallel give at a flow; 0 beyond it."""
    count = site.purchase.pumps_in_parallel_most
    curve = counted_curve(pump, count, site.goals)
    return float(curve.head_m(flow_m3_s)) if flow_m3_s <= curve.end_flow_m3_s else 0.0


def _down(value: float, digits: int) -> float:
    """Round down; what lies a hair below a round figure is that figure, as for flows."""
    return math.floor(value * 10.0**digits + HAIR) / 10.0**digits
