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
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.site import Row, Site
from tests.oracles.enumerate_beds import Option, cents, options_of
from tests.oracles.enumerate_pipes import ROUNDING, Pipes, Ties
from tests.oracles.enumerate_plant import Plant, plants, tanks
from tests.oracles.enumerate_tank import lifts, over_outlet_m3, source_of
from tests.oracles.enumerate_ways import Picks, Steps, Tree, tree_of


def least_cost_cents(
    site: Site, catalog: Catalog, network: CandidateNetwork, steps: Steps | None = None
) -> int | None:
    """Return the least cost in cents, or None where nothing meets every requirement.

    ``steps`` cuts stretches that may have two sizes into steps: the least cost is then a floor or
    a ceiling, as they say.
    """
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
    tree = tree_of(network, source_of(site))
    best: int | None = None
    zone_flows = _zone_flows(site, options)
    for picks in _all_picks(site, options):
        found = _Search(site, catalog, network, tree, steps, zone_flows).cheapest(
            picks, lowest, drain - floor, best
        )
        best = found if best is None or (found is not None and found < best) else best
    return None if best is None else best + _fixed_cents(site, catalog)


def _fixed_cents(site: Site, catalog: Catalog) -> int:
    services = [s.price for s in catalog.services.values() if s.per == "site"]
    tank = site.header_tank.part if site.header_tank else None
    if site.zones is not None:
        able = [t for t in catalog.timers.values() if t.stations >= len(site.zones.groups)]
        services.append(min(timer.price for timer in able))
    return sum(cents(price) for price in services) + (
        cents(catalog.sumps[tank].price) if tank else 0
    )


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


FEED_KG_PER_M2_DAY = {"leafy": 0.05, "fruiting": 0.08}
"""Most feed a square metre takes up (FAO 589, as quoted in docs/assumptions.md)."""


def _area_least_m2(site: Site) -> float:
    fish = site.fish_tank
    fed = fish.feed_kg_per_day / FEED_KG_PER_M2_DAY[fish.crop] if fish else 0.0
    return max(site.goals.growing_area_least_m2, fed)


def _stock(site: Site, catalog: Catalog) -> dict[str, int]:
    metres: dict[str, float] = {}
    for each in site.standing.stock:
        metres[each.pipe] = metres.get(each.pipe, 0.0) + each.length_m
    return {
        name: math.floor(length * catalog.pipes[name].price_per_m * 100.0 + 1e-7)
        for name, length in metres.items()
    }


@dataclass(frozen=True)
class _Search:
    """One site, and how its stretches of two sizes are cut."""

    site: Site
    catalog: Catalog
    network: CandidateNetwork
    tree: Tree
    steps: Steps | None
    zone_flows: set[int]

    def cheapest(
        self, picks: Picks, lowest_outlet_m: float, lowest_drain_m: float, best: int | None
    ) -> int | None:
        """The least cost with given beds, if it is below the best so far."""
        site, catalog = self.site, self.catalog
        rows = {row.id: row for row in site.rows}
        built = [(rows[name], *pick) for name, pick in picks.items() if pick]
        if sum(beds for _, _, beds in built) < site.goals.beds_least or not built:
            return None
        area = sum(beds * option.area_m2 for _, option, beds in built)
        if area < _area_least_m2(site) - ROUNDING:
            return None
        at_beds = sum(
            beds * option.kit_cents
            + max(0, beds - row.standing_beds) * (option.shell_cents + option.work_cents)
            for row, option, beds in built
        )
        flows = _flows(site, picks)
        if min(flows) == 0:
            return None
        held = sum(beds * option.held_m3 for _, option, beds in built)
        two = self.steps if site.purchase.two_sizes_on_a_stretch else None
        pipes = Pipes(site, catalog, self.tree, picks, two)
        if not pipes.possible:
            return None
        stock, fixed = _stock(site, catalog), _fixed_cents(site, catalog)
        budget, runs_down = site.goals.budget, over_outlet_m3(site, catalog)
        for plant in self._plants(max(flows), lowest_outlet_m, lowest_drain_m):
            for tank in tanks(site, catalog, plant.band, lowest_drain_m):
                if held > tank.working_m3 + ROUNDING:
                    continue
                known = at_beds + plant.cents + tank.cents
                if best is not None and known + pipes.least_cents - sum(stock.values()) >= best:
                    continue
                left = None
                if budget is not None:
                    left = cents(budget) - (known - plant.later_cents) - fixed
                ties = Ties(left, site.purchase.pipe_sizes_most, stock)
                found = pipes.cheapest(plant, tank.spare_m3 - runs_down, lowest_outlet_m, ties)
                if found is not None and (best is None or known + found < best):
                    best = known + found
        return best

    def _plants(
        self, flow_steps: int, lowest_outlet_m: float, lowest_drain_m: float
    ) -> Iterator[Plant]:
        if self.site.header_tank is None:
            lesser = [each for each in self.zone_flows if each < flow_steps]
            return plants(
                self.site, self.catalog, flow_steps, lowest_outlet_m, lowest_drain_m, lesser
            )
        return lifts(self.site, self.catalog, self.network, flow_steps, lowest_drain_m)
