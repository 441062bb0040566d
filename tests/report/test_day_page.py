"""The page of a day: whole, offline, safe, in the reader's units; its files; its sentences."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import altair as alt
import pandas as pd
import pytest

from optimizer.records.check import Finding
from optimizer.report.charts.day_every import OF_DAY
from optimizer.report.day_doings import Doings, begin_words, marks_sentence
from optimizer.report.day_floods_words import floods_sentence
from optimizer.report.day_page import render_day, write_day
from optimizer.report.day_words import (
    cut_sentence,
    failure_lines,
    misses_sentence,
    risk_sentence,
    step_sentence,
    sump_sentence,
    verdict,
)
from optimizer.report.page import spec_json
from tests.report.make_day import BUSY, QUIET, day_design, facts_of, one_bed
from tests.report.read_page import PageReader

EVIL = "</script><script>alert(1)</script>"
METRIC = re.compile(r"\d (L/min|m|mm|L)\b")


@pytest.fixture(scope="module")
def page(cache_folder):
    return render_day(day_design(), facts_of(BUSY))


@pytest.fixture(scope="module")
def read(page):
    return PageReader(page)


def evil_day():
    """The first bed, its kind, the site and the shared return pipe bear a hostile name."""
    design, facts = day_design(), facts_of(BUSY)
    first = design.beds[0].id

    def named(frame, column):
        return frame.assign(**{column: frame[column].replace(first, EVIL)})

    failed = Finding(EVIL, EVIL, 1.0, 0.0, "m", 0.0, False)
    return (
        replace(design, site=EVIL, beds=(replace(design.beds[0], id=EVIL), *design.beds[1:])),
        replace(
            facts,
            doings=replace(facts.doings, valve_shut_h=((EVIL, 4.0),)),
            beds=named(facts.beds, "bed"),
            levels=named(facts.levels, "subject"),
            events=named(facts.events, "bed"),
            hourly=named(facts.hourly, "bed"),
            findings=(failed,),
            collector=replace(facts.collector, stretch=EVIL),
            starts=replace(facts.starts, openings=((0.0, (EVIL,)),), kind=EVIL),
        ),
    )


def test_a_hostile_name_never_becomes_markup():
    html = render_day(*evil_day())
    assert "<script>alert" not in html
    read = PageReader(html)
    data = [text for kind, text in read.scripts if kind.get("type") == "application/json"]
    assert len(read.scripts) == len(data) + 2  # the bundle and ours
    # Heading, done, floods, lanes, levels, failure, opening, kind, pipe: still there as text.
    assert read.text.count(EVIL) >= 9
    assert any(EVIL in str(json.loads(text)) for text in data)


def test_the_page_fetches_nothing(page, read):
    for tag, attributes in read.tags:
        assert tag not in ("link", "img", "iframe", "object", "embed", "base")
        assert "src" not in attributes
        assert (attributes.get("href") or "#").startswith("#")
    assert "default-src 'none'" in page
    assert "@import" not in page and "url(" not in page.split("</style>")[0]


def test_every_chart_is_on_the_page_with_its_data_and_its_label(read):
    ids = {attributes.get("id") for attributes, _ in read.scripts}
    assert {f"spec_{name}" for name in OF_DAY} <= ids
    boxes = [a for tag, a in read.tags if a.get("class") == "chart"]
    assert {box["data-spec"] for box in boxes} == {
        f"spec_{name}" for name in OF_DAY if name != "floods_narrow"
    }
    assert all(box.get("data-narrow", box["data-spec"]) in ids for box in boxes)
    figures = [a for tag, a in read.tags if tag == "figure"]
    assert len(figures) == len(boxes)
    assert all(figure["aria-label"] for figure in figures)


def test_a_chart_of_more_rows_than_altair_takes_by_itself_is_still_written():
    rows = pd.DataFrame({"x": range(6000), "y": 0.0})
    spec = json.loads(spec_json(alt.Chart(rows).mark_line().encode(x="x", y="y")))
    assert len(next(iter(spec["datasets"].values()))) == 6000


def test_a_run_shorter_than_a_narrow_column_names_no_narrow_chart(cache_folder):
    facts = facts_of(QUIET)
    short = replace(facts, doings=replace(QUIET, hours=3.0))
    boxes = [a for _, a in PageReader(render_day(day_design(), short)).tags if "data-spec" in a]
    assert boxes and all("data-narrow" not in box for box in boxes)


def test_the_page_can_be_walked_by_landmarks_and_headings(read):
    tags = [tag for tag, _ in read.tags]
    assert [tags.count(tag) for tag in ("main", "header", "nav", "footer", "h1")] == [1] * 5
    ids = {attributes["id"] for _, attributes in read.tags if attributes.get("id")}
    sections = {a["id"] for tag, a in read.tags if tag == "section"}
    links = {a["href"][1:] for tag, a in read.tags if tag == "a"}
    assert links == sections - {"answer"}
    assert all(a["aria-labelledby"] in ids for tag, a in read.tags if tag == "section")
    assert read.open == []


def test_the_answer_comes_first_and_what_was_done_before_it(read):
    order = ["(1) pump off from hour 2 to 2.5", "Does it go well?", "How often", "Levels over"]
    places = [read.text.index(words) for words in order]
    assert places == sorted(places)


def test_one_bed_has_no_first_start_and_nothing_to_be_in_step_with(cache_folder):
    text = PageReader(render_day(*one_bed())).text
    assert "1 bed over 0.5 h; beds begin spread evenly over their cycle." in text
    assert "There is only one bed." in text
    assert "Staggered start" not in text
    assert "shorter than an hour" in text


def test_us_units_reach_every_table_and_sentence(cache_folder):
    us = replace(day_design(), units="us")
    read = PageReader(render_day(us, facts_of(BUSY)))
    assert not METRIC.search(read.text)
    for unit in ("US gpm", "US gal", " ft"):
        assert unit in read.text


def test_the_same_day_gives_the_same_page_to_the_byte(page):
    assert render_day(day_design(), facts_of(BUSY)) == page


def test_page_and_tables_are_written_and_read_back_as_they_were(page, tmp_path):
    facts = facts_of(BUSY)
    files = write_day(day_design(), facts, tmp_path / "new")
    assert [file.name for file in files] == [
        "day.html",
        "day_events.csv",
        "day_floods.csv",
        "day_levels.csv",
    ]
    assert files[0].read_text(encoding="utf-8") == page
    for file, frame in zip(files[1:], (facts.events, facts.hourly, facts.levels), strict=True):
        pd.testing.assert_frame_equal(pd.read_csv(file), frame, check_dtype=False)


def test_a_page_that_cannot_be_made_leaves_nothing_behind(tmp_path):
    broken = replace(facts_of(BUSY), levels=pd.DataFrame())
    with pytest.raises(KeyError):
        write_day(day_design(), broken, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_shut_bed_is_told_apart_from_its_neighbours():
    facts = facts_of(BUSY)
    rates = facts.beds.set_index("bed")["floods_per_hour"]
    said = floods_sentence(facts)
    assert f"bed_1_2, shut at hour 4, {rates['bed_1_2']:.2f} until then" in said
    assert "bed_1_1 to bed_1_2" not in said
    never = facts.beds.assign(floods_per_hour=0.0)
    assert "fewer than two floods in all" in floods_sentence(replace(facts, beds=never))


def test_missed_starts_and_stops_are_counted_and_their_beds_named():
    facts = facts_of(QUIET)
    assert misses_sentence(facts).startswith("Yes")
    beds = facts.beds.assign(missed_starts=[0, 1, 0, 0], missed_stops=[0, 0, 2, 0])
    said = misses_sentence(replace(facts, beds=beds))
    assert said == "No: 1 start and 2 stops missed, by bed_1_2, bed_2_1."


def test_the_verdict_turns_with_one_failed_promise():
    facts = facts_of(QUIET)
    assert verdict(facts).startswith(f"Yes: all {len(facts.findings)} promises hold over 5 h")
    shut = replace(facts, doings=replace(QUIET, valve_shut_h=(("bed_1_1", 4.0),)))
    assert "a bed that is shut counts until then" in verdict(shut)
    failed = replace(facts.findings[0], passed=False, unit="1", promised=0.0, simulated=3.0)
    bad = replace(facts, findings=(failed, *facts.findings[1:]))
    assert verdict(bad).startswith(f"No: 1 of {len(facts.findings)} promises fails")
    assert failure_lines(day_design(), bad)[0].endswith("promised 0, simulated 3")


def test_a_sump_out_of_its_limits_is_said_so():
    design, facts = day_design(), facts_of(QUIET)
    assert sump_sentence(design, facts).startswith("Yes")
    assert "It ran dry." in sump_sentence(design, replace(facts, sump_m=(-0.1, 0.4)))
    high = replace(facts, sump_m=(0.3, facts.cut.allowed_m + 0.01))
    assert sump_sentence(design, high).startswith("No")
    over = replace(facts, cut=replace(facts.cut, highest_m=facts.cut.depth_m + 0.01))
    assert cut_sentence(design, facts).startswith("Yes")
    assert cut_sentence(design, over).endswith("Water runs over its rim.")
    # From dry the sump begins fuller than it ever is again: that moment is not the cut's.
    assert "once every bed is wet" in cut_sentence(design, facts_of(BUSY))
    assert "once every bed is wet" not in cut_sentence(design, facts)


def test_how_long_beds_stay_in_step_is_told_for_every_outcome():
    facts = facts_of(QUIET)
    # Four beds and a confidence that lets all four drain at once: nothing to keep apart.
    assert "chance alone brings all together" in step_sentence(facts)
    for hours, words in ((None, "still drain at once"), (0.0, "never more"), (7.25, "7.2 h until")):
        starts = replace(facts.starts, together_by_chance=2, hours_in_step=hours)
        assert words in step_sentence(replace(facts, starts=starts))
    starts = replace(facts.starts, together_by_chance=2, holds=False)
    assert "do NOT stay apart" in step_sentence(replace(facts, starts=starts))


def test_reliability_names_what_is_to_blame_or_says_that_nothing_alone_is():
    facts = facts_of(QUIET)

    def said(share, blame):
        return risk_sentence(replace(facts, risk=replace(facts.risk, share=share, to_blame=blame)))

    assert said(1.0, {}).endswith("every bed works in all of them.")
    assert said(0.0, {"a": 0.0}).endswith("some bed fails in every one of them.")
    assert "a or b; had any one of these" in said(0.9, {"a": 0.5, "b": 0.5, "c": 0.1})
    assert "No one coefficient alone" in said(0.9, {"a": 0.0, "b": 0.0})


def test_what_was_done_is_told_in_order_of_time():
    doings = Doings(8.0, "dry", 0, ((5.0, 6.0),), (("a", 2.0),), (("b", 3.5, 0.3),))
    assert begin_words(doings) == "8 h; beds begin dry, with every valve open"
    assert marks_sentence(doings, 8.0) == (
        "What was done: (1) valve of a shut at hour 2; (2) b clogs at hour 3.5 and has 30 % less "
        "room for water; (3) pump off from hour 5 to 6."
    )
    assert marks_sentence(replace(doings, pump_off_h=()), 1.0) == ""
