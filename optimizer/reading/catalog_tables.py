"""Catalog tables checked against their declared columns, the shipped folder under the user's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path

from optimizer.errors import Problem
from optimizer.reading.catalog_columns import (
    COLUMNS_FILE,
    Column,
    Columns,
    Fault,
    Value,
    read_cell,
)
from optimizer.reading.catalog_csv import RawRow, RawTable, read_raw_table, where
from optimizer.reading.nearest import shown

KEYS: Mapping[str, tuple[str, ...]] = {
    "prices": ("table", "part"),
    "valve_openings": ("kind", "opening_share"),
    "pump_points": ("pump", "flow_l_min"),
}
"""Columns that name a row; ``id`` in every table not listed."""

CURVES: Mapping[str, str] = {"valve_openings": "kind", "pump_points": "pump"}
"""Tables whose rows with one owner form a curve; a user's curve replaces the whole curve."""

LONGEST_NAME = 60
"""Letters of an unknown column's name that are compared with the known names."""


@dataclass(frozen=True)
class Entry:
    """One row by column name, with where it stands. Columns with a faulty cell are left out."""

    path: Path
    line: int
    values: Mapping[str, Value]

    def text(self, column: str) -> str:
        """Return a text cell."""
        return str(self.values[column])

    def number(self, column: str) -> float:
        """Return a number cell, in the unit its column name states."""
        return float(self.values[column])

    def number_or_none(self, column: str) -> float | None:
        """Return a number cell that may be empty; None where it is."""
        return float(self.values[column]) if self.values[column] != "" else None

    def has(self, *columns: str) -> bool:
        """Whether every one of the columns could be read."""
        return all(column in self.values for column in columns)

    def where(self, column: str | None = None) -> str:
        """Return the place for a Problem."""
        return where(self.path, self.line, column)


