"""Sentences hold for one of a thing as for many, and no figure is told as what it is not."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console

from optimizer.records.check import Finding
from optimizer.records.extension import Extension, PartFate
from optimizer.report import day_words
from optimizer.report.charts.costs import LINES_MOST, cost_frame, gathered
from optimizer.report.charts.plan import plan_chart
from optimizer.report.charts.windows import windows_frame
from optimizer.report.extension_words import sentences
from optimizer.report.page import render_page, script
from optimizer.report.summary import summary
from optimizer.report.words import proof_sentence
from optimizer.report.words_returns import sizing_sentence
from tests.builders.make_design import make_design, make_design_of
from tests.report.make_check import make_check
from tests.report.make_day import QUIET, day_design, facts_of


def test_the_page_of_one_bed_speaks_of_one_bed():
    design = make_design_of(1, 1)
    page = render_page(design, make_check(design))
    assert "<p>1 bed that floods and drains on one pump</p>" in page
    assert "1 beds" not in page
    # The twin: of four beds it speaks in the plural.
    four = make_design()
    assert "<p>4 beds that flood and drain on one pump</p>" in render_page(four, make_check(four))


def test_the_plan_is_spoken_of_with_one_bed():
    says = plan_chart(make_design_of(1, 1)).to_dict()["description"]
    assert says.startswith("Plan to scale: 1 bed with pipes")


def test_a_kind_of_which_one_bed_is_built_is_counted_as_one_bed():
    # Thirteen beds are too many for a line each: one of them is made a kind of its own.
    design = make_design_of(1, 13)
    odd = replace(design.kinds[0], id="odd", label="Odd tray")
    beds = (replace(design.beds[0], kind="odd"), *design.beds[1:])
    mixed = replace(design, kinds=(*design.kinds, odd), beds=beds)
    assert "Odd tray (1 bed)" in set(windows_frame(mixed, make_check(mixed))["line"])


def test_one_cost_line_too_many_is_gathered_as_one():
    design = make_design()
    first = next(line for line in design.costs if line.group == "capital")
    costs = tuple(replace(first, what=f"part {n}", cents=n + 1) for n in range(LINES_MOST + 1))
    frame = gathered(cost_frame(replace(design, costs=costs)))
    assert list(frame["what"])[-1] == "1 smaller line"


def test_where_chance_brings_no_two_together_it_speaks_of_one_siphon():
    facts = facts_of(QUIET)
    alone = replace(facts, starts=replace(facts.starts, together_by_chance=1, hours_in_step=0.0))
    assert "never more than 1 siphon (what chance alone brings together) drains at once" in (
        day_words.step_sentence(alone)
    )


def test_one_further_day_is_not_counted_among_itself():
    facts = facts_of(QUIET)
    assert len(facts.days) == 1
    missed = replace(facts, days=facts.days.assign(missed_starts=2, most_together=1))
    said = day_words.days_sentence(day_design(), missed)
    assert "a start or stop missed, sump" in said
    assert said.endswith("at most 1 siphon draining at once.")


def test_a_share_short_of_all_draws_is_not_said_to_be_all_of_them():
    # 2 of 10,000 draws fail: 99.98 %, which a tenth of a per cent would round up to all.
    facts = facts_of(QUIET)
    risk = replace(facts.risk, draws=10_000, share=0.9998, standard_error=0.00014)
    said = day_words.risk_sentence(replace(facts, risk=replace(risk, to_blame={"stop ratio": 1.0})))
    assert "works in over 99.9 % of the draws (give or take under 0.1 %)" in said


def test_the_energy_of_a_long_run_is_written_without_an_exponent():
    facts = replace(facts_of(QUIET), energy_kwh=1234.4)
    told = dict(day_words.answers(day_design(), facts))
    assert told["What does the pump use?"].startswith("1234 kWh in")


def test_a_broken_budget_is_told_as_money_in_the_terminal():
    design = make_design()
    broken = Finding("cost", "money to buy with", 100_000.0, 123_450.0, "cents", 0.0, False)
    console = Console(file=io.StringIO(), width=200, color_system=None)
    console.print(summary(design, replace(make_check(design), findings=(broken,))))
    assert "EUR 1,000.00" in console.file.getvalue()
    assert "EUR 1,234.50" in console.file.getvalue()


@pytest.mark.parametrize(("units", "laid"), [("metric", "3.0 m"), ("us", "10.0 ft")])
def test_pipe_of_an_extension_is_counted_in_the_reader_s_units(units, laid):
    # 3.048 m is 10 ft.
    old, new = make_design_of(1, 2), replace(make_design_of(1, 3), units=units)
    fates = (
        PartFate("new", "supply pipe", "", "25 mm", 3.048, "m"),
        PartFate("new", "bed", "", "tray", 1.0, "piece"),
    )
    told = sentences(Extension(old, new, make_check(new), fates))
    assert told[0].startswith("1 bed more, 3 in all")
    assert told[2] == f"Counted: new: 1 piece and {laid} of pipe."


def test_a_script_cannot_end_its_element_in_any_spelling():
    # HTML matches the names of tags without regard to case.
    assert "</script" not in script('"</script><b>" + "</SCRIPT >"').lower()


@pytest.mark.parametrize(
    ("cost", "bound", "said"),
    [
        (1_000_000, 999_999, "0.001 %"),  # 0.0001 % is not none
        (1_000_000, 999_986, "0.002 %"),  # 0.0014 % is more than 0.001 %
        (1_000_000, 999_980, "0.002 %"),
        (1_000_000, 987_600, "1.3 %"),  # 1.24 %
    ],
)
def test_what_is_proven_of_the_gap_is_never_rounded_to_less_than_it_is(cost, bound, said):
    design = make_design()
    record = replace(design.record, cost_cents=cost, bound_cents=bound)
    assert proof_sentence(replace(design, record=record)).endswith(f"this one is within {said}.")


def test_a_confidence_just_below_one_is_not_said_to_be_one(draining):
    promise = replace(draining.promise, bursts="binomial", confidence=0.9995)
    assert "the confidence of 99.95 %" in sizing_sentence(replace(draining, promise=promise))
