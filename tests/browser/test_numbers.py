"""The page rounds and names figures as the rest of the program does."""

from __future__ import annotations

import json
import random
from importlib.resources import files

import pytest

from optimizer.report.explorer.page import QUANTITIES, _system
from optimizer.report.scales import Reader, money
from optimizer.units_format import format_number

HALVES = [n / 2**k for n in (1, 3, 5, 7, 21, 1001, 12345) for k in range(1, 9)]
"""Values with exact halves in binary, where two ways of rounding part."""


@pytest.fixture(scope="module")
def numbers(chromium):
    """A function that runs a function of numbers.js on each of a list of arguments."""
    data = {"currency": "EUR", "units": "us", "chosen": 0, "against": None}
    data["systems"] = {"us": _system("us"), "metric": _system("metric")}
    script = files("optimizer.report.explorer").joinpath("js/numbers.js").read_text("utf-8")
    page = chromium.new_page()
    page.set_content(f'<script type="application/json" id="data">{json.dumps(data)}</script>')

    def run(call: str, arguments: list[object]) -> list[str]:
        body = f"(all) => {{ {script}; return all.map((each) => {call}); }}"
        return page.evaluate(body, arguments)

    yield run
    page.close()


def values() -> list[float]:
    draw = random.Random(0)
    spread = [draw.choice((-1, 1)) * 10 ** draw.uniform(-9, 9) for _ in range(600)]
    return [0.0, *HALVES, *(-half for half in HALVES), *spread, 9.995, 99.95, 0.0009995, 1e7, 2.5e8]


@pytest.mark.parametrize("digits", [1, 3, 4])
def test_significant_digits_are_rounded_as_in_python(numbers, digits):
    given = values()
    shown = numbers(f"significant(each, {digits})", given)
    assert shown == [format_number(value, digits) for value in given]


@pytest.mark.parametrize("places", [1, 2])
def test_fixed_places_are_rounded_as_in_python(numbers, places):
    given = [value for value in values() if abs(value) < 1e9]
    shown = numbers(f"fixed(each, {places})", given)
    assert shown == [f"{value:.{places}f}" for value in given]


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_quantities_are_written_as_the_reader_writes_them(numbers, quantity):
    given = [abs(value) for value in values()[:80] if abs(value) < 1e6]
    shown = numbers(f"figure(each, '{quantity}')", given)
    assert shown == [Reader("us").text(quantity, value) for value in given]


def test_money_is_written_as_everywhere(numbers):
    given = [0, 5, -5, 100, 123456789, -99999, 100000]
    assert numbers("money(each)", given) == [money(cents, "EUR") for cents in given]
