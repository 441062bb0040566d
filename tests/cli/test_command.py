"""The command as a person meets it: exit codes, sentences, JSON."""

import json
from pathlib import Path

from click.testing import CliRunner

from optimizer.cli import main
from tests.cli.site_texts import ONE_BED


def run(*words: object):
    return CliRunner().invoke(main, [str(word) for word in words])


def test_every_public_name_can_be_imported():
    import optimizer  # noqa: PLC0415  # only here, so that the others see a fresh process

    for name in optimizer.__all__:
        assert getattr(optimizer, name).__doc__, f"{name} has no docstring"


def test_design_writes_page_design_and_tables_and_answers_zero(site: Path, tmp_path: Path):
    answer = run("design", site, "--out", tmp_path / "out", "--json")
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.stdout)
    assert told["passed"] and told["beds"] == 2
    assert {"design.json", "page.html", "run_log.json"} <= {
        path.name for path in (tmp_path / "out").iterdir()
    }


def test_a_stored_design_is_checked_again_with_the_same_findings(site: Path, tmp_path: Path):
    first = json.loads(run("design", site, "--out", tmp_path / "out", "--json").stdout)
    again = run("check", tmp_path / "out" / "design.json", "--json")
    assert again.exit_code == 0, again.output
    assert json.loads(again.stdout)["findings"] == first["findings"]


def test_the_same_site_gives_the_same_design_file(site: Path, tmp_path: Path):
    for name in ("one", "two"):
        assert run("design", site, "--out", tmp_path / name, "--json").exit_code == 0
    first, second = (tmp_path / name / "design.json" for name in ("one", "two"))
    assert first.read_bytes() == second.read_bytes()


def test_every_fault_of_a_file_is_told_at_once_with_its_line(site: Path):
    site.write_text(ONE_BED.replace('"2 per hour"', "2").replace('"1 m"\n[buy]', "1\n[buy]"))
    answer = run("design", site)
    assert answer.exit_code == 2
    assert "2 things to mend first" in answer.stderr
    assert "line 3" in answer.stderr and "line 17" in answer.stderr


def test_a_goal_no_kit_reaches_is_answered_with_a_way_out(site: Path):
    site.write_text(ONE_BED.replace("2 per hour", "30 per hour"))
    answer = run("design", site)
    assert answer.exit_code == 1
    assert "30 floods an hour cannot be had" in answer.stderr
    assert "ask at most about" in answer.stderr


def test_a_missing_file_is_a_sentence_not_a_traceback(tmp_path: Path):
    answer = run("design", tmp_path / "nothing.toml")
    assert answer.exit_code == 2
    assert "Traceback" not in answer.output and "nothing.toml" in answer.stderr


def test_a_time_limit_keeps_the_best_design_and_says_so(site: Path, tmp_path: Path):
    # A limit far above need changes nothing; the stopped road itself is tested on the program.
    answer = run("design", site, "--out", tmp_path / "out", "--time-limit", "600", "--json")
    assert json.loads(answer.stdout)["status"] == "optimal"


def test_start_writes_a_file_that_reads_and_never_overwrites_unasked(tmp_path: Path):
    file = tmp_path / "new.toml"
    assert run("start", file, "--yes", "--answer", "units=us").exit_code == 0
    before = file.read_text()
    refused = run("start", file, "--yes")
    assert refused.exit_code == 2
    assert "--force" in refused.stderr
    assert file.read_text() == before


def test_start_asks_at_most_ten_questions(tmp_path: Path):
    file = tmp_path / "asked.toml"
    answer = CliRunner().invoke(main, ["start", str(file)], input="\n" * 10)
    assert answer.exit_code == 0, answer.output
    assert file.exists()


def test_the_catalog_is_listed_and_a_wrong_table_is_answered_with_the_right_ones():
    assert "pumps: 36" in run("catalog").stdout
    assert "pump_065w_mid" in run("catalog", "pumps").stdout
    wrong = run("catalog", "pomps")
    assert wrong.exit_code == 2 and "pumps" in wrong.stderr
