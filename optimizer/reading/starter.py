"""A commented site file to start from, made from at most ten answers."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from optimizer.errors import BadInput, Problem
from optimizer.reading.nearest import shown
from optimizer.reading.site import read_site_text

ROWS_MOST = 500


@dataclass(frozen=True)
class StarterAnswers:
    """What the starter file is made from; measures are text with units, as in the file.

    ``rows`` equal rows of ``beds_per_row`` beds each, ``spacing`` between bed centres in a row.
    ``container`` is a container id of the catalog. ``sump_level`` is the sump's floor, counted
    from the ground under the beds.
    """

    name: str = "My beds"
    units: str = "metric"
    rows: int = 2
    beds_per_row: int = 6
    spacing: str = "1.5 m"
    container: str = "bed_200x100"
    floods: str = "2 per hour"
    sump_level: str = "-0.6 m"
    energy_price: str = "0.30 per kWh"
    currency: str = "EUR"


@dataclass(frozen=True)
class Question:
    """One question, the answer it fills, and the default in metric and in US units.

    ``choices`` names what to choose from where the answer is one of a few words; ``whole`` says
    that the answer is a whole number; ``catalog`` names the catalog table the answer is an id of.
    """

    key: str
    words: str
    default: str
    default_us: str
    choices: tuple[str, ...] = ()
    whole: bool = False
    catalog: str | None = None


QUESTIONS: tuple[Question, ...] = (
    Question("name", "What is the site called?", "My beds", "My beds"),
    Question("units", "Metric or US units in reports?", "metric", "us", choices=("metric", "us")),
    Question("rows", "How many rows of beds?", "2", "2", whole=True),
    Question("beds_per_row", "How many beds in each row?", "6", "6", whole=True),
    Question("spacing", "How far apart are bed centres in a row?", "1.5 m", "5 ft"),
    Question(
        "container",
        "Which bed container, by catalog id?",
        "bed_200x100",
        "bed_200x100",
        catalog="containers",
    ),
    Question("floods", "How many floods at least?", "2 per hour", "2 per hour"),
    Question(
        "sump_level",
        "How high is the sump's floor above the ground under the beds (minus: below)?",
        "-0.6 m",
        "-2 ft",
    ),
    Question("energy_price", "What does electricity cost?", "0.30 per kWh", "0.15 per kWh"),
    Question("currency", "Which currency, in three capitals?", "EUR", "USD"),
)


def starter_defaults(units: str = "metric") -> StarterAnswers:
    """Return the default answers; in US units where ``units`` is ``us``."""
    us = units == "us"
    texts = {each.key: each.default_us if us else each.default for each in QUESTIONS}
    return answers_from(texts)


def answers_from(texts: Mapping[str, str]) -> StarterAnswers:
    """Return answers from their texts by question key; those left out keep their defaults.

    Raises:
        BadInput: with every text that is no answer to its question.
    """
    whole = {question.key for question in QUESTIONS if question.whole}
    known = {each.name for each in fields(StarterAnswers)}
    problems = [
        Problem(key, "is no question.", "Take it out.") for key in texts if key not in known
    ]
    problems += [
        Problem(key, f"read {shown(text)}, expected a whole number.", "Write digits only.")
        for key, text in texts.items()
        if key in whole and not re.fullmatch(r"\s*[0-9]{1,6}\s*", text)
    ]
    if problems:
        raise BadInput(problems)
    values: dict[str, Any] = {k: int(text) if k in whole else text for k, text in texts.items()}
    return StarterAnswers(**values)


def starter_text(answers: StarterAnswers) -> str:
    """Return a commented site file that reads and designs as it stands.

    Raises:
        BadInput: if an answer does not fit its key in the file.
    """
    if not 1 <= answers.rows <= ROWS_MOST:
        what = f"read {answers.rows}, expected a whole number from 1 to {ROWS_MOST}."
        raise BadInput([Problem("rows", what, "Change the number.")])
    text = _HEAD.format(**_quoted(answers)) + "".join(
        _row(index, answers) for index in range(answers.rows)
    )
    text += _TAIL.format(**_quoted(answers))
    read_site_text(text, "starter site file")
    return text


def _row(index: int, answers: StarterAnswers) -> str:
    us = answers.units == "us"
    start = ("6 ft", f"{6 + 12 * index} ft") if us else ("2 m", f"{_plain(2 + 3.5 * index)} m")
    return _ROW.format(
        name=_text(_letters(index)),
        x=json.dumps(start[0]),
        y=json.dumps(start[1]),
        positions=answers.beds_per_row,
        spacing=_text(answers.spacing),
    )


def _letters(index: int) -> str:
    """Return A to Z, then AA and on: beds are called by letters and a number."""
    return (_letters(index // 26 - 1) if index >= 26 else "") + chr(ord("A") + index % 26)


def _plain(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _quoted(answers: StarterAnswers) -> dict[str, str]:
    us = answers.units == "us"
    words = {each.name: getattr(answers, each.name) for each in fields(answers)}
    words |= _US_WORDS if us else _METRIC_WORDS
    return {key: _text(str(value)) for key, value in words.items()}


def _text(value: str) -> str:
    """Return text as a TOML string, whatever it holds."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


