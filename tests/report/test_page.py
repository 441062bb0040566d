from __future__ import annotations

import json
import re
from dataclasses import replace

import altair as alt

from optimizer.records.fish_tank import BuiltFishTank
from optimizer.report.charts.every import chart_specs
from optimizer.report.page import render_page
from tests.builders.evil_design import evil_of
from tests.report.make_check import make_check
from tests.report.read_page import PageReader

EVIL = "</script><script>alert(1)</script>"
SIZE_LIMIT_BYTES = 3_000_000
UNIT = re.compile(
    r"( (L/min|US gpm|m|ft|mm|in|m2|sq ft|L|US gal|kg|lb|kPa|psi|m/s|ft/s|W|s|min|floods/h"
    r"|piece|year|% open|%)|none|^EUR -?[\d,]+\.\d\d( more| less)?)$"
)


def test_a_hostile_name_never_becomes_markup(design):
    evil = evil_of(design, EVIL)
    html = render_page(evil, make_check(evil))
    assert "<script>alert" not in html
    read = PageReader(html)
    # Scripts are the charts' data, the bundle and ours: the names added none.
    data = [text for kind, text in read.scripts if kind.get("type") == "application/json"]
    assert len(read.scripts) == len(data) + 2
    assert len(data) == len(chart_specs(evil, make_check(evil)))
    # The names are still there, as text and as data.
    assert read.text.count(EVIL) >= 10
    assert any(EVIL in str(json.loads(text)) for text in data)


def test_the_page_fetches_nothing(page):
    for tag, attributes in PageReader(page).tags:
        assert tag not in ("link", "img", "iframe", "object", "embed", "base")
        assert "src" not in attributes
        assert (attributes.get("href") or "#").startswith("#")
    assert "default-src 'none'" in page
    assert "@import" not in page and "url(" not in page.split("</style>")[0]


def test_the_page_is_under_three_megabytes_with_24_beds(big):
    assert len(render_page(big, make_check(big)).encode()) < SIZE_LIMIT_BYTES


def test_every_figure_in_a_table_carries_its_unit(page):
    figures = [text for kind, text in PageReader(page).cells if kind == "figure"]
    headings = {"quantity", "price", "cost", "then it costs", "promised", "simulated", "tolerance"}
    cells = [text for text in figures if any(letter.isdigit() for letter in text)]
    named = [text for text in cells if text not in headings and text != "10 L in"]
    assert len(named) > 100
    assert [text for text in named if not UNIT.search(text)] == []


def test_every_table_cell_with_a_number_and_no_unit_is_a_name_or_a_count(page):
    bare = [text for kind, text in PageReader(page).cells if re.fullmatch(r"[\d.,]+", text)]
    # Only the beds' numbers on the plan stand without a unit.
    assert bare == ["1", "2", "3", "4"]


def test_the_answers_come_first(page):
    text = PageReader(page).text
    order = ["Will it work?", "What to buy", "What it costs", "What it draws", "Plan, to scale"]
    text = text[text.index("Will it work?") :]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert "Yes: all 10 promises hold" in text


def test_a_failed_promise_leads_the_findings_and_the_verdict(design):
    html = render_page(design, make_check(design, failing="bed_2_1"))
    text = PageReader(html).text
    assert "No, not as it stands: 1 of 10 promises does not hold" in text
    findings = text[text.index("Findings of the simulation") :]
    assert findings.index("bed_2_1") < findings.index("Beds: 1 of 8 FAIL")
    assert "Sump: the one promise holds" in findings


def test_every_chart_on_the_page_has_its_data_and_its_label(page):
    read = PageReader(page)
    ids = {attributes.get("id") for attributes, _ in read.scripts}
    boxes = [a for tag, a in read.tags if a.get("class") == "chart"]
    assert len(boxes) >= 9
    for box in boxes:
        assert box["data-spec"] in ids
        assert box.get("data-narrow", box["data-spec"]) in ids
    figures = [a for tag, a in read.tags if tag == "figure"]
    assert len(figures) == len(boxes)
    assert all(figure["aria-label"] for figure in figures)


