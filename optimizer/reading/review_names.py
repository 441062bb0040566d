"""Names that must be unique, and words that mean something already."""

from __future__ import annotations

from collections.abc import Iterable

from optimizer.errors import Problem
from optimizer.physics.window import ROBUSTNESS
from optimizer.reading.nearest import choose_from
from optimizer.reading.review_paths import rows_with_paths
from optimizer.reading.site_text import KeyLines
from optimizer.reading.toml_positions import Path
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

RUNS = ("riser", "header")


def check_bed_type_names(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No two bed types share a name."""
    named = ((each.id, ("bed_type", i)) for i, each in enumerate(site.bed_types))
    return _repeats(named, lines)


def check_row_names(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No two rows or named positions share a name."""
    return _repeats(((row.id, path) for row, path in rows_with_paths(site)), lines)


def check_bed_names(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No two beds share a name: a bed in a row is called by the row's name and its number."""
    owners: dict[str, str] = {}
    problems: list[Problem] = []
    for row, path in rows_with_paths(site):
        names = [row.id] if row.named else [f"{row.id}{i + 1}" for i in range(row.positions)]
        taken = next((name for name in names if owners.get(name, row.id) != row.id), None)
        if taken is not None:
            what = f"a bed here and one of {owners[taken]!r} would both be called {taken!r}."
            fix = "Give one of them another name, best one that ends in a letter."
            problems.append(Problem(lines.where(*path, "name"), what, fix))
        owners |= {name: row.id for name in names if name not in owners}
    return problems


def check_ground_names(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No two corridors and no two keep-outs share a name."""
    ground = site.ground
    corridors = ((each.id, ("ground", "corridor", i)) for i, each in enumerate(ground.corridors))
    keep_outs = ((each.id, ("ground", "keep_out", i)) for i, each in enumerate(ground.keep_outs))
    return _repeats(corridors, lines) + _repeats(keep_outs, lines)


def check_row_names_are_free(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No row is called what a shared run of pipe is called."""
    what = "is the name of a shared run of pipe."
    return [
        Problem(lines.where(*path, "name"), f"{row.id!r} {what}", "Give the row another name.")
        for row, path in rows_with_paths(site)
        if row.id in (*RUNS, "pump", "tank")
    ]


def check_robustness(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Robustness is one of its three words."""
    read = site.goals.robustness
    if read in ROBUSTNESS:
        return []
    what = f"read {read!r}, expected {' or '.join(ROBUSTNESS)}."
    return [Problem(lines.where("goal", "robustness"), what, choose_from(read, ROBUSTNESS))]


def _repeats(named: Iterable[tuple[str, Path]], lines: KeyLines) -> list[Problem]:
    first: dict[str, Path] = {}
    problems: list[Problem] = []
    for name, path in named:
        if name not in first:
            first[name] = path
            continue
        what = f"{name!r} is the name of {lines.where(*first[name]) or 'another'} already."
        problems.append(Problem(lines.where(*path, "name"), what, "Give it another name."))
    return problems


NAME_CHECKS = (
    check_bed_type_names,
    check_row_names,
    check_bed_names,
    check_ground_names,
    check_row_names_are_free,
    check_robustness,
)
