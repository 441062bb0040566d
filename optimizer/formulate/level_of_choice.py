"""The sump's lowest level, kept while the choice of pumps or sumps is narrowed."""

from __future__ import annotations

from dataclasses import replace

from optimizer.formulate.bed_options import bed_candidates
from optimizer.formulate.build import water_ceiling_m
from optimizer.formulate.pump_tables import allowed_pumps
from optimizer.formulate.sump_tables import allowed_sumps, fitting_pumps, lowest_level_m
from optimizer.records.parts import Catalog
from optimizer.records.site import Site


def with_level_of_choice(site: Site, catalog: Catalog) -> Site:
    """Return a site whose sump stays as full as its whole choice of pumps asks.

    Every pump that may be bought is kept under water. Narrow the choice, and the water would stand
    lower and the pump lift higher: what runs now could be refused.
    """
    purchase = replace(site.purchase, lowest_level_least_m=level_of_choice_m(site, catalog))
    return replace(site, purchase=purchase)


def level_of_choice_m(site: Site, catalog: Catalog) -> float:
    """Return the lowest level above the sump's floor that a site's whole choice of pumps asks.

    As in :func:`optimizer.formulate.build.formulate`: of the pumps that fit below the lowest siphon
    outlet, and below a fish tank's water.
    """
    pumps, sumps = allowed_pumps(site, catalog), allowed_sumps(site, catalog)
    candidates, _ = bed_candidates(site, catalog, fitting_pumps(pumps, sumps))
    ceiling_m = water_ceiling_m(site, candidates)
    return lowest_level_m(pumps, sumps, site.purchase.lowest_level_least_m, ceiling_m)
