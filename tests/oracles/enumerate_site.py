"""The least cost of a tiny site by trying every choice in turn.

An oracle for the program: from the site, the catalog and the candidate network (lengths, fittings)
it works out inflows, losses, prices, drift authority and sump rules again with nothing but
``optimizer.physics``, and tries every number of beds in every row, every kit, every pipe size with
every valve on every stretch, every pump, number of pumps, level band and sump. Agreement with the
program shows that its tables, what they leave out as dominated, its rows and its solver lose
nothing. It is limited to sites of about four beds.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence

from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.site import Row, Site
from tests.oracles.enumerate_beds import Option, cents, options_of
from tests.oracles.enumerate_pipes import ROUNDING, Picks, Pipes, Tree, tree_of
from tests.oracles.enumerate_plant import plants, tanks


def least_cost_cents(site: Site, catalog: Catalog, network: CandidateNetwork) -> int | None:
    """Return the least cost in cents, or None where nothing meets every requirement."""
    options = options_of(site, catalog)
    placed = [
        (row, option, bed)
        for row in site.rows
        for option in options
        if option.bed_type in row.bed_types
        for bed in range(1, row.beds_most + 1)
        if _allows(row, option.bed_type)
    ]
    if not placed:
        return None
    floor = site.ground.sump_floor_level_m
    lowest = min(option.outlet_m(row.level_m) for row, option, _ in placed) - floor
    drain = min(
        row.level_m + option.drain_above_ground_m
        for row in site.rows
        for option in options
        if option.bed_type in row.bed_types
    )
    tree = tree_of(network)
    best: int | None = None
    zone_flows = _zone_flows(site, options)
    for picks in _all_picks(site, options):
        found = _cheapest(site, catalog, tree, picks, lowest, drain - floor, best, zone_flows)
        best = found if best is None or (found is not None and found < best) else best
    services = [s.price for s in catalog.services.values() if s.per == "site"]
    if site.zones is not None:
        able = [t for t in catalog.timers.values() if t.stations >= len(site.zones.groups)]
        services.append(min(timer.price for timer in able))
    return None if best is None else best + sum(cents(price) for price in services)


def _zone_flows(site: Site, options: Sequence[Option]) -> set[int]:
    """Every flow that some zone has in some way to build the site with enough beds."""
    if site.zones is None:
        return set()
    return {
        flow
        for picks in _all_picks(site, options)
        if sum(pick[1] for pick in picks.values() if pick) >= site.goals.beds_least
        for flow in _flows(site, picks)
        if flow
    }


def _flows(site: Site, picks: Picks) -> list[int]:
    """The flow of every zone, or of all beds where none turn."""
    groups = site.zones.groups if site.zones else [tuple(picks)]
    return [
        sum(picks[row][1] * picks[row][0].steps for row in group if picks[row]) for group in groups
    ]


def _allows(row: Row, bed_type: str) -> bool:
    return not row.standing_beds or row.standing_type in (None, bed_type)


def _all_picks(site: Site, options: Sequence[Option]) -> Iterator[Picks]:
    """Every number of beds of every type in every row, with one kit for each type in use."""
    by_type: dict[str, list[Option]] = {}
    for option in options:
        by_type.setdefault(option.bed_type, []).append(option)
    choices: list[list[tuple[str, int] | None]] = []
    for row in site.rows:
        rows: list[tuple[str, int] | None] = []
        if row.beds_least == 0 and row.standing_beds == 0:
            rows.append(None)
        least = max(1, row.beds_least, row.standing_beds)
        rows += [
            (name, beds)
            for name in row.bed_types
            if name in by_type and _allows(row, name)
            for beds in range(least, row.beds_most + 1)
        ]
        choices.append(rows)
    for chosen in itertools.product(*choices):
        used = sorted({pick[0] for pick in chosen if pick})
        for kits in itertools.product(*(by_type[name] for name in used)):
            kit = dict(zip(used, kits, strict=True))
            yield {
                row.id: (kit[pick[0]], pick[1]) if pick else None
                for row, pick in zip(site.rows, chosen, strict=True)
            }


def _cheapest(
    site: Site,
    catalog: Catalog,
    tree: Tree,
    picks: Picks,
    lowest_outlet_m: float,
    lowest_drain_m: float,
    best: int | None,
    zone_flows: Iterable[int] = (),
) -> int | None:
    rows = {row.id: row for row in site.rows}
    built = [(rows[name], *pick) for name, pick in picks.items() if pick]
    if sum(beds for _, _, beds in built) < site.goals.beds_least or not built:
        return None
    area = sum(beds * option.area_m2 for _, option, beds in built)
    if area < site.goals.growing_area_least_m2 - ROUNDING:
        return None
    at_beds = sum(
        beds * option.kit_cents
        + max(0, beds - row.standing_beds) * (option.shell_cents + option.work_cents)
        for row, option, beds in built
    )
    flows = _flows(site, picks)
    flow, lesser = max(flows), [each for each in zone_flows if each < max(flows)]
    if min(flows) == 0:
        return None
    held = sum(beds * option.held_m3 for _, option, beds in built)
    pipes = Pipes(site, catalog, tree, picks)
    if not pipes.possible:
        return None
    for plant in plants(site, catalog, flow, lowest_outlet_m, lowest_drain_m, lesser):
        for tank in tanks(site, catalog, plant.band, lowest_drain_m):
            if held > tank.working_m3 + ROUNDING:
                continue
            known = at_beds + plant.cents + tank.cents
            if best is not None and known + pipes.least_cents >= best:
                continue
            found = pipes.cheapest(plant, tank.spare_m3, lowest_outlet_m)
            if found is not None and (best is None or known + found < best):
                best = known + found
    return best
