"""The program against an enumeration of every choice, on random tiny sites."""

from __future__ import annotations

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.formulate.build import formulate
from optimizer.milp.formulations import solve
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from tests.builders.random_site import random_site
from tests.oracles.enumerate_site import least_cost_cents
from tests.whole.agree_features import without_explanations

SITES = 300
CHUNK = 10
BEDS_MOST = 4


@pytest.mark.parametrize("first", range(0, SITES, CHUNK))
def test_both_programs_find_the_least_cost_of_all_choices_or_none_where_there_is_none(first):
    # The enumeration tries every count, kit, size, valve, pump, band and sump with nothing left
    # out as dominated, and adds up whole cents: at gap 0 all costs are equal to the cent, and a
    # program calls a site infeasible exactly where no choice passes.
    differing = []
    for seed in range(first, first + CHUNK):
        site, catalog = random_site(seed, BEDS_MOST, tiny=True)
        network = candidate_network(site)
        found = [program_cost_cents(site, catalog, network, f) for f in ("composed", "complete")]
        least = least_cost_cents(site, catalog, network)
        if found != [least, least]:
            differing.append((seed, found, least))
    assert differing == []


def program_cost_cents(
    site: Site, catalog: Catalog, network: CandidateNetwork, formulation: str
) -> int | None:
    try:
        problem = formulate(site, catalog, network).problem
        with without_explanations():
            return solve(problem, formulation, gap=0.0).record.cost_cents
    except Infeasible:
        return None
