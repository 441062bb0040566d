"""The verb explore: answers, files, refusals, and going on after being stopped or killed."""

import csv
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.cli_study import left_words
from optimizer.records.design_io import read_design
from tests.cli.site_texts import ONE_BED

ROOT = Path(__file__).parents[2]
PATIENCE_S = 120.0
POINTS = 12
VARIED = ("--vary", "energy_price", "--vary", "porosity")
PUMP_PRICES = "prices_pump_price_pump_040w_mid"
FRONT = ("front", "floods", "site.toml", "--no-check", "--steps", str(POINTS), "--to", "4 per hour")


@pytest.fixture
def site(tmp_path: Path) -> Path:
    path = tmp_path / "site.toml"
    path.write_text(ONE_BED)
    return path


def run(*words: object):
    return CliRunner().invoke(main, ["explore", *(str(word) for word in words)])


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_front_is_answered_in_words_tables_charts_and_whole_designs(site):
    answer = run("front", "floods", site, "--steps", 3, "--designs", "--workers", 1)
    assert answer.exit_code == 0, answer.output
    assert "3 of 3 points have a design" in answer.stdout
    folder = site.with_name("site-explore")
    rows = rows_of(folder / "front_floods.csv")
    assert [float(row["floods"]) for row in rows] == [1.0, 2.5, 4.0]
    assert {row["check"] for row in rows} == {"passes"}
    for row in rows:
        design = read_design(folder / "designs" / f"{row['design']}.json")
        assert design.record.cost_cents == round(100.0 * float(row["cost"]))
    assert (folder / "front_floods.svg").read_text().startswith("<svg")
    assert (folder / "front_floods.png").is_file()


def test_result_tables_hold_no_times(site):
    run("front", "floods", site, "--steps", 2, "--no-check", "--workers", 1)
    folder = site.with_name("site-explore")
    assert not any("second" in name for name in rows_of(folder / "front_floods.csv")[0])
    assert json.loads((folder / "run_log.json").read_text())["seconds_of_all_points"] > 0.0


@pytest.mark.parametrize(
    ("words", "table", "page"),
    [
        (("front", "area"), "front_area", "front_area"),
        (("front", "sump"), "front_sump", "front_sump"),
        (("front", "energy"), "front_energy", "front_energy"),
        (("pumps",), "pumps", "pumps"),
        (("sensitivity", *VARIED), "sensitivity", "sensitivity"),
        (("sensitivity", "--pairs", *VARIED), "pairs", "pairs"),
        (("sensitivity", "--draws", "4", "--vary", "energy_price"), "draws", "draws"),
        (("prices", "--to", "1"), "prices_energy_price", "prices_energy_price"),
        (("prices", "--of", "pump_040w_mid"), PUMP_PRICES, PUMP_PRICES),
        (
            ("prices", "--between", "pump_040w_mid", "pump_065w_mid"),
            "break_even_energy_price",
            "prices_energy_price",
        ),
    ],
)
def test_every_verb_answers_with_json_its_table_its_page_and_its_chart_in_both_forms(
    site, words, table, page
):
    answer = run(words[0], *words[1:], site, "--json", "--workers", 1)
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.stdout)
    assert all(sentence for sentence in told["answer"])
    rows = rows_of(site.with_name("site-explore") / f"{table}.csv") if told[table] else []
    assert len(rows) == len(told[table])
    files = {Path(file).name for file in told["files"]}
    assert f"{page}.html" in files
    pictures = [{Path(f).stem for f in files if f.endswith(end)} for end in (".svg", ".png")]
    assert pictures[0] == pictures[1] and len(pictures[0]) == 1


def test_the_last_line_says_which_page_to_open(site):
    answer = run("front", "floods", site, "--steps", 2, "--no-check", "--workers", 1)
    page = site.with_name("site-explore") / "front_floods.html"
    last = answer.stdout.strip().splitlines()[-1]
    assert last == f"Choose among the designs in {page} (any browser, no network)."
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_past_its_break_even_price_a_pump_gives_way_to_the_next(site):
    answer = run("prices", site, "--of", "pump_040w_mid", "--json", "--workers", 1)
    (met,) = json.loads(answer.stdout)["break_even_pump_price_pump_040w_mid"]
    assert (met["pump_below"], met["pump_above"]) == ("1 x pump_040w_mid", "1 x pump_065w_mid")


