"""Faults name the file they lie in, and the faults of two files come at once."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.errors import BadInput, Problem
from optimizer.reading.in_file import naming, read_both
from optimizer.records.design_io import write_design
from tests.builders.make_design import make_design
from tests.cli.site_texts import ONE_BED


def refuse(*wheres):
    raise BadInput([Problem(where, "is wrong.", "Mend it.") for where in wheres])


def test_a_fault_without_a_file_gets_it_and_one_with_a_file_keeps_its_own():
    with pytest.raises(BadInput) as told, naming("farm/new.toml", "farm/old.json"):
        refuse("position A1", "new.toml line 3, row", "farm/old.json, bed A1")
    assert [p.where for p in told.value.problems] == [
        "farm/new.toml, position A1",
        "new.toml line 3, row",
        "farm/old.json, bed A1",
    ]


def test_two_files_are_read_or_the_faults_of_both_are_told():
    assert read_both(lambda: 1, lambda: "b") == (1, "b")
    with pytest.raises(BadInput) as told:
        read_both(lambda: refuse("a"), lambda: refuse("b"))
    assert [p.where for p in told.value.problems] == ["a", "b"]


def test_pack_names_the_design_whose_shelf_is_bare_and_says_what_to_do(tmp_path):
    file = tmp_path / "bare.json"
    write_design(replace(make_design(), shelf=()), file)
    answer = CliRunner().invoke(main, ["pack", str(file), "--json"])
    assert answer.exit_code == 2
    problem = json.loads(answer.stdout)["problems"][0]
    assert problem["where"] == f"{file}, shelf"
    assert "floodwright design" in problem["fix"]


def test_extend_names_the_old_design_and_the_bed_that_has_no_place(tmp_path):
    now, later = tmp_path / "now.toml", tmp_path / "later.toml"
    now.write_text(ONE_BED)
    later.write_text(ONE_BED.replace('name = "A"', 'name = "B"'))
    runner = CliRunner()
    assert runner.invoke(main, ["design", str(now), "--no-nearly"]).exit_code == 0
    old = tmp_path / "now-design" / "design.json"
    answer = runner.invoke(main, ["extend", str(old), str(later), "--json"])
    assert answer.exit_code == 2
    problems = json.loads(answer.stdout)["problems"]
    assert [p["where"] for p in problems] == [f"{old}, bed A1", f"{old}, bed A2"]
    assert all("new site file" in p["fix"] for p in problems)
    broken = tmp_path / "broken.json"
    broken.write_text("[]")
    later.write_text("name = 3\n")
    answer = runner.invoke(main, ["extend", str(broken), str(later), "--json"])
    wheres = [p["where"] for p in json.loads(answer.stdout)["problems"]]
    assert any("broken.json" in where for where in wheres)
    assert any("later.toml" in where for where in wheres)
