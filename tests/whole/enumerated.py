"""One tiny site with every feature that can be enumerated: the program against every choice."""

from __future__ import annotations

from optimizer.candidates.layouts import layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.formulate.build import formulate
from optimizer.milp.formulations import solve
from optimizer.records.choice import SolveRecord
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from tests.builders.case import Case
from tests.oracles.enumerate_site import least_cost_cents
from tests.oracles.enumerate_ways import Steps

STEPS = 3
"""Into how many steps the enumeration cuts a stretch of two sizes."""


def enumeration_faults(case: Case, layouts_most: int = 2) -> list[str]:
    """What the program and the enumeration do not agree on, layout by layout.

    Where a stretch may have two sizes its length is cut into steps, so the enumeration gives a
    floor and a ceiling; else both are the least cost to the cent.
    """
    faults = []
    for layout in layouts_of(case.site)[:layouts_most]:
        low, high = _enumerated(layout.site, case.catalog)
        record = _designed(layout.site, case.catalog)
        told = f"{layout.name or 'one layout'}: enumerated {low} to {high}, found {record}"
        if record is None:
            wrong = high is not None
        else:
            above = high is not None and record.bound_cents > high
            below = low is None or record.cost_cents < low
            wrong = above or below or (low == high != record.cost_cents)
        faults += [told] if wrong else []
    return faults


def _enumerated(site: Site, catalog: Catalog) -> tuple[int | None, int | None]:
    network = candidate_network(site)
    if not site.purchase.two_sizes_on_a_stretch:
        least = least_cost_cents(site, catalog, network)
        return least, least
    floor, ceiling = (
        least_cost_cents(site, catalog, network, Steps(STEPS, best)) for best in (True, False)
    )
    return floor, ceiling


def _designed(site: Site, catalog: Catalog) -> SolveRecord | None:
    try:
        return solve(formulate(site, catalog, candidate_network(site)).problem, gap=0.0).record
    except Infeasible:
        return None
