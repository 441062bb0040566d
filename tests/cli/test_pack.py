"""The verb pack as a person meets it."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.records.design_io import write_design
from tests.builders.make_design import make_design
from tests.builders.random_choice import random_assemblies


def run(*words: object):
    return CliRunner().invoke(main, ["pack", *(str(word) for word in words)])


@pytest.fixture(scope="module")
def stored(tmp_path_factory) -> Path:
    _, _, (design,) = random_assemblies(7, 1)
    path = tmp_path_factory.mktemp("stored") / "design.json"
    write_design(design, path)
    return path


def test_a_stored_design_gives_its_pack_beside_it(stored):
    answer = run(stored)
    assert answer.exit_code == 0, answer.output
    assert (stored.parent / "build-pack" / "pack.html").is_file()
    assert "no plan needs fewer (proven)" in answer.stdout


def test_json_tells_cost_sticks_and_files(stored, tmp_path):
    told = json.loads(run(stored, "--out", tmp_path / "p", "--pdf", "--json").stdout)
    assert told["cost_cents"] > 0 and told["sticks"] == told["sticks_at_least"]
    assert [Path(f).name for f in told["files"]][-1] == "pack.pdf"


def test_a_wider_saw_cut_never_needs_fewer_sticks(stored, tmp_path):
    def sticks(kerf):
        told = json.loads(run(stored, "--out", tmp_path / "k", "--kerf", kerf, "--json").stdout)
        return sum(told["sticks"].values())

    assert sticks(0) <= sticks(3) <= sticks(20)


def test_a_design_of_an_earlier_version_answers_two_and_says_what_to_do(tmp_path):
    path = tmp_path / "old.json"
    write_design(make_design(), path)
    answer = run(path)
    assert answer.exit_code == 2
    assert "Design the site again" in answer.stderr
    assert not (tmp_path / "build-pack").exists()


def test_a_folder_that_cannot_be_answers_two_before_any_work(stored, tmp_path):
    (tmp_path / "file").write_text("x")
    assert run(stored, "--out", tmp_path / "file" / "pack").exit_code == 2


def test_a_saw_cut_that_is_no_number_is_refused(stored):
    assert run(stored, "--kerf", "nan").exit_code == 2
    assert run(stored, "--kerf", "-1").exit_code == 2