def test_the_page_can_be_walked_by_landmarks_and_headings(page):
    read = PageReader(page)
    tags = [tag for tag, _ in read.tags]
    assert [tags.count(tag) for tag in ("main", "header", "nav", "footer", "h1")] == [1] * 5
    assert dict(read.tags)["html"]["lang"] == "en"
    ids = {attributes["id"] for _, attributes in read.tags if attributes.get("id")}
    links = [a["href"][1:] for tag, a in read.tags if tag == "a"]
    assert set(links) <= ids
    assert all(a["aria-labelledby"] in ids for tag, a in read.tags if tag == "section")
    assert read.open == []


def test_the_embedded_charts_are_valid_for_the_schema_altair_writes(page):
    data = [text for kind, text in PageReader(page).scripts if kind.get("type")]
    specs = [json.loads(text) for text in data if text.startswith("{")]
    assert len(specs) == 10
    for spec in specs:
        assert spec["$schema"] == alt.SCHEMA_URL
        alt.LayerChart.from_dict(spec)  # raises on a spec that breaks the schema


def test_the_same_design_gives_the_same_page_to_the_byte(design, check, page):
    assert render_page(design, check) == page


def test_the_time_the_solver_took_leaves_no_trace(design, check, page):
    slower = replace(design, record=replace(design.record, seconds=987.654))
    assert render_page(slower, check) == page


def test_us_units_reach_every_figure(draining, check):
    design = draining
    html = render_page(replace(design, units="us"), check)
    cells = [text for _, text in PageReader(html).cells]
    metric = re.compile(r"\d (L/min|m|mm|m2|cm2|L|kg|kPa|m/s|N)\b")
    sizes = {
        pipe.nominal for pipe in (*design.stretches, *design.drains)
    }  # trade names are never converted
    found = {text for text in cells if metric.search(text)}
    assert found - sizes == set()
    assert "10 L" not in PageReader(html).text and "2.5 US gal in" in cells
    # 10 L in 50 s: 2.5 x 3.785412 L in 47.3 s
    assert "47.3 s" in cells
    # 2.0e-4 m3/s x 60 / 0.003785412 m3 = 3.170 US gal/min
    assert "3.17 US gpm" in cells


def test_money_is_written_in_the_currency_of_the_site(design, check):
    text = PageReader(render_page(replace(design, currency="NZD"), check)).text
    # 4 beds at 90.00, 4 kits at 24.00, a pump at 129.00, a sump at 89.00
    assert "NZD 674.00 to buy" in text
    assert "EUR" not in text


def test_every_caution_is_said(page):
    text = PageReader(page).text
    for words in (
        "residual-current",
        "drip loop",
        "Wet beds are heavy",
        "children drown",
        "overflow",
        "safe for food",
        "air gap",
        "Local codes and licensed trades come first",
        "Prices are examples",
        "no return pipe",
    ):
        assert words in text


def test_the_return_schedule_gives_both_inverts_and_the_rule(draining, check):
    read = PageReader(render_page(draining, check))
    cells = [text for _, text in read.cells]
    row = cells[cells.index("return lateral_1_2") :][:9]
    # header 2 m and two laterals of 1.6 m at 2 % above 0.20 m: 0.272 and 0.304 m
    assert row[1:6] == ["90 mm", "1.6 m", "2 %", "0.30 m", "0.27 m"]
    # one bed sends 5e-4 m3/s = 30 L/min; the pipe carries 0.0123 m3/s = 738 L/min
    assert row[6:] == ["30 L/min", "738 L/min", "its one bed"]
    assert "Never join two siphons before their tees" in read.text
    assert ("a", {"href": "#returns"}) in read.tags


def test_a_design_without_return_pipe_has_no_section_for_it(page):
    assert "#returns" not in [a.get("href") for _, a in PageReader(page).tags]


def test_a_fish_tank_is_shown_with_its_turnover_and_feed(design, check, page):
    assert "The fish tank" not in PageReader(page).text
    fish = BuiltFishTank(1.0, 1.2, 2.304, 1.0, 0.1, (0.154, 0.192), "leafy")
    cells = [text for _, text in PageReader(render_page(replace(design, fish=fish), check)).cells]
    assert "2.3 times an hour, at least 1 asked for" in cells
    assert "0.154 to 0.192 kg" in cells


def test_the_lowest_level_of_the_sump_says_by_what_rule_it_was_found(design, check):
    text = PageReader(render_page(design, check)).text
    assert "lowest level, all beds full before topping up" in text
    rule = replace(design.promise, held="quantile")
    text = PageReader(render_page(replace(design, promise=rule), check)).text
    assert "beds as full as the site's confidence asks" in text