def test_two_designs_are_compared_by_the_names_that_tell_them_apart(site, tmp_path):
    run("front", "floods", site, "--steps", 2, "--to", "4 per hour", "--designs", "--no-check")
    files = sorted((tmp_path / "site-explore" / "designs").iterdir())
    answer = run("compare", *files, "--json", "--out", tmp_path / "both")
    assert answer.exit_code == 0, answer.output
    figures = json.loads(answer.stdout)["compare_figures"]
    cost = next(row for row in figures if row["figure"] == "cost")
    assert {file.name for file in files} == set(cost) - {"figure"}
    assert cost[files[0].name] != cost[files[1].name]
    assert (tmp_path / "both" / "compare_plan.csv").is_file()
    assert (tmp_path / "both" / "compare.html").is_file()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("front", "floods", "{site}", "--from", "2"), "bare number"),
        (("front", "sump", "{site}", "--to", "1 m3"), "means nothing for sump"),
        (("front", "floods", "{site}", "--from", "0 per hour"), "not above 0"),
        (("front", "energy", "{site}", "--to", "0 per kWh"), "not above 0"),
        (("front", "floods", "{site}", "--from", "9 per hour"), "nothing from 9 to 4"),
        (("front", "area", "{site}", "--from", "50 m2", "--to", "9 m2"), "nothing from 50 to 9"),
        (("prices", "{site}", "--from", "5", "--to", "1"), "nothing from 5 to 1"),
        (("sensitivity", "{site}", "--vary", "colour"), "nothing that can be varied"),
        (("sensitivity", "{site}", "--range", "porosity", "2", "1"), "no range from 2 to 1"),
        (("sensitivity", "{site}", "--pairs"), "needs two changes"),
        (("prices", "{site}", "--of", "pump_9"), "not in the catalog"),
        (("front", "floods", "{site}", "--dask", "tcp://127.0.0.1:9"), "Nobody answers"),
        (
            ("front", "floods", "{site}", "--dask", "tcp://127.0.0.1:9", "--workers", "2"),
            "not both",
        ),
        (("compare", "{site}"), "two designs"),
        (("front", "floods", "{site}.none"), "none"),
    ],
)
def test_what_cannot_be_done_is_refused_in_a_sentence(site, words, said, monkeypatch):
    monkeypatch.setattr("optimizer.explore.dask_engine.PATIENCE_S", 0.2)
    answer = run(*(word.format(site=site) for word in words))
    assert answer.exit_code == 2
    assert said in answer.output
    assert "Traceback" not in answer.output


def test_a_site_without_a_design_answers_one_with_what_would_help(site):
    site.write_text(ONE_BED.replace("2 per hour", "30 per hour"))
    answer = run("sensitivity", site, "--vary", "energy_price", "--workers", 1)
    assert answer.exit_code == 1
    assert "30 floods an hour cannot be had" in answer.output


def test_time_left_is_told_no_finer_than_it_is_known():
    assert [left_words(s) for s in (0.2, 59.4, 61.0, 7200.0)] == ["1 s", "59 s", "2 min", "2.0 h"]


STOPPING = """
import os, signal, sys
import optimizer.explore.sweep as sweep

real = sweep._Clock.tick

def tick(clock):
    real(clock)
    if clock.done == {after}:
        os.kill(os.getpid(), signal.SIGINT)

sweep._Clock.tick = tick
from optimizer.cli import main
main(["explore", *sys.argv[1:]])
"""


def finished(folder: Path) -> int:
    """Points in the store of a folder."""
    path = folder / "points.sqlite"
    if not path.is_file():
        return 0
    try:
        base = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        return base.execute("select count(*) from point").fetchone()[0]
    except sqlite3.OperationalError:  # not made yet
        return 0


def times_designed(folder: Path) -> list[int]:
    """How often each point was designed."""
    base = sqlite3.connect(folder / "points.sqlite")
    return [n for (n,) in base.execute("select count(*) from run_log group by key")]


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX systems")
@pytest.mark.parametrize("workers", ["1", "2"])
def test_ctrl_c_answers_three_keeps_points_and_the_same_command_goes_on(site, workers):
    words = [sys.executable, "-c", STOPPING.format(after=3), *FRONT, "--workers", workers]
    ended = subprocess.run(
        words,
        cwd=site.parent,
        env=with_path(),
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE_S,
    )
    folder = site.with_name("site-explore")
    assert ended.returncode == 3, ended.stderr
    assert "Finished points are kept" in ended.stderr
    assert "Traceback" not in ended.stderr
    assert "leaked" not in ended.stderr
    assert finished(folder) == 3
    assert not (folder / "front_floods.csv").exists()
    assert run(FRONT[0], FRONT[1], site, *FRONT[3:], "--workers", 1).exit_code == 0
    assert times_designed(folder) == [1] * POINTS


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX systems")
def test_a_command_killed_outright_leaves_no_worker_and_the_same_command_goes_on(site):
    # kill -9 of the command after its first points: its two workers see their parent gone and end;
    # the rerun designs only what is missing and writes the table that an undisturbed run writes.
    words = [sys.executable, "-m", "optimizer.cli", "explore", *FRONT, "--workers", "2"]
    started = subprocess.Popen(
        words, cwd=site.parent, env=with_path(), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    )
    folder = site.with_name("site-explore")
    wait_until(lambda: finished(folder) >= 2 or started.poll() is not None)
    workers = children_of(started.pid)
    os.kill(started.pid, signal.SIGKILL)
    started.communicate()
    kept = finished(folder)
    assert kept >= 2
    wait_until(lambda: not any(is_running(worker) for worker in workers))

    assert run(FRONT[0], FRONT[1], site, *FRONT[3:], "--workers", 1).exit_code == 0
    assert times_designed(folder) == [1] * POINTS
    resumed = (folder / "front_floods.csv").read_bytes()
    fresh = site.with_name("fresh")
    assert run(FRONT[0], FRONT[1], site, *FRONT[3:], "--workers", 1, "--out", fresh).exit_code == 0
    assert (fresh / "front_floods.csv").read_bytes() == resumed


def with_path() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT)}


def wait_until(holds) -> None:
    until = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < until, "it never came"
        time.sleep(0.05)


def children_of(pid: int) -> list[int]:
    path = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(word) for word in path.read_text().split()] if path.exists() else []


def is_running(pid: int) -> bool:
    """Whether a process is there and is not a corpse that nobody has buried."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except OSError:
        return False
    return state != "Z"
