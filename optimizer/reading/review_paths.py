"""What the checks of a site share: where its records stand in its file, and their messages."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.errors import Problem
from optimizer.reading.nearest import choose_from
from optimizer.reading.site_text import KeyLines
from optimizer.reading.toml_positions import Path
from optimizer.records.site import KeepOut, Point, Row, Site
from optimizer.units import UnitError, parse_quantity
from optimizer.units_format import format_quantity


def rows_with_paths(site: Site) -> Iterator[tuple[Row, Path]]:
    """Yield each row with its path in the file; named positions stand in their own tables."""
    counts = {True: 0, False: 0}
    for row in site.rows:
        yield row, ("position" if row.named else "row", counts[row.named])
        counts[row.named] += 1


def unknown(
    name: str, valid: Iterable[str], what: str, lines: KeyLines, *path: str | int
) -> list[Problem]:
    """Return a problem if ``name`` is not among the valid names of ``what``."""
    choices = set(valid)
    if name in choices:
        return []
    return [Problem(lines.where(*path), f"read {name!r}, no {what}.", choose_from(name, choices))]


def unknown_size(
    size: str, valid: Iterable[str], what: str, lines: KeyLines, *path: str | int
) -> list[Problem]:
    """Return a problem if a pipe size is not among the valid ones, with the size nearest to it.

    A size is a name and is never converted; only the advice compares sizes as lengths, because the
    name most like "20 mm" is "200 mm".
    """
    choices = set(valid)
    if size in choices:
        return []
    try:
        wanted_m = parse_quantity(size, "length")
        near = min(choices, key=lambda each: (abs(parse_quantity(each, "length") - wanted_m), each))
        fix = f"The nearest size is {near!r}."
    except UnitError:
        fix = choose_from(size, choices)
    return [Problem(lines.where(*path), f"read {size!r}, no {what}.", fix)]


def lies_in(point: Point, keep_out: KeepOut) -> bool:
    """Return whether a point lies where no pipe may run; on its edge it does not."""
    (x1, y1), (x2, y2) = keep_out.low, keep_out.high
    return x1 < point[0] < x2 and y1 < point[1] < y2


def in_keep_outs(point: Point, site: Site, where: str) -> list[Problem]:
    """Return a problem for each keep-out of a site that a point lies in."""
    return [
        Problem(where, f"lies in keep-out {each.id!r}.", "Move one of them.")
        for each in site.ground.keep_outs
        if lies_in(point, each)
    ]


def report_units(site: Site) -> str:
    """Return the units that messages about a site are written in."""
    return site.units if site.units in ("metric", "us") else "metric"


def length_text(value_m: float, site: Site) -> str:
    """Return a length or level as messages about a site write it."""
    return format_quantity(value_m, "length", report_units(site))
