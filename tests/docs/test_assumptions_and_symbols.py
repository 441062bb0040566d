from __future__ import annotations

import importlib
import inspect
import re
from collections import Counter
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
ASSUMPTIONS = (ROOT / "docs" / "assumptions.md").read_text(encoding="utf-8")
SYMBOLS = (ROOT / "docs" / "symbols.md").read_text(encoding="utf-8")
NAME = re.compile(r"`(optimizer(?:\.\w+)+)(?:\((\w+)\))?`")
NUMBER = re.compile(r"\bA\d+\b")

# "A3" is a bed in examples and messages; an assumption is cited in brackets or by this page's name.
CITED = re.compile(r"\((A\d+)[,:)]|assumptions\.md[^\n]*?\b(A\d+)\b")


def _rows(page):
    lines = [line for line in page.splitlines() if line.startswith("| ")]
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    return [row for row in cells if row[0] not in ("no.", "part", "symbol")]


def _found(dotted):
    """The module, function, class, field or property of a dotted name, and a field's default."""
    parts = dotted.split(".")
    for cut in range(len(parts), 0, -1):
        try:
            thing = importlib.import_module(".".join(parts[:cut]))
        except ModuleNotFoundError:
            continue
        for name in parts[cut:]:
            if is_dataclass(thing) and name in {f.name for f in fields(thing)}:
                thing = next(f.default for f in fields(thing) if f.name == name)
            else:
                thing = getattr(thing, name)
        return thing
    raise ModuleNotFoundError(dotted)


@pytest.mark.parametrize(
    ("dotted", "argument"), sorted({*NAME.findall(ASSUMPTIONS), *NAME.findall(SYMBOLS)})
)
def test_every_name_on_the_pages_exists_in_the_code(dotted, argument):
    thing = _found(dotted)
    if argument:
        assert argument in inspect.signature(thing).parameters


VALUES = {
    name: row[1] if len(row) == 4 else row[2]
    for row in _rows(ASSUMPTIONS)
    for name, _ in NAME.findall(" | ".join(row))
    if isinstance(_found(name), int | float)
}


@pytest.mark.parametrize("dotted", sorted(VALUES))
def test_every_value_on_the_page_is_that_of_the_code(dotted):
    written = float(re.search(r"\d+(\.\d+)?", VALUES[dotted])[0])
    # the page writes flow in L/min and angles in degrees; all else as the code has it
    scale = {
        "optimizer.formulate.inflow_steps.FLOW_STEP_M3_S": 1.0 / 60_000.0,
        "optimizer.candidates.tree.STRAIGHT_RAD": 0.017453292519943295,
    }.get(dotted, 1.0)
    assert _found(dotted) == pytest.approx(written * scale, rel=1e-12)


def test_most_assumptions_are_held_to_a_value_in_the_code():
    assert len(VALUES) >= 35


def test_every_assumption_has_a_number_of_its_own():
    # Numbers may be left out: branches under way at one time take theirs beforehand.
    numbers = [row[0] for row in _rows(ASSUMPTIONS) if NUMBER.fullmatch(row[0])]
    assert [n for n, times in Counter(numbers).items() if times > 1] == []


def test_every_assumption_cited_in_the_code_is_on_the_page():
    listed = {row[0] for row in _rows(ASSUMPTIONS)}
    cited = {
        number
        for path in (ROOT / "optimizer").rglob("*.py")
        for pair in CITED.findall(path.read_text(encoding="utf-8"))
        for number in pair
        if number
    }
    assert {"A9", "A11", "A13"} <= cited
    assert cited - listed == set(), "Give each a row in docs/assumptions.md."


def test_the_numbers_that_code_has_long_cited_keep_their_meaning():
    rows = {row[0]: row[1] for row in _rows(ASSUMPTIONS)}
    assert "reducer" in rows["A9"] and "swings" in rows["A11"] and "clear air" in rows["A13"]


def test_every_module_level_figure_called_an_assumption_is_on_the_page():
    marked = re.compile(
        r'^([A-Z][A-Z0-9_]+)(?:: [^=]+)? = [^\n]+\n"""((?:(?!""").)*?)"""', re.MULTILINE | re.DOTALL
    )
    named = {name for name, _ in NAME.findall(ASSUMPTIONS)}
    missing = [
        f"{path.relative_to(ROOT)}: {name}"
        for path in (ROOT / "optimizer").rglob("*.py")
        for name, words in marked.findall(path.read_text(encoding="utf-8"))
        if re.search(r"assumption|common practice", words)
        and not any(full.endswith(f"{path.stem}.{name}") for full in named)
    ]
    assert missing == []


def test_every_row_says_where_it_comes_from_and_where_it_is():
    for row in _rows(ASSUMPTIONS):
        assert len(row) in (4, 7)
        assert row[-2 if len(row) == 4 else 4]
        assert "`" in (row[-1] if len(row) == 4 else row[5])


def test_every_symbol_has_a_meaning_a_unit_and_a_name():
    for row in _rows(SYMBOLS):
        assert len(row) == 4 and row[1] and row[2] and NAME.search(row[3])
