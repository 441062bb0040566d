"""Whether every pipe size that may be laid has its fittings in the catalog, so that it has a price.

The shipped tables hold them all; a grower's own series may not.
"""

from __future__ import annotations

from collections.abc import Iterable

from optimizer.errors import Problem
from optimizer.reading.pipe_names import pipe_ids, return_series, size_name
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

RETURN_FITTINGS = ("elbow_90", "elbow_45", "tee", "clean_out")
SUPPLY_FITTINGS = (*RETURN_FITTINGS, "reducer", "union", "strainer")


def check_supply_fittings(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Every size of supply pipe has the fittings that supply pipe is laid with."""
    series = site.purchase.pipe_series
    kinds: tuple[str, ...] = SUPPLY_FITTINGS
    if site.purchase.non_return_valve:
        kinds = (*kinds, "non_return_valve")
    sizes = sizes_of(series, site.purchase.pipes, catalog)
    return lacking_fittings(series, sizes, kinds, catalog, lines.where("buy", "pipe_series"))


def check_return_fittings(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Every size of return pipe has the fittings that return pipe is laid with."""
    if not site.returns.designed:
        return []
    series = return_series(site)
    sizes = sizes_of(series, site.returns.pipes, catalog)
    return lacking_fittings(
        series, sizes, RETURN_FITTINGS, catalog, lines.where("returns", "pipe_series")
    )


def sizes_of(series: str, allowed: Iterable[str], catalog: Catalog) -> list[str]:
    """Return the nominal sizes of a series that may be laid."""
    names = {size_name(each) for each in allowed} | set(allowed)
    ids = pipe_ids(series, catalog)
    return [size for size, name in ids.items() if not names or size in names or name in names]


def lacking_fittings(
    series: str, sizes: Iterable[str], kinds: Iterable[str], catalog: Catalog, where: str
) -> list[Problem]:
    """Return the problem that some sizes lack some kinds of fitting, if they do."""
    there = {(f.kind, f.nominal) for f in catalog.fittings.values() if f.series == series}
    lacking = [f"{kind} {size}" for kind in kinds for size in sizes if (kind, size) not in there]
    if not lacking:
        return []
    more = f" and {len(lacking) - 3} more" if len(lacking) > 3 else ""
    what = f"series {series!r} has no {', '.join(lacking[:3])}{more} in fittings.csv."
    return [Problem(where, what, "Add these fittings, or name only sizes that have them.")]


FITTING_CHECKS = (check_supply_fittings, check_return_fittings)
