"""Read a readings file: TOML, or the commissioning sheet as CSV."""

from __future__ import annotations

import os
from collections import Counter
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optimizer.errors import BadInput, Problem
from optimizer.learn.known_beds import Known, beds_of_design, beds_of_file, beds_of_site
from optimizer.learn.questions import line_questions, size_questions
from optimizer.learn.sheet_csv import read_sheet
from optimizer.learn.tables import ErrorsTable, PriorTable, ReadingsTable, ReadingTable
from optimizer.reading.nearest import choose_from
from optimizer.reading.site_build import band_of
from optimizer.reading.site_problems import problems_of
from optimizer.reading.site_text import KeyLines, load_toml
from optimizer.records.calibration import COEFFICIENTS
from optimizer.records.design import Design
from optimizer.records.readings import KindBands, Reading, ReadingErrors, Readings

PAGE = "docs/readings-file.md"
_ERROR_KEYS = {"watch": "watch_s", "times": "times_s", "level": "level_m"}


def read_readings(
    path: str | Path, *, design: Design | None = None, site: str | Path | None = None
) -> Readings:
    """Read a readings file with the beds it speaks of.

    Args:
        path: a ``.csv`` sheet, or TOML.
        design: where the beds' sizes come from, or
        site: a site file whose bed types and kits the file's beds name; else the file tells sizes.

    Raises:
        BadInput: with every fault found, and every question that has to be answered first.
    """
    path = Path(path)
    table, lines = _table(path)
    readings = _readings(table, lines)
    if table.rows is not None:
        readings += _readings(*_table(_beside(path, table.rows, lines)))
    if design is not None:
        known = beds_of_design(design, table.bed, lines)
    elif site is not None:
        known = beds_of_site(Path(site), table.bed, lines)
    else:
        known = beds_of_file(table.bed, lines)
    problems = [*known.problems, *_names_twice(table, lines), *line_questions(readings)]
    problems += _unknown_beds(readings, known)
    if not readings and not problems:
        fix = "Fill in a line: the bucket's time, and what the bed did at it."
        problems.append(Problem(path.name, "holds no readings.", fix))
    if not problems:
        problems = size_questions(readings, known.beds)
    if problems:
        raise BadInput(problems)
    units = table.units or (design.units if design else None) or "metric"
    bands = {kind: _with_prior(table.prior, each) for kind, each in known.bands.items()}
    return Readings(
        readings=tuple(readings),
        beds=known.beds,
        bands=bands,
        errors=_errors(table.errors),
        errors_from=table.errors.origin,
        units=units,
    )


def _table(path: Path) -> tuple[ReadingsTable, KeyLines]:
    data, lines = read_sheet(path) if path.suffix.lower() == ".csv" else load_toml(path)
    gallon = data.get("gallon")
    context = {"gallon": gallon if gallon in ("US", "imperial") else None}
    try:
        return ReadingsTable.model_validate(data, context=context), lines
    except ValidationError as error:
        raise BadInput(problems_of(error, lines, ReadingsTable, PAGE)) from None


def _beside(path: Path, name: str, lines: KeyLines) -> Path:
    """Return a sheet named in a file; it must be CSV and lie in its folder, links followed."""
    is_sheet = Path(name).name == name and name.lower().endswith(".csv") and "\0" not in name
    home = os.path.realpath(path.parent)
    if not is_sheet or Path(os.path.realpath(path.parent / name)).parent != Path(home):
        fix = 'Put the sheet beside this file and write its name, as "readings.csv".'
        raise BadInput([Problem(lines.where("rows"), f"read {name!r}.", fix)])
    return path.parent / name


def _readings(table: ReadingsTable, lines: KeyLines) -> list[Reading]:
    return [
        _reading(each, table, lines.where("reading", n)) for n, each in enumerate(table.reading)
    ]


def _reading(table: ReadingTable, file: ReadingsTable, where: str) -> Reading:
    bucket = file.bucket if table.bucket is None else table.bucket
    return Reading(
        bed=table.bed,
        inflow_m3_s=bucket / table.bucket_time,
        bucket_s=table.bucket_time,
        date=table.date,
        starts=table.starts,
        fill_s=table.fills,
        drain_s=table.drains,
        stops=table.stops,
        highest_m=table.highest_level,
        seen=table.seen,
        where=where,
    )


def _names_twice(table: ReadingsTable, lines: KeyLines) -> list[Problem]:
    counts = Counter(bed.name for bed in table.bed)
    names = [bed.name for bed in table.bed]
    return [
        Problem(lines.where("bed", n, "name"), f"read {name!r} again.", "Keep one.")
        for n, name in enumerate(names)
        if counts[name] > 1 and name in names[:n]
    ]


def _unknown_beds(readings: list[Reading], known: Known) -> list[Problem]:
    failed = len(known.problems) > 0 and not known.beds
    fix = "Give --design, or tell its sizes in a [[bed]] table of a TOML file."
    return [
        Problem(
            f"{each.where}, bed",
            f"nothing is known of bed {each.bed!r}.",
            choose_from(each.bed, known.beds) if known.beds else fix,
        )
        for each in readings
        if each.bed not in known.beds and not failed
    ]


def _errors(table: ErrorsTable) -> ReadingErrors:
    given: dict[str, Any] = table.model_dump(exclude={"origin"}, exclude_none=True)
    return ReadingErrors(**{_ERROR_KEYS.get(key, key): value for key, value in given.items()})


def _with_prior(prior: PriorTable, bands: KindBands) -> KindBands:
    given = {name: band_of(getattr(prior, name)) or getattr(bands, name) for name in COEFFICIENTS}
    return KindBands(**given, turn_loss=bands.turn_loss)
