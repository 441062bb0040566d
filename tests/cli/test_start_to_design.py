"""From ten answers to a checked design, in metric and in US units."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.reading.starter import QUESTIONS

TINY = {"rows": "1", "beds_per_row": "2", "container": "tub_100x060"}


def run(*words: object, answers: str = ""):
    return CliRunner().invoke(main, [str(word) for word in words], input=answers)


@pytest.mark.parametrize(
    ("units", "currency", "written"),
    [("metric", "EUR", "L/min"), ("us", "USD", "US gpm")],
)
def test_a_started_site_designs_and_passes_its_check_in_its_own_units(
    units, currency, written, tmp_path: Path
):
    file = tmp_path / "tiny.toml"
    pairs = [f"{key}={value}" for key, value in (TINY | {"units": units}).items()]
    given = [word for pair in pairs for word in ("--answer", pair)]
    begun = run("start", file, "--yes", *given)
    assert begun.exit_code == 0, begun.output
    assert f"floodwright design {file}" in begun.stdout
    answer = run("design", file)
    assert answer.exit_code == 0, answer.output
    assert written in answer.stdout and currency in answer.stdout
    folder = tmp_path / "tiny-design"  # beside the site file, by its name
    assert {"design.json", "page.html", "beds.csv"} <= {each.name for each in folder.iterdir()}
    again = run("check", folder / "design.json", "--json")
    assert again.exit_code == 0, again.output
    assert json.loads(again.stdout)["beds"] == 2


def test_typed_answers_make_the_same_file_as_given_ones(tmp_path: Path):
    typed, given = tmp_path / "typed.toml", tmp_path / "given.toml"
    lines = "".join(TINY.get(question.key, "") + "\n" for question in QUESTIONS)
    assert run("start", typed, answers=lines).exit_code == 0
    words = [word for key, value in TINY.items() for word in ("--answer", f"{key}={value}")]
    assert run("start", given, "--yes", *words).exit_code == 0
    assert typed.read_text() == given.read_text()
