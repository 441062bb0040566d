"""The riser from the pump to a tank that feeds the beds, and the site as its supply sees it."""

from __future__ import annotations

from dataclasses import replace

import networkx as nx

from optimizer.candidates.runs import Runs, link_to, trunk_of
from optimizer.candidates.segments import Segment, first_entered
from optimizer.candidates.tree import elbows_on, laid_length_m
from optimizer.candidates.ways import Place, place_of, point_of, ways
from optimizer.errors import BadInput, Problem
from optimizer.records.header_tank import TANK, TANK_RISER, HeaderTank
from optimizer.records.network import Point3, Stretch
from optimizer.records.site import Point, Site

INLET_OVER_WATER_M = 0.05
"""The riser ends this far above the tank's water: an air gap (common practice, no source)."""


def fed_from(site: Site) -> Site:
    """Return the site with its source where the beds are fed from: the tank, if there is one."""
    if site.header_tank is None:
        return site
    return replace(site, ground=replace(site.ground, sump=site.header_tank.at))


def source_level_m(site: Site) -> float:
    """Return the level at which the beds' supply begins: the sump's floor, or a tank's outlet."""
    tank = site.header_tank
    if tank is None:
        return site.ground.sump_floor_level_m
    return tank.water_level_m - tank.outlet_below_water_m


def tank_riser(site: Site, tank: HeaderTank, pipe_level_m: float) -> Stretch:
    """Return the riser: out of the sump, along the ground, up and over into the tank.

    It runs straight in plan, or along the corridors where there are any. A non-return valve keeps
    its water when the pump stops.

    Args:
        site: the site.
        tank: its tank.
        pipe_level_m: level at which pipe runs along the ground.

    Raises:
        BadInput: if no way leads from the sump to the tank.
    """
    plan = _way(site, tank)
    (x, y), (to_x, to_y) = plan[0], plan[-1]
    points: tuple[Point3, ...] = (
        (x, y, site.ground.sump_floor_level_m),
        *((px, py, pipe_level_m) for px, py in plan),
        (to_x, to_y, tank.water_level_m + INLET_OVER_WATER_M),
    )
    counts = elbows_on(points) | {
        "exit": 1,
        "non_return_valve": 1,
        "strainer": 1,
        "union": 1,
    }
    return Stretch(
        id=TANK_RISER,
        kind="riser",
        tail="pump",
        head=TANK,
        length_m=laid_length_m(points),
        points=points,
        fittings=tuple(sorted(counts.items())),
    )


def _way(site: Site, tank: HeaderTank) -> list[Point]:
    """Return the riser's way in plan, from the sump to the tank."""
    sump, at = site.ground.sump, tank.at
    if not site.ground.corridors:
        piece = Segment(TANK_RISER, sump, at)
        blocking = first_entered(piece, site.ground.keep_outs)
        if blocking:
            raise _blocked(f"it would cross keep-out {blocking.id!r}")
        return [sump] if sump == at else [sump, at]
    trunk = trunk_of(site)
    links = (link_to(trunk, "sump", sump), link_to(trunk, TANK, at))
    graph, _ = ways(Runs(tuple(trunk), (), links), (), site)
    try:
        path: list[Place] = nx.shortest_path(graph, place_of(sump), place_of(at), weight="length_m")
    except (nx.NetworkXNoPath, nx.NodeNotFound):
        raise _blocked("no corridor joins them") from None
    return [point_of(place) for place in path]


def _blocked(why: str) -> BadInput:
    what = f"no pipe can run from the sump to the tank: {why}."
    return BadInput([Problem("header_tank.at", what, "Move the tank, or clear the way.")])
