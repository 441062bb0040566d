"""Zones on the page: the timer's table, rows that name their zone, valves marked by shape."""

from __future__ import annotations

import dataclasses

import pytest

from optimizer.report.charts.plan import plan_chart
from optimizer.report.page import render_page
from optimizer.report.plan_frame import frame_of
from optimizer.report.plan_key import TIMED_MARK, key_of
from optimizer.report.plan_layout import words_on_plan
from optimizer.report.words import cautions
from optimizer.report.words_zones import zone_rules, zones_sentence, zones_table
from optimizer.simulate.check import check_design
from tests.builders.make_design import make_design
from tests.builders.zoned_design import zoned_design


def test_the_timer_table_opens_each_zone_as_the_last_one_still_has_water():
    # Half a flood an hour in two zones: turns of 3600 s, valves move for 20 s.
    table = zones_table(zoned_design())
    opens, shuts = table.columns.index("opens at"), table.columns.index("shuts at")
    assert [row[opens] for row in table.rows] == ["0 s", "1 h 00 min"]
    assert [row[shuts] for row in table.rows] == ["1 h 00 min 20 s", "2 h 00 min 20 s"]
    assert [row[table.columns.index("rows")] for row in table.rows] == ["A", "B, C"]


@pytest.mark.parametrize("width", [360, 720])
def test_every_row_names_its_zone_in_words_on_the_plan(width):
    design = zoned_design()
    words = [placed.words for placed in words_on_plan(design, frame_of(design, width))]
    assert sum(w.startswith("zone 1") for w in words) == 1
    assert sum(w.startswith("zone 2") for w in words) == 2


def test_timed_valves_have_a_mark_of_their_own_shape_and_an_entry_in_the_key():
    design = zoned_design()
    assert TIMED_MARK in [entry.words for entry in key_of(design, 720, 12.0)]
    assert TIMED_MARK not in [entry.words for entry in key_of(make_design(), 720, 12.0)]
    data = plan_chart(design).to_dict()["datasets"]
    marks = [row for rows in data.values() for row in rows if row.get("mark") == TIMED_MARK]
    assert len(marks) >= len(design.zones.valves)


def test_the_page_says_how_zones_turn_and_what_must_hold():
    design = zoned_design()
    page = render_page(design, check_design(design))
    assert "2 zones in turn" in page
    assert "The timer: one rotation" in page
    assert all(rule.split(":")[0].replace("'", "&#39;") in page for rule in zone_rules(design))
    assert any("all of them shut" in said for said in cautions(design))


def test_a_design_without_zones_says_nothing_of_them():
    design = make_design()
    assert zones_sentence(design) == ""
    assert zones_table(design) is None
    assert zone_rules(design) == ()
    page = render_page(design, check_design(design))
    assert "Zones in turn" not in page


def test_hours_minutes_and_seconds_read_as_a_timer_shows_them():
    zones = dataclasses.replace(zoned_design().zones, turn_s=45.0, change_s=5.0)
    table = zones_table(dataclasses.replace(zoned_design(), zones=zones))
    assert [row[table.columns.index("shuts at")] for row in table.rows] == ["50 s", "1 min 35 s"]
