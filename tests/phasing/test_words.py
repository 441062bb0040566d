"""What is said and written of phases agrees with the plans."""

from __future__ import annotations

import json
import os
import signal
from dataclasses import replace

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.phasing import compare
from optimizer.phasing.compare import plan_phases
from optimizer.pipeline import job_of
from optimizer.reading.site import read_site_text
from optimizer.records.design_io import read_design
from optimizer.report import phase_words
from optimizer.report.phase_page import render_phases
from optimizer.report.phase_tables import bought_frame, phasing_dict, plans_frame, steps_frame
from tests.cli.site_texts import ONE_BED
from tests.phasing.phase_texts import FAULTY_PHASES, THREE_PHASES, YARD

TWO_PHASES = "[[phase]]\nyear = 0\nbeds = 1\n[[phase]]\nyear = 2\n"


@pytest.fixture(scope="module")
def found():
    return plan_phases(job_of(read_site_text(YARD + THREE_PHASES, "yard.toml")))


def test_what_each_step_buys_adds_up_to_what_it_costs(found):
    lines = bought_frame(found.best)
    for step in found.best.steps:
        assert lines.loc[lines["step"] == step.name, "cents"].sum() == step.bought_cents
    frame = steps_frame(found.best)
    today = frame["bought_today_cents"].sum() + frame["running_today_cents"].sum()
    assert abs(today - found.best.worth_cents) <= 2 * len(frame)  # each rounded to a cent


def test_the_plans_table_is_cheapest_first_and_says_what_each_costs_over_the_best(found):
    frame = plans_frame(found)
    assert (frame["over_best_cents"] == frame["today_cents"] - frame["today_cents"].min()).all()
    assert frame["today_cents"].is_monotonic_increasing


def test_the_sentences_name_the_saving_the_bound_and_every_pump_of_the_steps(found):
    told = " ".join(phase_words.sentences(found))
    assert f"{found.best.worth_cents / 100.0:,.2f}" in told
    assert f"{round(found.bound_cents) / 100.0:,.2f}" in told
    reached = phase_words.reach_sentences(found)
    assert len(reached) == 2
    for step, room, sentence in zip(found.best.steps, found.rooms, reached, strict=False):
        assert step.design.pump.label in sentence
        if room.fits < room.places and room.beyond:
            assert "one more needs" in sentence
            assert room.beyond.pump.label in sentence


def test_a_number_that_stays_open_is_told_with_both_ends(found):
    room = found.rooms[0]
    rooms = (replace(room, fits_at_most=room.fits + 1), *found.rooms[1:])
    sentence = phase_words.reach_sentences(replace(found, rooms=rooms))[0]
    assert f"up to {room.fits + 1} in all are not proven too many" in sentence


def test_the_page_fetches_nothing_and_escapes_what_the_grower_wrote(found):
    page = render_phases(replace(found, site="<b>Two & rows"), [("a", "step-1/page.html")])
    assert "&lt;b&gt;Two &amp; rows" in page
    assert "http" not in page.replace("http-equiv", "")
    assert "<script" not in page


def test_all_of_it_is_plain_json(found):
    plain = json.loads(json.dumps(phasing_dict(found), allow_nan=False))
    assert plain["today_cents"] == found.best.worth_cents
    assert len(plain["plans"]) == len(found.plans)
    assert [step["beds"] for step in plain["steps"]] == [2, 3, 5]


def test_the_verb_writes_page_tables_and_a_design_for_each_step(tmp_path):
    site = tmp_path / "yard.toml"
    site.write_text(ONE_BED + TWO_PHASES)
    answer = CliRunner().invoke(main, ["phase", str(site), "--json", "--no-room"])
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.stdout)
    folder = tmp_path / "yard-phases"
    assert json.loads((folder / "phases.json").read_text())["plans"] == told["plans"]
    assert len(read_design(folder / "step-1" / "design.json").beds) == 1
    assert len(read_design(folder / "step-2" / "design.json").beds) == 2
    for name in ("phases.html", "steps.csv", "plans.csv", "bought.csv", "parts.csv", "reach.csv"):
        assert (folder / name).is_file()
    again = CliRunner().invoke(
        main,
        ["phase", str(site), "--no-room", "--built", str(folder / "step-1" / "design.json")],
    )
    assert again.exit_code == 0, again.output
    assert "2 beds in 2 steps" in again.stdout


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX systems")
def test_ctrl_c_keeps_the_best_plan_so_far(tmp_path, monkeypatch):
    site = tmp_path / "yard.toml"
    site.write_text(YARD + THREE_PHASES)
    counting = compare._counting

    def interrupted(tell, number, ways, plans):
        if number == 3:
            os.kill(os.getpid(), signal.SIGINT)
        return counting(tell, number, ways, plans)

    monkeypatch.setattr(compare, "_counting", interrupted)
    answer = CliRunner().invoke(main, ["phase", str(site)])
    assert answer.exit_code == 3, answer.output
    told = " ".join(answer.stdout.split())
    assert "of 27 ways to look ahead were compared" in told
    kept = json.loads((tmp_path / "yard-phases" / "phases.json").read_text())
    assert 1 <= kept["ways_compared"] < 27
    assert kept["bound_cents"] is None
    assert read_design(tmp_path / "yard-phases" / "step-3" / "design.json").beds


def test_the_verb_tells_every_fault_of_its_files_at_once(tmp_path):
    site, built = tmp_path / "yard.toml", tmp_path / "old.json"
    site.write_text(YARD + FAULTY_PHASES)
    built.write_text("{}")
    answer = CliRunner().invoke(main, ["phase", str(site), "--built", str(built)])
    assert answer.exit_code == 2
    assert "phase[1].year" in answer.stderr
    assert "phase[2].rows[1]" in answer.stderr
    assert "old.json" in answer.stderr


def test_a_step_without_a_design_is_named(tmp_path):
    site = tmp_path / "poor.toml"
    poor = (YARD + THREE_PHASES).replace("[goal]", "[goal]\nbudget = 40.0")
    site.write_text(poor)
    answer = CliRunner().invoke(main, ["phase", str(site)])
    assert answer.exit_code == 1
    assert "phase 1: " in answer.stderr
    assert "money" in answer.stderr


def test_the_verb_asks_for_phases_by_the_name_of_the_file(tmp_path):
    site = tmp_path / "plain.toml"
    site.write_text(ONE_BED)
    answer = CliRunner().invoke(main, ["phase", str(site)])
    assert answer.exit_code == 2
    assert f"{site}, phase" in answer.stderr.replace("\n", "")