_METRIC_WORDS = {
    "zero": "0 m",
    "gallon": "imperial",
    "drain_drop": "0.15 m",
    "evaporation": "5 mm",
    "tank": "800 L",
    "tank_level": "0.3 m",
    "feed": "0.1 kg",
}
_US_WORDS = {
    "zero": "0 ft",
    "gallon": "US",
    "drain_drop": "6 in",
    "evaporation": "0.2 in",
    "tank": "200 US gal",
    "tank_level": "1 ft",
    "feed": "0.25 lb",
}

_HEAD = """\
# A site file: what you have and what you want. Every measure is text with its unit ("1.2 m",
# "4 ft 6 in"). docs/site-file.md lists every key. Prices and parts shipped with the catalog are
# invented examples: put your own in before you buy.

name = {name}
currency = {currency}
units = {units}  # of reports: "metric" or "us"
# gallon = {gallon}  # needed only if a measure says "gal" without US or imperial

[goal]
floods = {floods}  # at least, for every bed
# floods_most = "4 per hour"
# beds = 8  # at least so many, where the rows may be part empty; left out: every position
energy_price = {energy_price}
# robustness = "most"  # every bed works: nominal, most (in 95 % of cases), whole (the whole band)

[ground]
# x runs east and y north, from any corner you like; levels count upward from the ground here.
sump = {{ x = {zero}, y = {zero}, floor_level = {sump_level} }}

[[bed_type]]
name = "bed"
container = {container}
medium = "expanded_clay"
stand = "timber_heavy"
# drain_drop = {drain_drop}  # how far the siphon's outlet lies below the bed's floor
"""

_ROW = """
[[row]]
name = {name}  # its beds are called by it and a number
start = [{x}, {y}]  # centre of its first bed
towards = "east"
positions = {positions}
spacing = {spacing}  # between bed centres
"""

_TAIL = """
# [buy]  # left out: everything in the catalog
# pumps = ["pump_065w_mid", "pump_100w_mid"]
# spare_pump = true

# [returns]  # pipe back to the sump
# bursts = "all"  # every siphon may fire at once; "binomial" trusts that they do not
# fill_limit = "75 %"  # greatest depth of water over the bore

# [water_loss]
# evaporation_per_day = {evaporation}  # from the beds' surface
# top_up_every = "24 h"

# [fish_tank]  # the whole pumped flow passes through it
# volume = {tank}
# water_level = {tank_level}  # of its surface, on the datum of all levels; below every siphon
# turnovers = "1 per hour"  # at least
# feed_per_day = {feed}
# crop = "leafy"  # or "fruiting": what takes up the feed

# [standing]  # what is there already and costs nothing more
# sump = {{ part = "sump_1000" }}

# [[price]]  # your own price of a part
# part = "sump_1000"
# price = 180.0
"""
