"""The catalog of parts: the shipped tables, with a user's own folder laid over them."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from optimizer.errors import BadInput, Problem
from optimizer.reading.catalog_columns import Columns, read_columns
from optimizer.reading.catalog_csv import where
from optimizer.reading.catalog_parts import build_catalog
from optimizer.reading.catalog_rules import rule_problems
from optimizer.reading.catalog_tables import Tables, lay_over, read_tables
from optimizer.records.parts import Catalog

PACKAGE = Path(__file__).resolve().parents[1]


def read_catalog(user_folder: Path | None = None) -> Catalog:
    """Read the shipped catalog and lay a user's folder over it.

    Args:
        user_folder: folder that may hold any of the shipped tables under the same names. A row
            with a known id replaces the shipped row, a new id extends the table; a curve
            (``pump_points.csv``, ``valve_openings.csv``) is replaced as a whole; ``prices.csv``
            replaces prices one by one. Files that do not end in ``.csv`` are passed over.

    Returns:
        Every part, in SI.

    Raises:
        BadInput: once, with every fault in every table, each naming file, line and column.
    """
    folder = shipped_folder()
    if user_folder is None:
        return _shipped_catalog(folder)
    columns, tables = _shipped_tables(folder)
    return _catalog(lay_over(tables, columns, user_folder))


@lru_cache(maxsize=1)
def _shipped_tables(folder: Path) -> tuple[Columns, Tables]:
    """Return the tables that came with the program: they stay as they are while it runs."""
    columns = read_columns(folder)
    return columns, read_tables(columns, folder)


@lru_cache(maxsize=1)
def _shipped_catalog(folder: Path) -> Catalog:
    return _catalog(_shipped_tables(folder)[1])


def read_folders(shipped: Path, user: Path | None) -> Catalog:
    """Read a whole catalog from one folder and an overlay from another.

    Args:
        shipped: folder with every table and ``columns.csv``.
        user: folder with any tables, or None.

    Raises:
        BadInput: as :func:`read_catalog`.
    """
    columns = read_columns(shipped)
    tables = read_tables(columns, shipped)
    return _catalog(tables if user is None else lay_over(tables, columns, user))


def _catalog(tables: Tables) -> Catalog:
    problems = [*tables.problems, *rule_problems(tables)]
    if problems:
        raise BadInput(problems)
    return build_catalog(tables)


def shipped_folder() -> Path:
    """Return the folder of the shipped tables: inside the installed package, else the clone's.

    Raises:
        BadInput: if neither is there, which means a broken install.
    """
    choices = (PACKAGE / "catalog_data", PACKAGE.parent / "catalog")
    for folder in choices:
        if folder.is_dir():
            return folder
    fix = "Install floodwright again, or run it from a whole clone."
    raise BadInput([Problem(where(choices[0]), "is missing: the catalog tables.", fix)])
