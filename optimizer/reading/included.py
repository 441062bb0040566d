"""Coefficients that a site file includes from a file of their own."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from optimizer.errors import BadInput, Problem
from optimizer.reading.site_fields import Table
from optimizer.reading.site_models import CoefficientsTable
from optimizer.reading.site_problems import problems_of
from optimizer.reading.site_text import KeyLines, load_toml


class IncludedTable(Table):
    """The whole of an included file."""

    coefficients: CoefficientsTable


def with_included(table: CoefficientsTable, lines: KeyLines, folder: Path) -> CoefficientsTable:
    """Return the coefficients of a site file with those of the file it includes.

    Args:
        table: of the site file.
        lines: of the site file.
        folder: the site file's folder; nothing outside it is read.

    Raises:
        BadInput: if the file lies elsewhere, cannot be read, includes another, or gives a
            coefficient that the site file gives too.
    """
    if table.include is None:
        return table
    path = _inside(table.include, lines, folder)
    data, included_lines = load_toml(path)
    try:
        included = IncludedTable.model_validate(data).coefficients
    except ValidationError as error:
        raise BadInput(problems_of(error, included_lines, IncludedTable)) from None
    given, added = table.model_fields_set - {"include"}, included.model_fields_set
    problems = [
        Problem(lines.where("coefficients", key), f"{table.include} gives it too.", "Keep one.")
        for key in sorted(given & added)
    ]
    if "include" in added:
        where = included_lines.where("coefficients", "include")
        problems.append(Problem(where, "an included file includes another.", "Take it out."))
    if problems:
        raise BadInput(problems)
    return table.model_copy(update={key: getattr(included, key) for key in added})


def _inside(name: str, lines: KeyLines, folder: Path) -> Path:
    """Return a file's path; it must lie in the site file's folder, links followed."""
    home = folder.resolve()
    try:
        path = (home / name).resolve()
    except (OSError, RuntimeError):  # a name too long, or a loop of links
        path = None
    if path is None or Path(name).is_absolute() or not path.is_relative_to(home):
        what = f"read {name!r}, which is not inside the site file's folder."
        fix = 'Put it there, and write its name from there, as "june/coefficients.toml".'
        raise BadInput([Problem(lines.where("coefficients", "include"), what, fix)])
    return path
