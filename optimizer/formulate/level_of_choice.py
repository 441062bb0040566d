"""The sump's lowest level, kept while the choice of pumps or sumps is narrowed."""

from __future__ import annotations

from dataclasses import replace

from optimizer.formulate.pump_tables import allowed_pumps
from optimizer.formulate.sump_tables import allowed_sumps, lowest_level_m
from optimizer.records.parts import Catalog
from optimizer.records.site import Site


def with_level_of_choice(site: Site, catalog: Catalog) -> Site:
    """Return a site whose sump stays as full as its whole choice of pumps asks.

    Every pump that may be bought is kept under water. Narrow the choice, and the water would stand
    lower and the pump lift higher: what runs now could be refused.
    """
    pumps, sumps = allowed_pumps(site, catalog), allowed_sumps(site, catalog)
    least_m = lowest_level_m(pumps, sumps, site.purchase.lowest_level_least_m)
    return replace(site, purchase=replace(site.purchase, lowest_level_least_m=least_m))
