"""What a command does where work is stopped, nothing is found, or little is asked of it."""

from __future__ import annotations

import contextlib
import json
import threading
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer import extension, safety
from optimizer.cli import main
from optimizer.cli_doings import read_doings
from optimizer.cli_keeping import keeping_the_best
from optimizer.cli_output import write_results
from optimizer.cli_pack import _sentences
from optimizer.pack.shopping import ShoppingList
from optimizer.records.design_io import write_design
from optimizer.records.safety import NoSafeDesign
from optimizer.report import writer
from optimizer.simulate.check import check_design
from tests.builders.make_design import make_design, make_design_of
from tests.campaigns.spoilt_cases import LARGER, built_text
from tests.cli.site_texts import ONE_BED


def run(*words: object):
    return CliRunner().invoke(main, [str(word) for word in words])


def test_a_table_of_the_catalog_is_handed_to_a_program_as_a_list_of_parts():
    told = json.loads(run("catalog", "sumps", "--json").stdout)
    assert len(told) == json.loads(run("catalog", "--json").stdout)["sumps"]
    assert all(part["area_m2"] > 0.0 for part in told)


def test_a_refusal_is_handed_to_a_program_with_its_ways_out(site: Path):
    site.write_text(ONE_BED.replace("2 per hour", "30 per hour"))
    answer = run("design", site, "--json")
    assert answer.exit_code == 1
    told = json.loads(answer.stdout)
    assert "30 floods an hour" in told["clash"]
    assert told["remedies"] and all(way["requirement"] for way in told["remedies"])


def test_two_designs_compared_without_a_folder_are_told_and_nothing_is_written(tmp_path: Path):
    # Both are called design.json: their folders tell them apart.
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        write_design(make_design(), tmp_path / name / "design.json")
    files = [tmp_path / name / "design.json" for name in ("one", "two")]
    answer = run("explore", "compare", *files)
    assert answer.exit_code == 0, answer.output
    assert "one/design.json" in answer.stdout and "two/design.json" in answer.stdout
    assert "Tables and charts are in" not in answer.stdout
    assert {path.name for path in tmp_path.rglob("*") if path.is_file()} == {"design.json"}


@pytest.mark.parametrize("charts", [True, False])
def test_charts_are_saved_beside_the_design_only_where_they_are_asked_for(
    charts, tmp_path: Path, monkeypatch
):
    monkeypatch.setattr(writer, "save_charts", lambda *given: [given[2] / "money.svg"])
    monkeypatch.setattr(writer, "write_report", lambda *given: [given[2] / "page.html"])
    design = make_design()
    files = write_results(design, check_design(design), tmp_path, charts=charts)
    wanted = ["design.json", "page.html", *(["money.svg"] if charts else [])]
    assert [file.name for file in files] == wanted


def test_one_bed_is_told_no_minutes_of_a_staggered_start(tmp_path: Path):
    write_design(make_design_of(1, 1), tmp_path / "design.json")
    answer = run("simulate", tmp_path / "design.json", "--hours", "0.5", "--draws", "5")
    assert answer.exit_code == 0, answer.output
    assert "Staggered start" not in answer.stdout


def test_two_stops_of_the_pump_with_time_between_them_are_both_made():
    stops, _, _ = read_doings(("4-5", "1-2"), (), (), 6.0)
    assert stops == ((1.0, 2.0), (4.0, 5.0))


def test_a_list_in_which_everything_has_a_price_says_nothing_of_lines_without():
    lines = _sentences(make_design(), ShoppingList((), (), ()))
    assert len(lines) == 2 and not any("no price" in line for line in lines)


@contextlib.contextmanager
def quiet():
    yield None


def test_a_time_limit_asks_a_search_for_its_best_and_one_not_reached_leaves_it_alone():
    with keeping_the_best(quiet(), time_limit_s=0.001) as search:
        assert search.stop.wait(30.0)
    with keeping_the_best(quiet(), time_limit_s=1e4) as search:
        assert not search.stop.is_set()
    timers = [each for each in threading.enumerate() if isinstance(each, threading.Timer)]
    for timer in timers:  # cancelled: it ends without having waited
        timer.join(10.0)
        assert not timer.is_alive()


def test_a_comparison_of_safety_stopped_before_its_first_level_has_nothing_to_tell(
    site: Path, monkeypatch
):
    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(safety, "cost_of_safety", stopped)
    answer = run("safety", site)
    assert answer.exit_code == 3
    assert "Stopped before the results were written." in answer.stderr


def test_a_level_of_safety_stopped_by_its_search_is_told_and_no_other_begins(
    site: Path, monkeypatch
):
    begun = []

    def stops(job, *, levels, stop, **_):
        begun.extend(levels)
        stop.set()
        return [NoSafeDesign(levels[0], "out of time")]

    monkeypatch.setattr(safety, "cost_of_safety", stops)
    answer = run("safety", site, "--json")
    assert answer.exit_code == 3
    assert begun == ["nominal"]
    assert [row["robustness"] for row in json.loads(answer.stdout)["levels"]] == begun


def test_an_extension_that_was_stopped_is_written_and_answers_three(tmp_path: Path, monkeypatch):
    real = extension.extend_design

    def stopped(*given, stop, **how):
        found = real(*given, stop=stop, **how)
        stop.set()
        return found

    monkeypatch.setattr(extension, "extend_design", stopped)
    old, new = tmp_path / "design.json", tmp_path / "larger.toml"
    old.write_text(built_text())
    new.write_text(LARGER)
    answer = run("extend", old, new, "--no-room")
    assert answer.exit_code == 3, answer.output
    assert (tmp_path / "larger-extension" / "design.json").is_file()
