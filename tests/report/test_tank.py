"""A tank over the beds, as a reader meets it."""

from __future__ import annotations

from optimizer.report import words
from optimizer.report.charts.plan import plan_chart
from optimizer.report.page import render_page
from optimizer.report.plant_tables import tank_table
from tests.builders.tank_design import with_tank
from tests.report.make_check import make_check
from tests.report.read_page import PageReader


def test_the_page_tells_the_tanks_levels_its_overflow_and_what_comes_down_in_a_power_cut():
    design = with_tank()
    text = PageReader(render_page(design, make_check(design))).text
    facts = dict(tank_table(design).rows)
    assert facts["overflow pipe, back to the sump"].startswith("100 mm")
    for fact, value in facts.items():
        assert fact in text and value in text
    assert any("stand" in said for said in words.cautions(design) if "tank" in said)


def test_the_plan_marks_the_tank_and_says_its_level(design):
    drawn = str(plan_chart(with_tank(x_m=0.2, y_m=2.5)).to_dict(validate=False))
    assert "tank over the beds" in drawn and "tank, water at" in drawn
    assert "tank, water at" not in str(plan_chart(design).to_dict(validate=False))
    assert tank_table(design) is None
