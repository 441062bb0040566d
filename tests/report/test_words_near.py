"""Prices of steps and pipe from stock, in words."""

from __future__ import annotations

from dataclasses import replace

from optimizer.records.design import CostLine
from optimizer.records.near_miss import NearMiss
from optimizer.report.charts.costs import cost_frame
from optimizer.report.machine import answer_dict
from optimizer.report.page import render_page
from optimizer.report.tables import parts_frame
from optimizer.report.words import capital_cents
from optimizer.report.words_near import near_sentences, price_of_step
from optimizer.report.words_stock import stock_sentence
from tests.builders.make_design import make_design
from tests.report.make_check import make_check

MISSES = (
    NearMiss("another pump", 4200, "With the same pump."),
    NearMiss("one more bed", None, "No design is possible then."),
    NearMiss("one more flood", 100, "With the same pump."),
    NearMiss("yet another", 300, "With the same pump."),
    NearMiss("a bed fewer", -900, "With the same pump."),
    NearMiss("a looser goal", -100, "With the same pump."),
)
SHED = CostLine("stock", "pipe 25 mm from stock", "p25", 12.5, "m", 0)


def test_a_price_says_more_less_nothing_or_none():
    said = [price_of_step(cents, "EUR") for cents in (1250, -1250, 0, None)]
    assert said == ["EUR 12.50 more", "EUR 12.50 less", "nothing", "\N{EN DASH}"]


def test_the_terminal_names_two_dearer_steps_and_the_one_that_saves_most():
    design = replace(make_design(), near_misses=MISSES)
    assert near_sentences(design) == [
        "another pump: EUR 42.00 more",
        "one more flood: EUR 1.00 more",
        "a bed fewer: EUR 9.00 less",
    ]
    assert near_sentences(replace(design, near_misses=())) == []


def test_every_step_stands_in_the_figures_for_other_programs():
    design = replace(make_design(), near_misses=MISSES)
    told = answer_dict(design, make_check(design))["near_misses"]
    assert [each["extra_cents"] for each in told] == [m.extra_cents for m in MISSES]


def test_pipe_from_stock_is_told_apart_from_what_must_be_bought():
    design = make_design()
    stocked = replace(design, costs=(*design.costs, SHED))
    assert stock_sentence(stocked) == "From what lies ready: pipe 25 mm, 12.5 m."
    assert stock_sentence(design) == ""
    assert capital_cents(stocked) == capital_cents(design)
    assert parts_frame(stocked).equals(parts_frame(design))
    assert cost_frame(stocked).equals(cost_frame(design))
    page = render_page(stocked, make_check(stocked))
    assert stock_sentence(stocked) in page
