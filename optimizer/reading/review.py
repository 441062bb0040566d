"""Whether a site makes sense against the catalog: one small check for each rule that spans records.

A check never raises; it returns a problem for each breach. A part or bed type that is not known
is named once, by its own check, and passed over by the others.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from optimizer.errors import Problem
from optimizer.reading.priced import PRICE_FIELDS
from optimizer.reading.review_beds import BED_CHECKS
from optimizer.reading.review_fittings import FITTING_CHECKS
from optimizer.reading.review_ground import GROUND_CHECKS
from optimizer.reading.review_names import NAME_CHECKS
from optimizer.reading.review_parts import PART_CHECKS
from optimizer.reading.review_paths import unknown
from optimizer.reading.review_phases import PHASE_CHECKS
from optimizer.reading.review_plant import PLANT_CHECKS
from optimizer.reading.review_ring import RING_CHECKS
from optimizer.reading.review_rows import ROW_CHECKS
from optimizer.reading.review_tank import TANK_CHECKS
from optimizer.reading.review_water import WATER_CHECKS
from optimizer.reading.review_zones import ZONE_CHECKS
from optimizer.reading.site import SiteFile
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

Check = Callable[[Site, Catalog, KeyLines], list[Problem]]

CHECKS: tuple[Check, ...] = (
    *NAME_CHECKS,
    *PART_CHECKS,
    *ROW_CHECKS,
    *BED_CHECKS,
    *GROUND_CHECKS,
    *PLANT_CHECKS,
    *WATER_CHECKS,
    *TANK_CHECKS,
    *ZONE_CHECKS,
    *RING_CHECKS,
    *FITTING_CHECKS,
    *PHASE_CHECKS,
)


def review(site: Site, catalog: Catalog, lines: KeyLines | None = None) -> list[Problem]:
    """Return every breach of a rule, in the order of the file; empty for a sound site.

    Where the sump may stand at several places, each of them is held to every rule.

    Args:
        site: the site; pipes by nominal size or by catalog id.
        catalog: the catalog it will be designed from.
        lines: where the site's keys stand in its file, if it came from one.
    """
    lines = lines or KeyLines()
    grounds = site.ground.at_each_sump_place()
    sites = [replace(site, ground=ground) for ground in grounds]
    found = (p for check in CHECKS for each in sites for p in check(each, catalog, lines))
    return list(dict.fromkeys(found))


def review_file(file: SiteFile, catalog: Catalog) -> list[Problem]:
    """Return the breaches of a site file: those of its site, and prices of parts not known."""
    return review(file.site, catalog, file.lines) + check_prices(file, catalog)


def check_prices(file: SiteFile, catalog: Catalog) -> list[Problem]:
    """Every price is of a part in the catalog."""
    known = part_ids(catalog)
    return [
        problem
        for index, part in enumerate(file.prices)
        for problem in unknown(
            part, known, "part in the catalog", file.lines, "price", index, "part"
        )
    ]


def part_ids(catalog: Catalog) -> set[str]:
    """Return the id of everything that has a price."""
    return {part for table in PRICE_FIELDS for part in getattr(catalog, table)}
