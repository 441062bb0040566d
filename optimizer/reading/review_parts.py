"""Parts named in a site must be in the catalog."""

from __future__ import annotations

from collections.abc import Iterable

from optimizer.errors import Problem
from optimizer.reading.pipe_names import pipe_ids, return_series, size_name
from optimizer.reading.review_names import RUNS
from optimizer.reading.review_paths import unknown, unknown_size
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site


def check_bed_type_parts(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Containers, media, stands and siphon kits are known."""
    problems: list[Problem] = []
    for i, each in enumerate(site.bed_types):
        at = ("bed_type", i)
        problems += unknown(
            each.container, catalog.containers, "container", lines, *at, "container"
        )
        problems += unknown(each.medium, catalog.media, "medium", lines, *at, "medium")
        problems += unknown(each.stand, catalog.stands, "stand", lines, *at, "stand")
        for j, kit in enumerate(each.kits):
            problems += unknown(kit, catalog.kits, "siphon kit", lines, *at, "kits", j)
    return problems


def check_pipe_series(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """The pipe series is known."""
    series = {pipe.series for pipe in catalog.pipes.values()}
    return unknown(site.purchase.pipe_series, series, "pipe series", lines, "buy", "pipe_series")


def check_pipe_sizes(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Pipe sizes, bought or laid already, are sizes or ids of the site's series."""
    sizes = pipe_ids(site.purchase.pipe_series, catalog)
    if not sizes:
        return []
    bought = ((size, ("buy", "pipes", i)) for i, size in enumerate(site.purchase.pipes))
    laid = ((p.pipe, ("standing", "pipe", i, "size")) for i, p in enumerate(site.standing.pipes))
    what = f"pipe size of series {site.purchase.pipe_series}"
    return [
        problem
        for size, path in (*bought, *laid)
        if size not in sizes.values()
        for problem in unknown_size(size_name(size), sizes, what, lines, *path)
    ]


def check_standing_runs(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Pipe laid already lies in the riser, the header or a row, at most once in each."""
    runs = (*RUNS, *(row.id for row in site.rows))
    problems: list[Problem] = []
    seen: set[str] = set()
    for i, pipe in enumerate(site.standing.pipes):
        path = ("standing", "pipe", i, "run")
        problems += unknown(pipe.run, runs, "run of pipe", lines, *path)
        if pipe.run in seen:
            fix = "Keep one size for each run."
            problems.append(Problem(lines.where(*path), f"{pipe.run!r} is given again.", fix))
        seen.add(pipe.run)
    return problems


def check_stock(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Pipe lying ready is of a size that may be laid, in the supply's or the returns' series."""
    laid = {site.purchase.pipe_series, return_series(site)}
    if not all(pipe_ids(series, catalog) for series in laid):
        return []  # their own checks say so
    problems: list[Problem] = []
    for i, each in enumerate(site.standing.stock):
        series, at = each.series or site.purchase.pipe_series, ("standing", "stock", i)
        if series not in laid:
            problems += unknown(series, laid, "series that this site lays", lines, *at, "series")
            continue
        sizes, size = pipe_ids(series, catalog), size_name(each.pipe)
        pipe = sizes.get(size, each.pipe)
        if pipe not in sizes.values():
            what = f"pipe size of series {series}"
            problems += unknown_size(size, sizes, what, lines, *at, "size")
        elif pipe not in _may_be_laid(site, catalog):
            what = f"{size!r} of series {series} lies ready, but no pipe may be laid in it."
            fix = "Name this size also in [buy] pipes or [returns] pipes."
            problems.append(Problem(lines.where(*at, "size"), what, fix))
    return problems


def _may_be_laid(site: Site, catalog: Catalog) -> set[str]:
    """Return every pipe, by id, that supply or return pipe may be laid in.

    Where a size is named that the series lacks, its own check says so, and all count here.
    """
    sides = [(site.purchase.pipe_series, site.purchase.pipes)]
    sides += [(return_series(site), site.returns.pipes)] if site.returns.designed else []
    found: set[str] = set()
    for series, named in sides:
        ids = pipe_ids(series, catalog)
        every = set(ids.values())
        allowed = {ids.get(size_name(each), each) for each in named}
        found |= allowed if allowed and allowed <= every else every
    return found


def check_valve_kinds(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Valve kinds are made to fit the site's pipe series."""
    series = site.purchase.pipe_series
    kinds = {valve.kind for valve in catalog.valves.values() if valve.series == series}
    if not pipe_ids(series, catalog):
        kinds = {valve.kind for valve in catalog.valves.values()}
    return _all_known(site.purchase.valve_kinds, kinds, "kind of valve", lines, "valves")


def check_pumps_and_sumps(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Pumps and sumps that may be bought are known."""
    pumps = _all_known(site.purchase.pumps, catalog.pumps, "pump", lines, "pumps")
    return pumps + _all_known(site.purchase.sumps, catalog.sumps, "sump", lines, "sumps")


def check_standing_parts(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """The pump and sump that are there already are known."""
    problems: list[Problem] = []
    if site.standing.pump is not None:
        path = ("standing", "pump", "part")
        problems += unknown(site.standing.pump, catalog.pumps, "pump", lines, *path)
    if site.standing.sump is not None:
        path = ("standing", "sump", "part")
        problems += unknown(site.standing.sump, catalog.sumps, "sump", lines, *path)
    return problems


def _all_known(
    names: Iterable[str], valid: Iterable[str], what: str, lines: KeyLines, key: str
) -> list[Problem]:
    choices = set(valid)
    found = (unknown(name, choices, what, lines, "buy", key, i) for i, name in enumerate(names))
    return [problem for problems in found for problem in problems]


PART_CHECKS = (
    check_bed_type_parts,
    check_pipe_series,
    check_pipe_sizes,
    check_standing_runs,
    check_stock,
    check_valve_kinds,
    check_pumps_and_sumps,
    check_standing_parts,
)
