"""What the command cannot do it says in a sentence, before it works for nothing."""

import os
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.records.design_io import read_design
from tests.cli.site_texts import ONE_BED


@pytest.fixture
def site(tmp_path: Path) -> Path:
    path = tmp_path / "tubs.toml"
    path.write_text(ONE_BED)
    return path


def run(*words: object, answers: str = ""):
    return CliRunner().invoke(main, [str(word) for word in words], input=answers)


def refused(*words: object) -> str:
    """Return what is said of a command that must be refused as bad input, without a traceback."""
    answer = run(*words)
    assert answer.exit_code == 2, answer.output
    assert isinstance(answer.exception, SystemExit)
    assert "Traceback" not in answer.output
    return answer.stderr


def test_a_site_in_a_folder_that_is_not_there_is_refused_by_name(tmp_path: Path):
    assert "there is no such file" in refused("design", tmp_path / "nowhere" / "site.toml")


def test_a_folder_in_place_of_a_site_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(tmp_path)
    assert "is a folder" in refused("design", tmp_path)
    assert "is a folder" in refused("design", ".")
    assert refused("design", "")


def test_results_are_not_put_in_a_file_nor_in_a_folder_under_one(site: Path):
    before = site.read_text()
    assert "is a file" in refused("design", site, "--out", site)
    assert "is a file" in refused("design", site, "--out", site / "deeper" / "still")
    assert site.read_text() == before


def test_a_folder_for_results_is_made_where_it_is_missing(site: Path, tmp_path: Path):
    answer = run("design", site, "--out", tmp_path / "a" / "b", "--json")
    assert answer.exit_code == 0, answer.output
    assert (tmp_path / "a" / "b" / "page.html").is_file()


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_one_may_not_write_to_is_refused(site: Path, tmp_path: Path):
    locked = tmp_path / "locked"
    locked.mkdir(mode=0o500)
    assert "may not write" in refused("design", site, "--out", locked)
    assert "may not write" in refused("design", site, "--out", locked / "deeper")


def test_nothing_is_made_for_a_site_that_is_refused(site: Path, tmp_path: Path):
    site.write_text(ONE_BED.replace('"tub_100x060"', '"tub_100x06"'))
    assert "tub_100x060" in refused("design", site, "--out", tmp_path / "out")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "option",
    [
        ("--gap", "-0.001"), ("--gap", "2"), ("--gap", "nan"), ("--gap", "small"),
        ("--time-limit", "0"), ("--time-limit", "-5"), ("--time-limit", "inf"),
        ("--time-limit", "nan"), ("--seed", "-1"), ("--seed", "2147483648"), ("--seed", "0.5"),
    ],
    ids="=".join,
)  # fmt: skip
def test_an_option_that_makes_no_sense_is_refused_by_name(option, site: Path):
    assert option[0] in refused("design", site, *option)


def test_a_gap_of_nothing_asks_for_a_full_proof(site: Path, tmp_path: Path):
    answer = run("design", site, "--out", tmp_path / "out", "--gap", "0", "--json")
    assert answer.exit_code == 0, answer.output
    record = read_design(tmp_path / "out" / "design.json").record
    assert record.cost_cents == record.bound_cents  # both whole cents: nothing between them


def test_a_time_limit_too_short_for_a_design_is_a_sentence(site: Path, tmp_path: Path):
    answer = run("design", site, "--out", tmp_path / "out", "--time-limit", "1e-6")
    assert answer.exit_code in (1, 3)
    assert isinstance(answer.exception, SystemExit)
    if answer.exit_code == 1:
        assert answer.stderr.startswith("No design: ")
        assert not (tmp_path / "out").exists()
    else:  # an answer found before the clock was looked at is kept, and is said to be stopped
        assert read_design(tmp_path / "out" / "design.json").record.status == "stopped"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("rows=three", "whole number"),
        ("rows", "whole number"),
        ("colour=red", "no question"),
        ("units=both", '"us"'),
        ("spacing=1.5", "units that fit"),
        ("floods=", "rate"),
    ],
)
def test_an_answer_that_does_not_fit_its_question_is_refused(given, said, tmp_path: Path):
    file = tmp_path / "new.toml"
    assert said in refused("start", file, "--yes", "--answer", given)
    assert not file.exists()


def test_start_makes_the_folder_it_is_asked_to_write_in(tmp_path: Path):
    file = tmp_path / "farm" / "new.toml"
    assert run("start", file, "--yes").exit_code == 0
    assert file.is_file()


def test_start_writes_no_file_in_place_of_a_folder(tmp_path: Path):
    assert "is a folder" in refused("start", tmp_path, "--yes", "--force")
    (tmp_path / "plain").write_text("kept")
    assert "is a file" in refused("start", tmp_path / "plain" / "new.toml", "--yes")
    assert (tmp_path / "plain").read_text() == "kept"


def test_questions_left_unanswered_write_nothing_and_answer_three(tmp_path: Path):
    answer = run("start", tmp_path / "new.toml", answers="My beds\n")
    assert answer.exit_code == 3
    assert "Stopped before the results were written." in answer.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("text", ["", "{}", "[1]", "not json", '{"schema": 1}', "nul\x00"])
def test_a_file_that_is_no_design_is_refused(text, tmp_path: Path):
    path = tmp_path / "design.json"
    path.write_text(text)
    assert refused("check", path)
    assert "cannot be read" in refused("check", tmp_path / "none.json")


def test_a_catalog_folder_that_is_not_there_is_refused(tmp_path: Path):
    assert "Name a folder" in refused("catalog", "--folder", tmp_path / "none")
