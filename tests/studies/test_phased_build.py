"""Claims of the study on phased building, and the figures its written answer quotes."""

from __future__ import annotations

import pytest

from studies.phased_build.charts import every_chart
from studies.phased_build.experiments import FULL, jobs
from studies.phased_build.findings import findings_frame
from studies.phased_build.run import RESULTS, main
from studies.writing import read_tables
from tests.studies.quoted import figures_not_found, pictures_shown

SIX_FIGURES = 1e-5
"""Relative: tables and findings are written six figures long."""


def test_the_first_phase_stands_on_the_first_rows_of_the_whole():
    now, final = jobs(FULL)
    assert now.site.rows == final.site.rows[:3]
    assert sum(row.positions for row in now.site.rows) == 60
    assert sum(row.positions for row in final.site.rows) == 200


def test_no_stored_plan_costs_less_than_its_bound_or_more_than_building_whole():
    plans = read_tables(RESULTS)["plans"]
    assert (plans["worth"] >= plans["bound"]).all()
    best = plans.groupby("years")["worth"].min()
    assert (best < plans.groupby("years")["at_once"].first()).all()


def test_the_miniature_writes_all_that_the_full_run_writes_and_redraws_it(tmp_path, capsys):
    assert main(["--quick", "--processes", "1", "--out", str(tmp_path)]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in RESULTS.iterdir()}
    before = (tmp_path / "findings.csv").read_bytes()
    assert main(["--redraw", "--out", str(tmp_path)]) == 0
    assert (tmp_path / "findings.csv").read_bytes() == before
    assert capsys.readouterr().out.count("Tables and charts") == 2


def test_the_stored_findings_are_those_of_the_stored_tables():
    tables = read_tables(RESULTS)
    stored, anew = tables["findings"], findings_frame(tables)
    assert list(stored["finding"]) == list(anew["finding"])
    assert stored["value"].to_numpy() == pytest.approx(anew["value"].to_numpy(), rel=SIX_FIGURES)


def test_every_figure_of_the_written_answer_is_in_the_findings():
    assert figures_not_found(RESULTS) == []


def test_every_picture_is_shown_and_drawn_from_the_tables():
    assert pictures_shown(RESULTS) == set(every_chart(read_tables(RESULTS)))