@dataclass
class Tables:
    """Every table's rows, with the problems found on the way and the tables not wholly read."""

    rows: dict[str, list[Entry]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    incomplete: set[str] = field(default_factory=set)

    def of(self, table: str) -> list[Entry]:
        """Return the rows of a table."""
        return self.rows.get(table, [])


def key_columns(table: str) -> tuple[str, ...]:
    """Return the columns that name a row of a table."""
    return KEYS.get(table, ("id",))


def read_tables(columns: Columns, folder: Path) -> Tables:
    """Read every table of a folder.

    Args:
        columns: the declared columns.
        folder: folder that holds every table.

    Returns:
        All rows and all problems; nothing is raised.
    """
    tables = Tables()
    for name in _names(columns):
        tables.rows[name] = _read_table(tables, columns[name], name, folder / f"{name}.csv")
    return tables


def lay_over(below: Tables, columns: Columns, user: Path) -> Tables:
    """Return tables with a user's over them: rows with a known key replace, others extend.

    Args:
        below: every table; left as it is.
        columns: the declared columns.
        user: folder that may hold any of the tables.

    Returns:
        All rows and all problems; nothing is raised.
    """
    tables = Tables(dict(below.rows), list(below.problems), set(below.incomplete))
    for name in _user_tables(tables, _names(columns), user):
        rows = _read_table(tables, columns[name], name, user / f"{name}.csv")
        tables.rows[name] = overlay(name, tables.rows[name], rows)
    return tables


def _names(columns: Columns) -> list[str]:
    return [name for name in columns if f"{name}.csv" != COLUMNS_FILE]


def overlay(table: str, below: list[Entry], above: list[Entry]) -> list[Entry]:
    """Return the rows of ``below`` with those of ``above`` replacing or extending them.

    In a table of curves the whole curve of an owner is replaced, since points of two curves do
    not make one.
    """
    owner = (CURVES[table],) if table in CURVES else key_columns(table)
    replaced = {_key(entry, owner) for entry in above if entry.has(*owner)}
    kept = [entry for entry in below if _key(entry, owner) not in replaced]
    return kept + above


def _key(entry: Entry, columns: tuple[str, ...]) -> tuple[Value | None, ...]:
    return tuple(entry.values.get(column) for column in columns)


def _user_tables(tables: Tables, names: list[str], user: Path) -> Iterator[str]:
    """Yield the tables a user's folder holds, noting files that are none."""
    try:
        files = sorted(path.name for path in user.iterdir() if path.suffix.lower() == ".csv")
    except (OSError, ValueError) as error:
        what = f"cannot be read as a folder ({error})."
        tables.problems.append(Problem(where(user), what, "Name a folder of CSV tables."))
        return
    for file in files:
        if file.removesuffix(".csv") in names:
            yield file.removesuffix(".csv")
        else:
            tables.problems.append(_unknown_table(user / file, names))


def _unknown_table(path: Path, names: list[str]) -> Problem:
    if path.name == COLUMNS_FILE:
        return Problem(where(path), "would redefine the columns, which are fixed.", "Remove it.")
    near = get_close_matches(path.stem.lower(), names, 1, 0.5)
    fix = f"Did you mean {near[0]}.csv?" if near else f"Name it one of {', '.join(names)}."
    return Problem(where(path), "is not a catalog table.", fix)


def _read_table(
    tables: Tables, columns: Mapping[str, Column], name: str, path: Path
) -> list[Entry]:
    raw = read_raw_table(path)
    if isinstance(raw, Problem):
        tables.problems.append(raw)
        tables.incomplete.add(name)
        return []
    problems = [*_header_problems(raw, columns)]
    read = [_read_row(raw, row, columns) for row in raw.rows]
    entries = [entry for entry, _ in read]
    for _, faults in read:
        problems += faults
    problems += _duplicates(entries, key_columns(name))
    if any(not entry.has(*key_columns(name)) for entry in entries):
        tables.incomplete.add(name)
    tables.problems += problems
    return entries


def _header_problems(raw: RawTable, columns: Mapping[str, Column]) -> Iterator[Problem]:
    names, line = raw.header.cells, raw.header.line
    for index, name in enumerate(names):
        if name not in columns:
            near = get_close_matches(name[:LONGEST_NAME], columns, 1, 0.5)
            fix = f"Did you mean {near[0]}?" if near else f"Columns are {', '.join(columns)}."
            yield Problem(where(raw.path, line), f"has the unknown column {shown(name)}.", fix)
        elif name in names[:index]:
            yield Problem(where(raw.path, line, name), "stands twice.", "Keep one of them.")
    for column in columns.values():
        if column.name not in names and column.required:
            fix = f"Add it: {column.meaning}."
            yield Problem(where(raw.path, line, column.name), "is a missing column.", fix)


def _read_row(
    raw: RawTable, row: RawRow, columns: Mapping[str, Column]
) -> tuple[Entry, list[Problem]]:
    """Read one row; a column whose absence the header already reports is left out quietly."""
    header, problems = raw.header.cells, []
    if len(row.cells) != len(header):
        what = f"has {len(row.cells)} cells where the header has {len(header)}."
        problems.append(Problem(where(raw.path, row.line), what, "Quote any cell with a comma."))
    cells = dict(zip(header, row.cells, strict=False))
    values: dict[str, Value] = {}
    for column in columns.values():
        if column.required and column.name not in cells:
            continue
        value = read_cell(column, cells.get(column.name, ""))
        if isinstance(value, Fault):
            place = where(raw.path, row.line, column.name)
            problems.append(Problem(place, value.what, value.fix))
        else:
            values[column.name] = value
    return Entry(raw.path, row.line, values), problems


def _duplicates(entries: list[Entry], key: tuple[str, ...]) -> Iterator[Problem]:
    seen: dict[tuple[Value | None, ...], int] = {}
    for entry in entries:
        name = _key(entry, key)
        if None in name:
            continue
        if name in seen:
            what = f"repeats {' '.join(map(str, name))} of line {seen[name]}."
            yield Problem(entry.where(key[-1]), what, "Keep one of the two rows.")
        seen.setdefault(name, entry.line)
