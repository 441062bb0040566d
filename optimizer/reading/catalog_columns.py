"""What columns.csv declares of every column, and one cell read by its declaration."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from optimizer.errors import BadInput, Problem
from optimizer.reading.catalog_csv import RawRow, RawTable, read_raw_table, where
from optimizer.reading.nearest import shown

COLUMNS_FILE = "columns.csv"
HEADER = ("table", "column", "type", "unit", "low", "high", "default", "required", "meaning")
NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?")
LONGEST_NUMBER = 40
IDENTIFIER = re.compile(r"[a-z0-9][a-z0-9_]*")
PLAIN_KINDS = ("id", "text", "number", "whole")

Value = str | float


@dataclass(frozen=True)
class Fault:
    """Why a cell cannot be used, and how to mend it."""

    what: str
    fix: str


@dataclass(frozen=True)
class Column:
    """The declaration of one column.

    Attributes:
        table: the table it stands in, without ``.csv``.
        name: its name, which ends in its unit.
        kind: id, text, number, whole or choice.
        choices: the words a choice may be.
        unit: unit of a number; empty for text.
        low: least number, or least number of letters.
        high: greatest number, or greatest number of letters.
        default: text an empty cell stands for; empty for none.
        required: whether a cell without default may not be empty; one that may then says nothing.
        meaning: what it says, for people.
    """

    table: str
    name: str
    kind: str
    choices: tuple[str, ...]
    unit: str
    low: float
    high: float
    default: str
    required: bool
    meaning: str


Columns = Mapping[str, Mapping[str, Column]]


def number_in(text: str) -> float | None:
    """Return the finite number written in plain digits, or None (no nan, inf, commas, units)."""
    if len(text) > LONGEST_NUMBER or not NUMBER.fullmatch(text):
        return None
    value = float(text)
    return value if math.isfinite(value) else None


def read_cell(column: Column, text: str) -> Value | Fault:
    """Read one cell by its column's declaration; an empty cell takes the default.

    Returns:
        A float for number and whole columns, else text; or the Fault.
    """
    text = text or column.default
    if not text:
        return Fault("is empty.", _hint(column)) if column.required else ""
    if column.kind in {"number", "whole"}:
        return _read_number(column, text)
    return _read_text(column, text)


def _read_number(column: Column, text: str) -> float | Fault:
    value = number_in(text)
    if value is None:
        return Fault(f"holds {shown(text)}, which is not a number.", _hint(column))
    if not column.low <= value <= column.high:
        return Fault(f"holds {shown(text)}, which is out of bounds.", _hint(column))
    if column.kind == "whole" and value != int(value):
        return Fault(f"holds {shown(text)}, which is not a whole number.", _hint(column))
    return value


def _read_text(column: Column, text: str) -> str | Fault:
    if column.kind == "choice":
        good = text in column.choices
    else:
        good = text.isprintable() and column.low <= len(text) <= column.high
        good = good and (column.kind != "id" or IDENTIFIER.fullmatch(text) is not None)
    return text if good else Fault(f"holds {shown(text)}.", _hint(column))


def _hint(column: Column) -> str:
    """Return what to write in a column, as an instruction."""
    if column.kind == "choice":
        return f"Write one of {', '.join(column.choices)}."
    if column.kind == "id":
        return f"Write small letters, digits and _ (at most {column.high:g} letters)."
    if column.kind == "text":
        return f"Write text of {column.low:g} to {column.high:g} letters on one line."
    unit = "" if column.unit in {"", "1"} else f" in {column.unit}"
    kind = "a whole number" if column.kind == "whole" else "a number such as 1.5"
    return f"Write {kind}{unit}, from {column.low:g} to {column.high:g}, without the unit."


def read_columns(folder: Path) -> Columns:
    """Read columns.csv of the shipped catalog: table to column name to declaration.

    Raises:
        BadInput: if the file is missing or a declaration cannot be understood.
    """
    raw = read_raw_table(folder / COLUMNS_FILE)
    if isinstance(raw, Problem):
        raise BadInput([raw])
    if raw.header.cells != HEADER:
        fix = f"Begin it with {','.join(HEADER)}."
        raise BadInput([Problem(where(raw.path, raw.header.line), "has another header.", fix)])
    return _by_table(raw)


def _by_table(raw: RawTable) -> Columns:
    found = [(row, _declaration(row)) for row in raw.rows]
    bad = [_not_understood(raw.path, row.line) for row, column in found if column is None]
    if bad:
        raise BadInput(bad)
    tables: dict[str, dict[str, Column]] = {}
    for column in (column for _, column in found if column is not None):
        tables.setdefault(column.table, {})[column.name] = column
    return tables


def _not_understood(path: Path, line: int) -> Problem:
    return Problem(where(path, line), "is not a declaration.", "Restore the shipped columns.csv.")


def _declaration(row: RawRow) -> Column | None:
    if len(row.cells) != len(HEADER):
        return None
    table, name, type_, unit, low, high, default, required, meaning = row.cells
    kind, _, words = type_.partition(" ")
    choices = tuple(words.split("|")) if kind == "choice" and words else ()
    bounds = [number_in(low or "0"), number_in(high or "0")]
    if None in bounds or not (kind in PLAIN_KINDS or choices) or required not in {"yes", "no"}:
        return None
    least, most = (value or 0.0 for value in bounds)
    must = required == "yes"
    if not (must or default or kind in {"text", "number"}):
        return None
    return Column(table, name, kind, choices, unit, least, most, default, must, meaning)
