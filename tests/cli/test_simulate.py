"""The verb simulate: what it tells of a sound design and of a spoiled one."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.records.design_io import write_design
from tests.builders.make_design import make_design


def run(*words: object):
    return CliRunner().invoke(main, ["simulate", *(str(word) for word in words)])


@pytest.fixture
def stored(tmp_path: Path) -> Path:
    path = tmp_path / "design.json"
    write_design(make_design(), path)
    return path


def test_a_sound_design_misses_no_start_or_stop_and_its_tables_are_written(stored, tmp_path):
    answer = run(stored, "--hours", 3, "--draws", 50, "--out", tmp_path / "day", "--json")
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.stdout)
    assert (told["missed_starts"], told["missed_stops"], told["failures"]) == (0, 0, [])
    assert told["floods_per_hour"][0] <= told["floods_per_hour"][1]
    assert {path.name for path in (tmp_path / "day").iterdir()} == {
        "day_events.csv",
        "day_levels.csv",
    }


def test_every_bed_is_opened_once_in_the_staggered_start(stored):
    told = json.loads(run(stored, "--hours", 1, "--draws", 50, "--json").stdout)
    opened = [bed for _, beds in told["open"] for bed in beds]
    assert sorted(opened) == sorted(bed.id for bed in make_design().beds)


def test_the_words_answer_first_and_give_the_minutes(stored):
    answer = run(stored, "--hours", 1, "--draws", 50)
    assert answer.stdout.startswith("In 1 h every bed floods")
    assert "minute   0.0: open" in answer.stdout


def test_a_sump_too_shallow_for_a_power_cut_answers_one(tmp_path):
    # The example's water stands at about 0.5 m with the pipes drained back; 0.45 m of wall is less.
    design = make_design()
    low = replace(design.sump, depth_m=design.sump.power_cut_m - 0.01)
    path = tmp_path / "low.json"
    write_design(replace(design, sump=low), path)
    answer = run(path, "--hours", 1, "--draws", 50)
    assert answer.exit_code == 1
    assert "FAILS" in answer.stdout


def test_a_missing_design_is_a_sentence(tmp_path):
    answer = run(tmp_path / "none.json")
    assert answer.exit_code == 2
    assert "Traceback" not in answer.output
