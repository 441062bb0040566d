"""How surely a design works, and what more safety costs, as a person reads it."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console

from optimizer.errors import Remedy
from optimizer.records.reliability import Reliability
from optimizer.records.safety import NoSafeDesign, SafeDesign
from optimizer.report import words
from optimizer.report.machine import answer_dict
from optimizer.report.page import render_page
from optimizer.report.safety_tables import COLUMNS, safety_frame, safety_notes, safety_table
from optimizer.report.safety_words import changes
from optimizer.report.scales import sure_percent
from optimizer.report.summary import safety_summary, summary
from optimizer.report.writer import write_report
from tests.report.make_check import make_check

DRAWN = Reliability(
    draws=4000,
    share=0.96,
    by_bed={"bed_1_1": 0.99, "bed_1_2": 0.97},
    starts=0.98,
    stops=0.97,
    floods=0.755,
    to_blame={"start Froude number": 0.2, "stop ratio": 0.7},
)


def with_cost(design, cents: int):
    return replace(design, record=replace(design.record, cost_cents=cents, bound_cents=cents))


def at_level(design, level: str, cents: int, share: float) -> SafeDesign:
    check = replace(make_check(design), reliability=replace(DRAWN, share=share))
    return SafeDesign(level, with_cost(design, cents), check)


@pytest.fixture
def steps(design):
    """Nominal; most with a dearer pump and wider valves; whole impossible."""
    pump = replace(design.pump, id="pump_big", label="Big pump")
    beds = tuple(replace(bed, valve="gate_valve") for bed in design.beds)
    no = NoSafeDesign("whole", "The window is empty.", (Remedy("bed type broad", "measure it"),))
    return [
        at_level(design, "nominal", 500_000, 0.3),
        at_level(replace(design, pump=pump, beds=beds), "most", 512_345, 0.96),
        no,
    ]


def test_how_surely_a_design_works_is_said_with_its_weakest_bed_and_what_to_blame(design):
    said = " ".join(words.surety_sentences(design, replace(make_check(design), reliability=DRAWN)))
    # sqrt(0.96 x 0.04 / 4000) = 0.0031
    for part in ("96.0 % of 4,000", "give or take 0.3 %", "at least 95 %", "75.5 %",
                 "bed bed_1_2, 97.0 %", "stop ratio"):  # fmt: skip
        assert part in said


def test_a_design_that_always_works_blames_nothing(design):
    sure = replace(DRAWN, share=1.0, by_bed={"bed_1_1": 1.0}, floods=1.0)
    said = " ".join(words.surety_sentences(design, replace(make_check(design), reliability=sure)))
    assert "100 % of 4,000" in said
    assert "Weakest" not in said and "give or take" not in said
    assert sure.most_to_blame is None


def test_where_no_one_coefficient_alone_would_mend_a_draw_none_is_blamed(design):
    both = replace(DRAWN, to_blame=dict.fromkeys(DRAWN.to_blame, 0.0))
    said = words.surety_sentences(design, replace(make_check(design), reliability=both))
    assert "no one coefficient alone" in said[-1]


def test_a_share_just_below_all_is_not_rounded_up_to_all():
    shown = [sure_percent(share) for share in (1.0, 0.99999, 0.9994)]
    assert shown == ["100 %", "over 99.9 %", "99.9 %"]


def test_terminal_page_and_machine_tell_how_surely_where_it_was_drawn(design, check):
    drawn = replace(check, reliability=DRAWN)
    console = Console(file=io.StringIO(), width=100, color_system=None)
    console.print(summary(design, drawn))
    assert "How surely" in console.file.getvalue()
    assert "4,000 random draws" in render_page(design, drawn)
    told = answer_dict(design, drawn)
    assert told["works_in_share"] == DRAWN.share
    assert told["weakest_bed"] == {"bed": "bed_1_2", "works_in_share": 0.97}
    assert "works_in_share" not in answer_dict(design, check)
    assert "How surely" not in render_page(design, check)


def test_the_frame_has_a_row_for_each_level_and_leaves_what_is_not_there_empty(steps):
    frame = safety_frame(steps)
    assert list(frame.columns) == list(COLUMNS)
    assert list(frame["robustness"]) == ["nominal", "most", "whole"]
    assert list(frame["designed"]) == [True, True, False]
    # 512,345 - 500,000
    assert list(frame["extra_cents"][:2]) == [0, 12_345]
    assert frame.loc[2, ["cost_cents", "extra_cents", "works_in_share"]].isna().all()
    assert frame["changes"][2] == "no design: The window is empty.; bed type broad: measure it"


def test_the_table_tells_cost_difference_and_share_in_words(steps):
    rows = safety_table(steps).rows
    assert rows[0][:4] == ("nominal", "EUR 5,000.00", "nothing", "30.0 %")
    assert rows[1][:4] == ("95 % of draws", "EUR 5,123.45", "EUR 123.45", "96.0 %")
    assert rows[2][:2] == ("whole band", "no design")


def test_what_changes_is_named_from_one_level_to_the_next(steps, design):
    notes = dict(safety_notes(steps))
    big = f"pump: 1 x Big pump instead of 1 x {design.pump.label}"
    assert notes["95 % of draws"] == [big, "4 of 4 valves of another size or kind"]
    assert "nominal" not in notes


def test_kits_inflows_beds_sump_and_pipes_that_change_are_named(draining):
    kind, other = draining.kinds
    kinds = (replace(kind, kit="kit_new", kit_label="New kit", inflow_m3_s=2.5e-4), other)
    beds = draining.beds[:-1]
    stretches = tuple(replace(s, pipe="wide") for s in draining.stretches)
    drains = tuple(replace(d, pipe="wide") for d in draining.drains)
    sump = replace(draining.sump, count=2)
    after = replace(draining, kinds=kinds, beds=beds, stretches=stretches, drains=drains, sump=sump)
    assert changes(draining, after) == [
        "beds: 2 x Broad bed, 1 x Slim bed instead of 2 x Broad bed, 2 x Slim bed",
        "Broad bed: New kit instead of Broad siphon",
        "Broad bed: set to 15 L/min instead of 12 L/min",
        "sump: 2 x Example sump instead of 1 x Example sump",
        f"{len(stretches)} of {len(stretches)} supply pipes of another size",
        f"{len(drains)} of {len(drains)} return pipes of another size",
    ]


def test_the_same_design_twice_changes_nothing(design):
    assert changes(design, design) == ["nothing: it is the same design"]


def test_terminal_page_and_file_show_what_safety_costs_where_it_was_asked_for(
    steps, design, check, tmp_path
):
    console = Console(file=io.StringIO(), width=80, color_system=None)
    console.print(safety_summary(steps))
    shown = console.file.getvalue()
    assert "EUR 5,123.45" in shown and "…" not in shown
    page = render_page(design, check, steps)
    assert "What more safety costs" in page and "EUR 123.45" in page
    assert "What more safety costs" not in render_page(design, check)
    assert "safety.csv" in [path.name for path in write_report(design, check, tmp_path, steps)]


def test_where_nothing_was_drawn_the_table_says_so_and_the_frame_is_left_empty(steps):
    undrawn = replace(steps[0], check=replace(steps[0].check, reliability=None))
    assert safety_table([undrawn, *steps[1:]]).rows[0][3] == "not drawn"
    frame = safety_frame([undrawn, *steps[1:]])
    assert frame.loc[0, ["works_in_share", "standard_error", "floods_in_share"]].isna().all()
    assert frame["works_in_share"][1] == 0.96
