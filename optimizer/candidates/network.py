"""The candidate network of a site: pump, riser, header, laterals, drops and bed positions.

Node names: ``pump``, ``tank`` where one feeds the beds, ``take_off A3`` where bed A3's drop leaves
its lateral, ``bed A3``, and ``junction 1``, ``junction 2`` ... for branchings, numbered from the
pump.
"""

from __future__ import annotations

from itertools import pairwise

import networkx as nx

from optimizer.candidates.entries import join_rows, joints_of, merge_joints
from optimizer.candidates.layouts import is_one_layout
from optimizer.candidates.ring import closed, ring_ends
from optimizer.candidates.runs import positions_of, runs_of
from optimizer.candidates.tank import fed_from, source_level_m, tank_riser
from optimizer.candidates.tree import (
    Leg,
    elbows_on,
    goes_straight,
    keep_serving,
    merged_legs,
    shortest_tree,
)
from optimizer.candidates.ways import (
    Place,
    give_levels,
    place_of,
    place_of_bed,
    place_of_pump,
    ways,
)
from optimizer.candidates.zones import with_timed_valves
from optimizer.errors import BadInput, Problem
from optimizer.records.header_tank import TANK
from optimizer.records.network import CandidateNetwork, Dropped, Point3, Position, Stretch
from optimizer.records.site import Site


def candidate_network(site: Site) -> CandidateNetwork:
    """Return every place and stretch that could be built on the site.

    A row that may hold no bed (``beds_most`` 0) has its say in where the header lies, and neither
    pipe nor tee. Horizontal lengths are measured along the route; a stretch between places of
    different level is longer by the difference. Levels between rows are those of the nearest row
    along the pipe.

    Raises:
        BadInput: if a position cannot be reached without crossing a keep-out, or the site leaves
            its layout open (:func:`optimizer.candidates.layouts.layouts_of`).
    """
    _require_one_layout(site)
    whole, site = site, fed_from(site)
    positions = positions_of(site)
    runs, source = runs_of(site), place_of_pump(site)
    _require_own_places(positions, whole)
    graph, dropped = ways(runs, positions, site)
    everywhere = {place_of_bed(p, site): p for p in positions}
    unbuilt = {row.id for row in site.rows if row.beds_most == 0}
    served = {place: p for place, p in everywhere.items() if p.row not in unbuilt}
    join_rows(graph, joints_of(runs), source, served)
    full_tree = shortest_tree(graph, source)
    _require_reach(served, full_tree, dropped)
    tree = merge_joints(keep_serving(full_tree, served), source, served)
    levels = give_levels(
        graph,
        {place: p.ground_level_m + site.ground.pipe_height_m for place, p in everywhere.items()},
    )
    ends = ring_ends(tree, site)
    legs = merged_legs(tree, source, {*served, *ends})
    names = _node_names(legs, {source: "pump" if site is whole else TANK}, served)
    stretches = [
        *_risers_to_tank(whole, levels[place_of(site.ground.sump)]),
        *_laid_stretches(legs, names, levels, served, site),
        *(
            _drop(p, levels[place], tree.out_degree(place) == 0 and _is_single(site, p))
            for place, p in served.items()
        ),
    ]
    stretches = with_timed_valves(stretches, whole)
    built = tuple(served.values())
    network = CandidateNetwork(
        _frozen_graph(stretches, built), built, tuple(_parents_first(stretches)), dropped
    )
    return closed(network, site, [(x * 1e-6, y * 1e-6) for x, y, _ in ends])


def _require_one_layout(site: Site) -> None:
    if not is_one_layout(site):
        what = "several layouts are left open here; this needs one."
        fix = "Use `floodwright design`, which compares them, or choose one."
        raise BadInput([Problem("ground", what, fix)])


def _risers_to_tank(site: Site, level_m: float) -> list[Stretch]:
    return [] if site.header_tank is None else [tank_riser(site, site.header_tank, level_m)]


def _require_own_places(positions: tuple[Position, ...], site: Site) -> None:
    taken: dict[Place, str] = {place_of(site.ground.sump): "the sump"}
    if site.header_tank is not None:
        taken[place_of(site.header_tank.at)] = "the tank"
    names: set[str] = set()
    problems: list[Problem] = []
    for p in positions:
        place = place_of((p.x_m, p.y_m))
        if place in taken:
            problems.append(
                Problem(
                    f"position {p.id}",
                    f"it stands at the same place as {taken[place]}.",
                    "Move one of them.",
                )
            )
        taken.setdefault(place, f"position {p.id}")
        if p.id in names:
            problems.append(
                Problem(
                    f"position {p.id}",
                    f"another position is called {p.id} too.",
                    f"Rename row {p.row}, best to a name that ends in a letter.",
                )
            )
        names.add(p.id)
        if p.id in ("pump", TANK) or p.id.startswith(("junction ", "take_off ")):
            problems.append(
                Problem(f"position {p.id}", "this name is used for pipe.", "Choose another name.")
            )
    if problems:
        raise BadInput(problems)


