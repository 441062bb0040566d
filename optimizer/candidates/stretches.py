"""Stretches of pipe along the legs of the supply tree: names, routes, lengths and fittings."""

from __future__ import annotations

from itertools import pairwise

from optimizer.candidates.tank import source_level_m
from optimizer.candidates.tree import Leg, elbows_on, goes_straight
from optimizer.candidates.ways import Place, point_of
from optimizer.records.header_tank import TANK
from optimizer.records.network import Point3, Position, Stretch
from optimizer.records.site import Site


def node_names(
    legs: list[Leg], source: dict[Place, str], served: dict[Place, Position]
) -> dict[Place, str]:
    """Return the node at every leg's end: the source, take-offs, and junctions from the pump on."""
    names = dict(source)
    junctions = 0
    for leg in legs:
        if leg.head in served:
            names[leg.head] = served[leg.head].take_off
        else:
            junctions += 1
            names[leg.head] = f"junction {junctions}"
    return names


def laid_stretches(
    legs: list[Leg],
    names: dict[Place, str],
    levels: dict[Place, float],
    served: dict[Place, Position],
    site: Site,
) -> list[Stretch]:
    """Return a stretch for every leg, in the order of the legs.

    A stretch that serves one row alone is that row's lateral, the first one from the pump a riser,
    all others header. Its length is that of its way in plan and all it climbs and falls.

    Args:
        legs: the legs, parents first.
        names: every place's node.
        levels: every place's level, in metres.
        served: the places where a bed may stand.
        site: the site, its source where the beds are fed from.
    """
    rows_below = _rows_below(legs, served)
    branches_at: dict[Place, int] = {}
    for leg in legs:
        branches_at[leg.tail] = branches_at.get(leg.tail, 0) + 1
    routes = {leg.head: _route(leg, levels, names, site) for leg in legs}
    stretches: list[Stretch] = []
    for leg in legs:
        points = routes[leg.head]
        rows = rows_below[leg.head]
        row = next(iter(rows)) if len(rows) == 1 else None
        kind = "riser" if names[leg.tail] == "pump" else ("lateral" if row else "header")
        begins = _at_the_source(names[leg.tail], site)
        if not begins and (branches_at[leg.tail] > 1 or leg.tail in served):
            begins = _at_a_tee(routes[leg.tail], points)
        counts = elbows_on(points) | begins
        stretches.append(
            Stretch(
                id=f"{kind} to {names[leg.head].removeprefix('take_off ')}",
                kind=kind,
                tail=names[leg.tail],
                head=names[leg.head],
                length_m=leg.length_m + sum(abs(b[2] - a[2]) for a, b in pairwise(points)),
                points=points,
                fittings=tuple(sorted(counts.items())),
                row=row,
            )
        )
    return stretches


def _at_the_source(tail: str, site: Site) -> dict[str, int]:
    """Return the fittings where a stretch leaves the pump or a tank; none elsewhere."""
    if tail == TANK:
        return {"bulkhead": 1, "union": 1}
    if tail != "pump":
        return {}
    valve = {"non_return_valve": 1} if site.purchase.non_return_valve else {}
    return {"strainer": 1, "union": 1} | valve


def _at_a_tee(incoming: tuple[Point3, ...], outgoing: tuple[Point3, ...]) -> dict[str, int]:
    return {"tee_run" if goes_straight(incoming, outgoing) else "tee_branch": 1}


def _route(
    leg: Leg, levels: dict[Place, float], names: dict[Place, str], site: Site
) -> tuple[Point3, ...]:
    """Return the leg's points with levels; the first begins in the sump, or at a tank's outlet."""
    points: list[Point3] = [(*point_of(place), levels[place]) for place in leg.places]
    if names[leg.tail] in ("pump", TANK):
        points[0] = (*points[0][:2], source_level_m(site))
    return tuple(points)


def _rows_below(legs: list[Leg], served: dict[Place, Position]) -> dict[Place, frozenset[str]]:
    below: dict[Place, set[str]] = {}
    for leg in reversed(legs):
        rows = below.setdefault(leg.head, set())
        if leg.head in served:
            rows.add(served[leg.head].row)
        below.setdefault(leg.tail, set()).update(rows)
    return {place: frozenset(rows) for place, rows in below.items()}


def drop_of(position: Position, level_m: float, at_end: bool) -> Stretch:
    """Return the drop of a position: a tee (an elbow at a lone bed), over the rim, out.

    Its length is zero here: rise and reach depend on the bed.
    """
    point = (position.x_m, position.y_m, level_m)
    first = ("elbow_90", 3) if at_end else ("elbow_90", 2)
    fittings = [("exit", 1), first, ("union", 1)]
    if not at_end:
        fittings.append(("tee_branch", 1))
    return Stretch(
        id=f"drop {position.id}",
        kind="drop",
        tail=position.take_off,
        head=f"bed {position.id}",
        length_m=0.0,
        points=(point,),
        fittings=tuple(sorted(fittings)),
        row=position.row,
    )
