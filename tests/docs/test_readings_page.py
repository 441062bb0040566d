"""The pages about readings say what the reader and the calibration do."""

import re
from dataclasses import fields
from pathlib import Path

import pytest

from optimizer.learn.calibrate import calibrate
from optimizer.learn.read import PAGE as NAMED_IN_MESSAGES
from optimizer.learn.read import read_readings
from optimizer.learn.tables import BedTable, ErrorsTable, PriorTable, ReadingsTable, ReadingTable
from optimizer.records.readings import ReadingErrors
from optimizer.report.estimate_words import NAMES
from optimizer.report.readings_sheet import COLUMN_KEYS, headings
from optimizer.units import parse_quantity
from tests.tolerances import FORMULA

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / NAMED_IN_MESSAGES).read_text(encoding="utf-8")
HOW_TO = (ROOT / "docs" / "how-to" / "calibrate.md").read_text(encoding="utf-8")
DIMENSIONS = {"watch": "time", "times": "time", "level": "length"}

TWO_DIGITS = 0.025
"""Relative: the page prints intervals to two digits."""


@pytest.mark.parametrize("table", [ReadingsTable, ReadingTable, BedTable, ErrorsTable, PriorTable])
def test_every_key_is_on_the_page(table):
    for name, info in table.model_fields.items():
        assert re.search(rf"[`\[]{info.alias or name}[`\]]", PAGE), name


def test_the_table_of_columns_is_that_of_the_sheet():
    rows = re.findall(r"^\| ([^|]+) \| `(\w+)` \|", PAGE, re.MULTILINE)[: len(COLUMN_KEYS)]
    assert [key for _, key in rows] == list(COLUMN_KEYS)
    for (said, _), metric in zip(rows, headings("metric"), strict=True):
        assert said.startswith(metric)


def test_every_default_error_on_the_page_is_that_of_the_code():
    said = dict(re.findall(r"^\| `(\w+)` \| `\"([^\"]+)\"` \|", PAGE, re.MULTILINE))
    said |= dict.fromkeys(("start_beds", "stop_beds"), "5 %")
    said |= dict.fromkeys(("start_repeats", "stop_repeats"), "3 %")
    for each in fields(ReadingErrors):
        key = each.name.removesuffix("_s").removesuffix("_m")
        written = parse_quantity(said[key], DIMENSIONS.get(key, "share"))
        assert written == pytest.approx(each.default, rel=FORMULA), key


def test_the_example_gives_the_intervals_printed():
    found = calibrate(read_readings(ROOT / "studies" / "demo" / "readings.toml"), next_too=False)
    for each in found.estimates:
        row = re.search(rf"^\| {NAMES[each.name]} \| .*\| ([\d.]+) to ([\d.]+) \|$", HOW_TO, re.M)
        assert [float(end) for end in row.groups()] == pytest.approx(
            [each.low, each.high], rel=TWO_DIGITS
        )