def _require_reach(
    served: dict[Place, Position], tree: nx.DiGraph[Place], dropped: tuple[Dropped, ...]
) -> None:
    cut_off = [p for place, p in served.items() if place not in tree]
    reasons = "; ".join(sorted({f"{d.run}: {d.reason}" for d in dropped})) or "no corridor joins it"
    problems = [
        Problem(
            f"position {p.id}",
            f"no pipe can reach it ({reasons}).",
            "Move the keep-out or the bed, add a corridor around it, or make two rows of its row: "
            "each row is fed from one place.",
        )
        for p in cut_off
    ]
    if problems:
        raise BadInput(problems)


def _is_single(site: Site, position: Position) -> bool:
    return next(row.named for row in site.rows if row.id == position.row)


def _node_names(
    legs: list[Leg], source: dict[Place, str], served: dict[Place, Position]
) -> dict[Place, str]:
    names = dict(source)
    junctions = 0
    for leg in legs:
        if leg.head in served:
            names[leg.head] = served[leg.head].take_off
        else:
            junctions += 1
            names[leg.head] = f"junction {junctions}"
    return names


def _laid_stretches(
    legs: list[Leg],
    names: dict[Place, str],
    levels: dict[Place, float],
    served: dict[Place, Position],
    site: Site,
) -> list[Stretch]:
    rows_below = _rows_below(legs, served)
    branches_at: dict[Place, int] = {}
    for leg in legs:
        branches_at[leg.tail] = branches_at.get(leg.tail, 0) + 1
    routes = {leg.head: _route(leg, levels, names, site) for leg in legs}
    stretches: list[Stretch] = []
    for leg in legs:
        points = routes[leg.head]
        counts = dict(elbows_on(points))
        if names[leg.tail] == TANK:
            counts |= {"bulkhead": 1, "union": 1}
        elif names[leg.tail] == "pump":
            counts |= {"strainer": 1, "union": 1}
            if site.purchase.non_return_valve:
                counts["non_return_valve"] = 1
        else:
            straight = goes_straight(routes[leg.tail], points)
            is_tee = branches_at[leg.tail] > 1 or leg.tail in served
            if is_tee:
                counts["tee_run" if straight else "tee_branch"] = 1
        rows = rows_below[leg.head]
        row = next(iter(rows)) if len(rows) == 1 else None
        kind = "riser" if names[leg.tail] == "pump" else ("lateral" if row else "header")
        stretches.append(
            Stretch(
                id=f"{kind} to {names[leg.head].removeprefix('take_off ')}",
                kind=kind,
                tail=names[leg.tail],
                head=names[leg.head],
                length_m=leg.length_m + sum(abs(b[2] - a[2]) for a, b in _pairs(points)),
                points=points,
                fittings=tuple(sorted(counts.items())),
                row=row,
            )
        )
    return stretches


def _pairs(points: tuple[Point3, ...]) -> list[tuple[Point3, Point3]]:
    return list(pairwise(points))


def _route(
    leg: Leg, levels: dict[Place, float], names: dict[Place, str], site: Site
) -> tuple[Point3, ...]:
    """Return the leg's points with levels; the first begins in the sump, or at a tank's outlet."""
    points: list[Point3] = [
        (place[0] * 1e-6, place[1] * 1e-6, levels[place]) for place in leg.places
    ]
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


def _drop(position: Position, level_m: float, at_end: bool) -> Stretch:
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


def _parents_first(stretches: list[Stretch]) -> list[Stretch]:
    children: dict[str, list[Stretch]] = {}
    for stretch in stretches:
        children.setdefault(stretch.tail, []).append(stretch)
    ordered: list[Stretch] = []
    stack = ["pump"]
    while stack:
        node = stack.pop(0)
        for stretch in children.get(node, []):
            ordered.append(stretch)
            stack.append(stretch.head)
    return ordered


def _frozen_graph(stretches: list[Stretch], positions: tuple[Position, ...]) -> nx.DiGraph[str]:
    graph: nx.DiGraph[str] = nx.DiGraph()
    for stretch in stretches:
        for node, point in ((stretch.tail, stretch.points[0]), (stretch.head, stretch.points[-1])):
            if node not in graph:
                kind = "position" if node.startswith("bed ") else "junction"
                graph.add_node(
                    node,
                    x_m=point[0],
                    y_m=point[1],
                    level_m=point[2],
                    kind="pump" if node == "pump" else kind,
                )
        graph.add_edge(stretch.tail, stretch.head, stretch=stretch)
    nx.freeze(graph)
    return graph
