"""One CSV file as plain rows of text with their line numbers; every fault becomes a Problem."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from optimizer.errors import Problem

MOST_BYTES = 5_000_000
"""Size in bytes above which a file is taken not to be a catalog table."""

MOST_COLUMNS = 100
"""Cells in the first line above which it is taken not to be a header."""


@dataclass(frozen=True)
class RawRow:
    """One row as written: the line it starts on, counted from 1, and its cells, not all empty."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class RawTable:
    """A CSV file as written: where it stands, its header, and its rows below the header."""

    path: Path
    header: RawRow
    rows: tuple[RawRow, ...]


def where(path: Path, line: int | None = None, column: str | None = None) -> str:
    """Return how a place in a table is named in a Problem: file, line, column."""
    at = f"{path}" if line is None else f"{path} line {line}"
    return at if column is None else f"{at}, {column}"


def read_raw_table(path: Path) -> RawTable | Problem:
    """Read a CSV file as text, whatever it holds.

    Args:
        path: the file.

    Returns:
        The table, or the one Problem that keeps it from being read (not a file, too large, not
        UTF-8, not CSV, no header).
    """
    text = _read_text(path)
    return text if isinstance(text, Problem) else _parse(path, text)


def _read_text(path: Path) -> str | Problem:
    try:
        if not path.is_file():
            return Problem(where(path), "is not a file.", "Put a CSV table there or remove it.")
        if path.stat().st_size > MOST_BYTES:
            return Problem(where(path), "is larger than 5 MB.", "Keep only catalog rows in it.")
        return _decode(path, path.read_bytes())
    except (OSError, ValueError) as error:
        return Problem(where(path), f"cannot be read ({error}).", "Check its name and rights.")


def _decode(path: Path, content: bytes) -> str | Problem:
    fix = "Save the table as CSV, encoding UTF-8."
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        return Problem(where(path, line), "holds bytes that are not UTF-8 text.", fix)
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        return Problem(where(path, line), "holds a zero byte, so it is not a text table.", fix)
    return text


def _parse(path: Path, text: str) -> RawTable | Problem:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows, start = list[RawRow](), 1
    try:
        for cells in reader:
            stripped = tuple(cell.strip() for cell in cells)
            if any(stripped):
                rows.append(RawRow(start, stripped))
            start = reader.line_num + 1
    except csv.Error as error:
        fix = "Check the quotes and commas there."
        return Problem(where(path, reader.line_num), f"is not CSV ({error}).", fix)
    fix = "Begin it with a line of column names."
    if not rows:
        return Problem(where(path, 1), "is empty.", fix)
    if len(rows[0].cells) > MOST_COLUMNS:
        return Problem(where(path, rows[0].line), "has over 100 cells in its first line.", fix)
    return RawTable(path, rows[0], tuple(rows[1:]))
