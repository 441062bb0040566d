"""The commissioning sheet as a CSV file: an empty one for a design, and a filled-in one read."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from pathlib import Path

from optimizer.errors import BadInput, Problem
from optimizer.reading.nearest import choose_from
from optimizer.reading.site_text import KeyLines, read_text
from optimizer.reading.toml_positions import Position
from optimizer.report.readings_sheet import COLUMN_KEYS, headings
from optimizer.units import UnitError, parse_quantity

_BUCKET = re.compile(r"(.+) in, s")
_NUMBER = re.compile(r"[0-9.,/ -]*[0-9.]|[0-9]+ ?-? ?[0-9]+/[0-9]+")
_UNITS = {"bucket_time": "s", "fills": "min", "drains": "min"}


def blank_sheet(beds: Iterable[str], units: str) -> str:
    """Return an empty sheet as CSV text: the headings, and a line for each bed."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(headings(units))
    writer.writerows([bed, *[""] * (len(COLUMN_KEYS) - 1)] for bed in beds)
    return out.getvalue()


def read_sheet(path: Path) -> tuple[dict[str, object], KeyLines]:
    """Return the lines of a sheet that have something written in, as a readings file's tables.

    A cell may hold a bare number, which is in the unit of its heading, or a number with a unit.

    Raises:
        BadInput: if it cannot be read or a heading is not one of the sheet's.
    """
    text = read_text(path)
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=delimiter))
    except csv.Error as error:
        fix = "Save it from the spreadsheet as CSV again."
        raise BadInput([Problem(path.name, f"is no table: {error}.", fix)]) from None
    head = [cell.strip() for cell in rows[0]] if rows else []
    keys, bucket = _keys(head, path.name)
    readings: list[dict[str, object]] = []
    positions: dict[tuple[str | int, ...], Position] = {}
    for line, row in enumerate(rows[1:], start=2):
        cells = {k: c.strip() for k, c in zip(keys, row, strict=False) if c.strip()}
        if set(cells) <= {"bed", "date", "seen"}:
            continue
        index = len(readings)
        positions[("reading", index)] = Position(line, 1)
        readings.append({k: _with_unit(k, cell, head[keys.index(k)]) for k, cell in cells.items()})
    units = "us" if head[keys.index("highest_level")].endswith(" in") else "metric"
    return {"bucket": bucket, "units": units, "reading": readings}, KeyLines(path.name, positions)


def _keys(head: list[str], file: str) -> tuple[list[str], str]:
    """Return the key of each column, and the bucket's volume as written in its heading."""
    wanted: Mapping[str, str] = {
        name.lower(): key
        for units in ("metric", "us")
        for name, key in zip(headings(units), COLUMN_KEYS, strict=True)
    }
    keys, bucket, problems = [], "", []
    for cell in head:
        match = _BUCKET.fullmatch(cell)
        if match and _is_volume(match[1]):
            keys.append("bucket_time")
            bucket = match[1]
        elif cell.lower() in wanted:
            keys.append(wanted[cell.lower()])
        else:
            fix = choose_from(cell, headings("metric"))
            problems.append(Problem(f"{file} line 1", f"read a heading {cell!r}.", fix))
    if not problems and sorted(keys) != sorted(COLUMN_KEYS):
        names = dict(zip(COLUMN_KEYS, headings("metric"), strict=True))
        off = [names[key] for key in COLUMN_KEYS if keys.count(key) != 1]
        fix = "Keep the sheet's headings as they are; `--blank` writes an empty one."
        problems = [Problem(f"{file} line 1", f"not just once there: {', '.join(off)}.", fix)]
    if problems:
        raise BadInput(problems)
    return keys, bucket


def _is_volume(text: str) -> bool:
    try:
        return parse_quantity(text, "volume") > 0.0
    except UnitError:
        return False


def _with_unit(key: str, cell: str, heading: str) -> str:
    unit = _UNITS.get(key) or (heading.rpartition(" ")[2] if key == "highest_level" else "")
    return f"{cell} {unit}" if unit and _NUMBER.fullmatch(cell) else cell
