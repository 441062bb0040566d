"""What stands and is kept costs nothing: the page of many designs does not tell to buy it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.records.design import CostLine
from optimizer.report.explorer.page import render_explorer
from tests.browser.open_page import Opened
from tests.builders.make_design import make_design, make_design_of
from tests.builders.make_explorer import make_explorer

KEPT = CostLine("standing", "kept: pump", "pump_that_stands", 1.0, "piece", 0)
SHED = CostLine("stock", "pipe from stock", "pipe_in_the_shed", 2.0, "m", 0)


@pytest.fixture
def opened(chromium, tmp_path):
    design = make_design()
    stands = replace(design, costs=(KEPT, SHED, *design.costs))
    explorer = make_explorer({"stands": stands, "one bed": make_design_of(1, 1)}, "Yard")
    (tmp_path / "page.html").write_text(render_explorer(explorer), encoding="utf-8")
    with Opened(chromium, tmp_path / "page.html", width=1280, height=900) as page:
        yield page
        page.demand_quiet()


def test_what_stands_is_on_no_list_of_things_to_buy_and_on_no_bill(opened):
    assert "kept: pump" not in opened.page.locator("#parts").text_content()
    assert "kept: pump" not in opened.page.locator("#costs").text_content()
    # The twin: what lies ready is fetched from the shed, and is told.
    assert "pipe from stock" in opened.page.locator("#parts").text_content()


def test_one_bed_is_spoken_of_as_one(opened):
    opened.page.locator("#choose").select_option("1")
    assert (
        opened.page.locator("#plan svg")
        .get_attribute("aria-label")
        .startswith("Plan to scale: 1 bed, pipes")
    )
