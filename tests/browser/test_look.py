"""Narrow windows, paper, units, and two designs held against each other."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations

import pytest

from optimizer.report.explorer.page import render_explorer
from optimizer.report.scales import Reader, money
from tests.browser.agree import demand_agreement
from tests.browser.open_page import Opened
from tests.builders.make_design import make_design, make_design_of
from tests.builders.make_explorer import make_explorer

METRIC = re.compile(r"\d (L/min|m|mm|m2|L|kg|kPa|m/s|N)(?![\w/])")
NARROW = (320, 390, 760, 1080, 1280)
TOUCH_PX = 1.0
"""Boxes of words have room above and below the letters that may meet."""


@pytest.mark.parametrize("width", NARROW)
def test_no_width_scrolls_sideways_folded_or_open(chromium, study, width):
    with Opened(chromium, study / "front_area.html", width=width, height=800) as opened:
        opened.page.locator("#against").select_option("0")
        opened.page.locator("#choose").select_option("2")
        assert opened.widest() <= width
        opened.unfold()
        assert opened.widest() <= width


@pytest.mark.parametrize("width", NARROW)
def test_no_two_words_on_the_plan_touch(chromium, tmp_path, width):
    # 24 beds in four rows with return pipe; boxes as the browser's own fonts make them.
    page = render_explorer(make_explorer({"one": make_design_of(4, 6), "two": make_design()}))
    (tmp_path / "plan.html").write_text(page, encoding="utf-8")
    with Opened(chromium, tmp_path / "plan.html", width=width, height=800) as opened:
        opened.page.locator("#choose").select_option("0")
        boxes = opened.page.locator("#plan text").evaluate_all(
            """words => words.map(word => {
              const box = word.getBoundingClientRect();
              return [box.left, box.top, box.right, box.bottom];
            })"""
        )
        assert len(boxes) > 24
        for one, two in combinations(boxes, 2):
            wide = min(one[2], two[2]) - max(one[0], two[0])
            tall = min(one[3], two[3]) - max(one[1], two[1])
            assert min(wide, tall) <= TOUCH_PX


def test_what_a_finger_must_hit_is_large_enough(phone):
    # 24 CSS pixels: WCAG 2.2, success criterion 2.5.8 (W3C Recommendation, 2023).
    for box in (
        phone.mark(0).locator(".halo").bounding_box(),
        *(each.bounding_box() for each in phone.page.locator("button:visible").all()),
        *(each.bounding_box() for each in phone.page.locator("select:visible").all()),
    ):
        assert min(box["width"], box["height"]) >= 24


def test_the_switch_writes_every_figure_in_the_reader_s_units_and_back(opened, stored):
    opened.page.locator("#us").click()
    demand_agreement(opened, stored[0], "us")
    assert opened.page.locator("#us").get_attribute("aria-pressed") == "true"
    flow = stored[0].check.pump_flow_m3_s[1]
    # 1 US gallon is 3.785411784 L (NIST Handbook 44, appendix C)
    assert f"{flow * 60_000 / 3.785411784:.3g} US gpm" in opened.text("pump_name")
    opened.page.locator("#metric").click()
    demand_agreement(opened, stored[0], "metric")


def test_no_metric_figure_is_left_in_us_units_but_in_names_of_parts(opened, stored):
    opened.page.locator("#us").click()
    opened.unfold()
    text = opened.page.locator("body").inner_text()
    parts = {c.what for each in stored for c in each.design.costs}
    parts |= {c.part for each in stored for c in each.design.costs}
    parts |= {each.design.sump.label for each in stored} | {"25 mm"}
    parts |= {kind.kit_label for each in stored for kind in each.design.kinds}
    parts |= {s.nominal for each in stored for s in (*each.design.stretches, *each.design.drains)}
    for name in sorted(parts, key=len, reverse=True):
        text = text.replace(name, "")
    assert METRIC.findall(text) == []


def test_figures_that_stand_alone_carry_a_unit(opened):
    opened.unfold()
    cells = opened.page.locator("td.figure").all_inner_texts()
    figures = [cell for cell in cells if any(sign.isdigit() for sign in cell)]
    assert len(figures) > 50
    assert [cell for cell in figures if re.fullmatch(r"[-+\d.,\s]+", cell)] == []


def test_two_designs_are_compared_in_cost_parts_figures_and_plan(opened, stored):
    opened.page.locator("#keep").click()
    opened.page.mouse.click(*opened.middle_of(2))
    one, other = stored[2], stored[0]
    cents = one.cents() - other.cents()
    assert money(cents, "EUR").replace("EUR ", "EUR +") in opened.text("differ")
    last = opened.rows("costs")[-1]
    assert last[3] == money(other.cents(), "EUR")
    # Every line's difference together is the difference of the two bills.
    parts = [row[4].split()[-1].replace(",", "") for row in opened.rows("parts")]
    capital = one.cents("capital") - other.cents("capital")
    assert sum(round(100 * float(part)) for part in parts) == capital
    more = one.beds - other.beds
    marked = opened.page.locator("#plan .bed.differs").evaluate_all(
        "beds => beds.map(bed => bed.dataset.bed)"
    )
    assert set(marked) >= more and more
    assert opened.page.locator("#points .against").get_attribute("data-place") == "0"


def test_a_design_is_not_compared_with_itself(opened):
    opened.page.locator("#keep").click()
    assert opened.text("differ") == ""
    assert opened.page.locator("#plan .differs").count() == 0


def test_a_bed_that_only_the_other_design_has_is_drawn_as_gone(opened, stored):
    opened.page.locator("#against").select_option(str(len(stored) - 1))
    gone = opened.page.locator("#plan .gone").count()
    assert gone == len(stored[-1].beds - stored[0].beds) > 0


def test_paper_has_the_chosen_design_whole_and_no_controls(opened, stored):
    opened.page.mouse.click(*opened.middle_of(1))
    opened.page.evaluate("dispatchEvent(new Event('beforeprint'))")
    opened.page.emulate_media(media="print")
    assert (
        opened.page.locator("button:visible, select:visible").count()
        == opened.page.locator("button.choose").count()
    )
    assert opened.page.locator("details:not([open])").count() == 0
    demand_agreement(opened, stored[1])


def test_what_is_chosen_differs_in_shape_and_not_in_colour_alone(opened):
    opened.page.locator("#against").select_option("1")
    shapes = [
        opened.page.locator(f"#points [data-place='{place}'] {part}:visible").first
        for place, part in ((0, ".now"), (1, ".with"), (2, ".plain"))
    ]
    assert len({shape.get_attribute("d") for shape in shapes}) == 3
    words = opened.text("points_legend")
    assert "chosen" in words and "compared with" in words


def test_every_picture_has_words_for_those_who_do_not_see_it(opened):
    for each in opened.page.locator("svg[role='img']").all():
        assert len(each.get_attribute("aria-label")) > 20
    for each in opened.page.locator("#points [role='radio']").all():
        assert "EUR" in each.get_attribute("aria-label")


def test_a_site_file_in_us_units_opens_in_us_units(chromium, tmp_path):
    design = replace(make_design(), units="us")
    page = render_explorer(make_explorer({"one": design, "two": design}))
    (tmp_path / "us.html").write_text(page, encoding="utf-8")
    with Opened(chromium, tmp_path / "us.html", width=800, height=600) as opened:
        assert opened.page.locator("#us").get_attribute("aria-pressed") == "true"
        assert Reader("us").text("flow", design.pump.duty_flow_m3_s) in opened.text("pump_name")
        opened.demand_quiet()
