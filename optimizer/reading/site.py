"""Read a site file: one hand-written TOML file that says what a grower has and wants."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optimizer.errors import BadInput, Problem
from optimizer.reading.included import with_included
from optimizer.reading.site_build import build_site
from optimizer.reading.site_models import SiteTable
from optimizer.reading.site_models_standing import StandingTable
from optimizer.reading.site_problems import problems_of
from optimizer.reading.site_text import KeyLines, load_toml, nested_too_deep, parse_toml
from optimizer.records.site import Site


@dataclass(frozen=True)
class SiteFile:
    """A site file as read.

    Attributes:
        site: the site; pipes still go by the nominal sizes the grower wrote
            (:func:`optimizer.reading.pipe_names.with_pipe_ids` looks them up).
        prices: part id to a price that replaces the catalog's.
        catalog_folder: the grower's own catalog folder, if any.
        lines: where each key stands, for messages about the site.
        described: what stands, as measured piece by piece; only ``floodwright mend`` reads it.
    """

    site: Site
    prices: Mapping[str, float]
    catalog_folder: Path | None
    lines: KeyLines
    described: StandingTable = field(default_factory=StandingTable)


def read_site(path: str | Path) -> SiteFile:
    """Read a site file. Needs no catalog.

    Args:
        path: the file; a catalog folder named in it is relative to it.

    Raises:
        BadInput: with every fault found. A file that is not TOML stops at its first fault.
    """
    path = Path(path)
    return _site_file(*load_toml(path), path.parent)


def read_site_text(text: str, file: str = "site.toml", folder: Path | None = None) -> SiteFile:
    """Read the text of a site file; ``file`` names it in messages.

    Raises:
        BadInput: as :func:`read_site`.
    """
    return _site_file(*parse_toml(text, file), folder or Path())


def _site_file(data: dict[str, Any], lines: KeyLines, folder: Path) -> SiteFile:
    table, problems = _checked(data, lines)
    problems += _prices_given_twice(data, lines)
    if problems or table is None:
        raise BadInput(problems)
    coefficients = with_included(table.coefficients, lines, folder)
    table = table.model_copy(update={"coefficients": coefficients})
    return SiteFile(
        site=build_site(table),
        prices={each.part: each.price for each in table.price},
        catalog_folder=None if table.catalog is None else folder / table.catalog,
        lines=lines,
        described=table.standing,
    )


def _checked(data: dict[str, Any], lines: KeyLines) -> tuple[SiteTable | None, list[Problem]]:
    gallon = data.get("gallon")
    context = {"gallon": gallon if gallon in ("US", "imperial") else None}
    try:
        return SiteTable.model_validate(data, context=context), []
    except ValidationError as error:
        return None, problems_of(error, lines)
    except RecursionError:
        return None, [nested_too_deep(lines.file)]


def _prices_given_twice(data: dict[str, Any], lines: KeyLines) -> list[Problem]:
    prices = data.get("price")
    tables = prices if isinstance(prices, list) else []
    problems: list[Problem] = []
    seen: set[str] = set()
    for index, each in enumerate(tables):
        part = each.get("part") if isinstance(each, dict) else None
        if not isinstance(part, str):
            continue
        if part in seen:
            at = lines.where("price", index, "part")
            problems.append(Problem(at, f"read {part!r} again.", "Keep one price."))
        seen.add(part)
    return problems
