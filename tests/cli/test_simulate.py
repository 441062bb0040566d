"""The verb simulate: what it tells of a sound design and of a spoiled one, and what it writes."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer import cli_simulate
from optimizer.cli import main
from optimizer.records.design_io import write_design
from tests.builders.make_design import make_design

FILES = {"day.html", "day_events.csv", "day_floods.csv", "day_levels.csv"}


def run(*words: object):
    return CliRunner().invoke(main, ["simulate", *(str(word) for word in words)])


@pytest.fixture
def stored(tmp_path: Path) -> Path:
    path = tmp_path / "design.json"
    write_design(make_design(), path)
    return path


def test_a_sound_design_misses_no_start_or_stop_and_page_and_tables_are_written(stored, tmp_path):
    answer = run(stored, "--hours", 3, "--draws", 50, "--out", tmp_path / "day", "--json")
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.stdout)
    assert (told["missed_starts"], told["missed_stops"], told["failures"]) == (0, 0, [])
    assert told["floods_per_hour"][0] <= told["floods_per_hour"][1]
    assert {path.name for path in (tmp_path / "day").iterdir()} == FILES
    # Every bed is opened once in the staggered start.
    opened = [bed for _, beds in told["open"] for bed in beds]
    assert sorted(opened) == sorted(bed.id for bed in make_design().beds)


def test_the_words_answer_first_give_the_minutes_and_the_page_lies_beside_the_design(stored):
    answer = run(stored, "--hours", 1, "--draws", 50)
    assert answer.exit_code == 0, answer.output
    assert answer.stdout.startswith("Does it go well?")
    assert "minute   0.0: open" in answer.stdout
    assert "day.html: the whole day in charts" in answer.stdout
    assert {path.name for path in stored.parent.iterdir()} == FILES | {stored.name}


def test_what_is_done_to_the_plant_reaches_the_run_and_its_page(stored):
    done = ("--pump-off", "1-1.5", "--valve-shut", "bed_1_1@2", "--clog", "bed_2_2@0.5=40%")
    answer = run(stored, "--hours", 3, "--draws", 50, "--days", 2, *done, "--json")
    told = json.loads(answer.stdout)
    assert [row["seed"] for row in told["days"]] == [1, 2]
    page = (stored.parent / "day.html").read_text(encoding="utf-8")
    assert (
        "(1) bed_2_2 clogs at hour 0.5 and has 40 % less room for water; (2) pump off from hour 1 "
        "to 1.5; (3) valve of bed_1_1 shut at hour 2."
    ) in page
    # A bed shut at hour 2 has not flooded in the hour after.
    floods = (stored.parent / "day_floods.csv").read_text(encoding="utf-8").splitlines()
    assert "bed_1_1,2,0" in floods


def test_a_sump_too_shallow_for_a_power_cut_answers_one(tmp_path):
    # The example's water stands at about 0.5 m with the pipes drained back; 0.45 m of wall is less.
    design = make_design()
    low = replace(design.sump, depth_m=design.sump.power_cut_m - 0.01)
    path = tmp_path / "low.json"
    write_design(replace(design, sump=low), path)
    answer = run(path, "--hours", 1, "--draws", 50)
    assert answer.exit_code == 1
    assert "FAILS" in answer.stdout
    assert (tmp_path / "day.html").is_file()


@pytest.mark.parametrize(
    ("quiet_s", "more", "shown"),
    [(0.0, (), True), (1e6, (), False), (0.0, ("--json",), False)],
    ids=["long work", "short work", "for a program"],
)
def test_progress_is_shown_in_a_terminal_for_all_but_short_work(
    quiet_s, more, shown, stored, monkeypatch
):
    monkeypatch.setenv("FORCE_COLOR", "1")  # rich then takes the captured output for a terminal
    monkeypatch.setattr(cli_simulate, "QUIET_S", quiet_s)
    answer = run(stored, "--hours", 1, "--draws", 5, *more)
    assert ("simulating: " in answer.stderr) == shown
    assert "simulating: " not in answer.stdout


def test_a_missing_design_is_a_sentence(tmp_path):
    answer = run(tmp_path / "none.json")
    assert answer.exit_code == 2
    assert "Traceback" not in answer.output


@pytest.mark.parametrize(
    "option",
    [
        ("--pump-off", "5-4"),
        ("--pump-off", "noon-13"),
        ("--pump-off", "9-10"),
        ("--pump-off", "1-inf"),
        ("--valve-shut", "bed_1_1"),
        ("--valve-shut", "@1"),
        ("--valve-shut", "bed_1_1@6"),
        ("--clog", "bed_1_1@1"),
        ("--clog", "bed_1_1@1=100%"),
        ("--clog", "bed_1_1@1=-5"),
        ("--clog", "bed_1_1@nan=5"),
        ("--clog", "bed_1_1@1=0.3"),
    ],
    ids=" ".join,
)
def test_a_doing_that_cannot_be_is_refused_with_how_to_write_it(option, stored):
    answer = run(stored, "--hours", 6, *option)
    assert answer.exit_code == 2
    assert f"{option[0]} {option[1]}" in answer.output
    assert "Write " in answer.output
    assert {path.name for path in stored.parent.iterdir()} == {stored.name}


def test_every_doing_that_cannot_be_is_named_at_once_and_overlapping_stops_too(stored):
    bad = ("--pump-off", "1-3", "--pump-off", "2-4", "--valve-shut", "x", "--clog", "y")
    answer = run(stored, *bad)
    assert answer.exit_code == 2
    assert "3 things to mend first" in answer.output
    assert "begins before the stop until hour 3 is over" in answer.output


def test_a_bed_that_is_not_there_is_answered_with_the_nearest_name(stored):
    answer = run(stored, "--valve-shut", "Bed_1_1@2", "--clog", "bed_2_2@1=20")
    assert answer.exit_code == 2
    assert "Did you mean 'bed_1_1'?" in answer.output
