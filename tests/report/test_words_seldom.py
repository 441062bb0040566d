"""What the report says of plants that seldom come up: no return pipe, no flood, many of a thing."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import altair as alt
import pytest
from rich.console import Console

from optimizer.physics.band import Band
from optimizer.records.calibration import Calibration, Estimate, NextReading
from optimizer.records.header_ring import BuiltRing
from optimizer.report import bundle, words
from optimizer.report.charts.cycle import cycle_chart
from optimizer.report.day_words import IN_ZONES, collector_answer, step_sentence
from optimizer.report.estimate_words import sentences
from optimizer.report.summary import summary
from optimizer.report.words_ring import ring_sentences
from tests.builders.make_design import make_design, make_design_of
from tests.report.make_check import make_check
from tests.report.make_day import QUIET, day_design, facts_of, one_bed

BAND = Band(5.0, 4.0, 6.0, "published")


def printed(design, check) -> str:
    console = Console(file=io.StringIO(), width=200, color_system=None)
    console.print(summary(design, check, []))
    return console.file.getvalue()


def ringed(cost=10_000, least=10_000.0, **flows):
    """The example's header with its second pipe fed from the far end; some flows may be others."""
    design = make_design()
    first, second = (next(s for s in design.stretches if s.id == f"header_{i}") for i in (1, 2))
    closing = replace(second, id="closing", tail=first.tail, flow_m3_s=3e-4)
    laid = [replace(first, head="node_2"), closing]
    laid = [replace(s, flow_m3_s=flows.get(s.id, s.flow_m3_s)) for s in laid]
    others = [s for s in design.stretches if s.id not in ("header_1", "header_2")]
    ring = BuiltRing(tuple(s.id for s in laid), cost, least, 20_000.0, "the open header")
    return replace(design, stretches=(*others, *laid), ring=ring)


def test_without_return_pipe_there_is_none_to_be_full():
    facts = facts_of(QUIET)
    none = replace(facts, collector=replace(facts.collector, peaks=facts.collector.peaks.iloc[:0]))
    assert collector_answer(day_design(), none).startswith("No return pipe was designed")
    assert collector_answer(day_design(), facts).startswith("Yes. The fullest stretch")


def test_a_peak_above_the_pipe_is_a_no_unless_seldom_is_all_that_was_promised():
    design, facts = day_design(), facts_of(QUIET)
    peaks = facts.collector.peaks.assign(capacity_m3_s=1e-6)
    facts = replace(facts, collector=replace(facts.collector, peaks=peaks))
    assert collector_answer(design, facts).startswith("No. The fullest stretch")
    promise = replace(design.promise, bursts="binomial", confidence=0.995)
    seldom = collector_answer(replace(design, promise=promise), facts)
    assert seldom.startswith("Not at every moment")
    assert "more than it carries 0.50 % of the time" in seldom


def test_one_bed_alone_cannot_fall_into_step():
    assert step_sentence(one_bed()[1]) == "There is only one bed."


def test_beds_of_zones_are_in_step_by_intention():
    facts = facts_of(QUIET)
    assert step_sentence(replace(facts, starts=replace(facts.starts, openings=()))) == IN_ZONES


def test_a_kind_that_does_not_flood_at_its_inflow_has_no_cycle_to_draw(design):
    kind = design.kinds[0]
    # Far below the flow that starts its siphon, water trickles over the standpipe for ever.
    trickle = replace(kind, inflow_m3_s=0.01 * kind.siphon.start_flow_m3_s)
    assert cycle_chart(design, trickle) is None
    assert cycle_chart(design, kind) is not None


def test_a_kind_that_no_bed_is_of_is_not_counted(design):
    spare = replace(design.kinds[0], id="spare", label="Spare tray")
    more = replace(design, kinds=(*design.kinds, spare))
    assert words.beds_sentence(more) == words.beds_sentence(design)
    assert "Spare" not in words.beds_sentence(more)


def test_of_many_valves_the_terminal_names_24_groups_and_counts_the_beds_left():
    # Thirty rows take turns between two kinds: each row is a group of its own.
    design = make_design_of(30, 2)
    assert "and 12 beds more, in beds.csv" in printed(design, make_check(design))
    design = make_design_of(24, 1)
    assert "beds more, in beds.csv" not in printed(design, make_check(design))


@pytest.mark.parametrize(("failures", "left"), [(20, None), (23, 3)])
def test_of_many_failures_the_terminal_names_20_and_counts_those_left(design, failures, left):
    check = make_check(design, failing="bed_1_1")
    fault = check.failures[0]
    told = printed(design, replace(check, findings=(fault,) * failures))
    assert told.count(fault.promise) == 20
    assert (f"and {left} more, in findings.csv" in told) == (left is not None)


def test_a_ring_says_what_is_proven_of_its_pipe_where_the_search_left_a_gap():
    assert "EUR 100.00, proven the least for these beds" in ring_sentences(ringed())[1]
    open_end = ring_sentences(ringed(least=9_000.0))[1]
    assert "EUR 100.00, where EUR 90.00 is proven the least for these beds" in open_end


def test_the_sides_of_a_ring_meet_in_a_pipe_that_stands_still_or_at_a_node_both_reach():
    still = ring_sentences(ringed(closing=0.0))[0]
    assert "They meet in the closing, where water stands still." in still
    # 3e-4 m3/s is 18 L/min; two beds at 12 and two at 7.2 take the first pipe's 38.4 L/min.
    assert "They meet at node_2, with 38.4 L/min and 18 L/min." in ring_sentences(ringed())[0]


def test_an_estimate_that_readings_do_not_tell_says_how_to_learn_it_and_what_to_read_next():
    dull = Estimate("loss_coefficient", BAND, 5.0, 4.0, 6.0, 4.0, 6.0, False)
    found = Calibration("bed", 1, 1, ("", ""), (dull,), (), (), (), None, "one reading")
    said = sentences(found)
    assert "too few readings to say" in said[-1]
    assert not any("What would teach most next" in each for each in said)
    # The twin: with readings to take, each is said with what it narrows.
    flood = NextReading(2e-4, (1.0, 1.0, 1.0, 1.0), 0.0)
    said = sentences(replace(found, next_readings=(flood,)))
    assert said[-2].startswith("What would teach most next")
    assert "narrows nothing by much" in said[-1]


@pytest.mark.parametrize(
    ("platform", "folder"),
    [
        ("win32", "local/floodwright"),
        ("darwin", "home/Library/Caches/floodwright"),
        ("linux", "cache/floodwright"),
    ],
)
def test_the_bundle_is_kept_where_each_system_keeps_caches(platform, folder, monkeypatch, tmp_path):
    # Windows: %LOCALAPPDATA%. macOS: ~/Library/Caches. Others: XDG Base Directory Specification.
    monkeypatch.setattr(bundle, "sys", SimpleNamespace(platform=platform))
    for name, where in (("LOCALAPPDATA", "local"), ("XDG_CACHE_HOME", "cache"), ("HOME", "home")):
        monkeypatch.setenv(name, str(tmp_path / where))
    assert bundle.cache_folder() == tmp_path / Path(folder)


def test_the_bundle_is_of_the_version_that_the_charts_are_written_for():
    assert re.fullmatch(r"\d+\.\d+", bundle.vega_lite_version())
    assert f"/v{bundle.vega_lite_version()}." in alt.SCHEMA_URL
