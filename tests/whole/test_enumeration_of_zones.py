"""Zones in turn against an enumeration of every choice, on random tiny sites."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.candidates.layouts import layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.records.site import Site
from optimizer.records.zones import Zones
from tests.builders.random_site import random_site
from tests.oracles.enumerate_site import least_cost_cents
from tests.whole.test_enumeration import program_cost_cents

SITES = 200
CHUNK = 10
BEDS_MOST = 4


def in_turn(site: Site, seed: int) -> Site:
    """The site with zones asked for, floods seldom enough for them, and what they exclude left out.

    Pipe that lies already has no timed valve of its own in the enumeration.
    """
    goals = replace(
        site.goals,
        floods_per_hour_least=(0.25, 0.4, 0.8)[seed % 3],
        floods_per_hour_most=None,
        pump_hours_per_day=24.0,
    )
    zones = Zones(most=3, floods=1 + seed % 2, change_s=20.0)
    standing = replace(site.standing, pipes=())
    return replace(site, goals=goals, zones=zones, standing=standing, fish_tank=None)


@pytest.mark.parametrize("first", range(0, SITES, CHUNK))
def test_every_number_of_zones_costs_the_least_of_all_choices_or_has_none(first):
    # Beside what the enumeration of plain sites tries, it takes the greatest zone's flow in every
    # pipe and pump, floods from empty in a turn, and a timed valve where a zone's pipe begins.
    differing, seen = [], 0
    for seed in range(first, first + CHUNK):
        site, catalog = random_site(seed, BEDS_MOST, tiny=True)
        for layout in layouts_of(in_turn(site, seed)):
            if layout.site.zones is None:
                continue
            network = candidate_network(layout.site)
            found = program_cost_cents(layout.site, catalog, network, "complete")
            least = least_cost_cents(layout.site, catalog, network)
            seen += found is not None
            if found != least:
                differing.append((seed, layout.name, found, least))
    assert differing == []
    assert seen
