"""The candidate network of a site: pump, riser, header, laterals, drops and bed positions.

Node names: ``pump``, ``tank`` where one feeds the beds, ``take_off A3`` where bed A3's drop leaves
its lateral, ``bed A3``, and ``junction 1``, ``junction 2`` ... for branchings, numbered from the
pump.
"""

from __future__ import annotations

import networkx as nx

from optimizer.candidates.entries import join_rows, joints_of, merge_joints
from optimizer.candidates.layouts import is_one_layout
from optimizer.candidates.ring import closed, ring_ends
from optimizer.candidates.runs import positions_of, runs_of
from optimizer.candidates.stretches import drop_of, laid_stretches, node_names
from optimizer.candidates.tank import fed_from, tank_riser
from optimizer.candidates.tree import keep_serving, merged_legs, shortest_tree
from optimizer.candidates.ways import (
    Place,
    give_levels,
    place_of,
    place_of_bed,
    place_of_pump,
    point_of,
    ways,
)
from optimizer.candidates.zones import with_timed_valves
from optimizer.errors import BadInput, Problem
from optimizer.records.header_tank import TANK
from optimizer.records.network import CandidateNetwork, Dropped, Position, Stretch
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
    names = node_names(legs, {source: "pump" if site is whole else TANK}, served)
    stretches = [
        *_risers_to_tank(whole, levels[place_of(site.ground.sump)]),
        *laid_stretches(legs, names, levels, served, site),
        *(
            drop_of(p, levels[place], tree.out_degree(place) == 0 and _is_single(site, p))
            for place, p in served.items()
        ),
    ]
    stretches = with_timed_valves(stretches, whole)
    built = tuple(served.values())
    network = CandidateNetwork(
        _frozen_graph(stretches), built, tuple(_parents_first(stretches)), dropped
    )
    return closed(network, site, [point_of(place) for place in ends])


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


def _frozen_graph(stretches: list[Stretch]) -> nx.DiGraph[str]:
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
