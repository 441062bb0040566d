"""Steps and extensions in words: what is told where the pump, the places or the money run out."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console

from optimizer.records.extension import Extension, PartFate, Room, bought_cents
from optimizer.records.phasing import BuiltStep, PhasePlan, Phasing
from optimizer.report.extension_words import sentences as extension_sentences
from optimizer.report.phase_words import phasing_summary, reach_sentences, sentences
from tests.builders.make_design import make_design, make_design_of
from tests.report.make_check import make_check

STANDS, MORE = make_design_of(2, 2), make_design_of(2, 3)
STRONGER = replace(MORE, pump=replace(MORE.pump, count=2))

ROOMS = {
    "serves not what stands": Room(4, 9, None, None, None, "It lifts 1 m."),
    "every place": Room(4, 6, 6, MORE, None, "", 6),
    "no pump does": Room(4, 9, 6, MORE, None, "The riser is full.", 6),
    "one more on two pumps": Room(4, 9, 6, MORE, STRONGER, "It lifts 1 m.", 7),
    "none fits": Room(4, 9, 4, STANDS, MORE, "It lifts 1 m.", 4),
}


def step(name="now", *, ahead=(), design=STANDS):
    bought = bought_cents(design)
    return BuiltStep(name, 0.0, 5.0, 1.0, ahead, design, bought, 0)


def phasing(*steps, **changed):
    """Phases of one plan, all of whose steps pass their check."""
    plan = PhasePlan(steps, sum(each.bought_cents for each in steps))
    checks = tuple(make_check(each.design) for each in steps)
    rooms = (None,) * len(steps)
    plain = Phasing("Yard", 0.03, 10.0, (plan,), (), 1, 1, None, None, checks, rooms)
    return replace(plain, **changed)


def extended(room=None, design=MORE):
    fates = (PartFate("stays", "bed", "tray", "tray", 4.0, "piece"),)
    return Extension(STANDS, design, make_check(design), fates, room)


def test_a_layout_that_the_program_chose_is_named_with_the_phases():
    found = phasing(step(), layout="header along the wall")
    told = "Laid out as is cheapest for the whole site built today: header along the wall."
    assert told in sentences(found)
    assert told not in sentences(replace(found, layout=""))


def test_where_every_part_is_taken_ahead_none_is_bought_as_each_step_needs():
    whole = " ".join(sentences(phasing(step(ahead=("sump", "pump", "header")))))
    assert "at 'now' take the sump and pump and header" in whole
    assert "without looking ahead" not in whole
    # The twin: one part is left to need.
    part = " ".join(sentences(phasing(step(ahead=("sump", "header")))))
    assert "Buy the pump as each step needs, without looking ahead." in part


def test_nothing_is_said_of_a_saving_where_every_plan_compared_looks_ahead():
    # Without a plan that buys nothing ahead there is nothing to hold the best against.
    ahead, plain = phasing(step(ahead=("pump",))), phasing(step())
    assert not any("ahead saves" in told or "not pay" in told for told in sentences(ahead))
    assert "To buy anything ahead of need does not pay." in sentences(plain)


def test_a_step_that_fails_its_check_is_named_and_no_yes_is_said():
    steps = (step("first"), step("second", design=MORE))
    checks = (make_check(STANDS), make_check(MORE, failing="bed_1_1"))
    told = sentences(phasing(*steps, checks=checks))
    # Six beds of two promises each, one of the sump and one of the pump.
    assert told[-1] == "second: No, not as it stands: 1 of 14 promises does not hold in simulation."
    assert not any(each.startswith("first:") for each in told)
    # The twin: all hold, ten of the first and fourteen of the second.
    assert "(24 in all)" in sentences(phasing(*steps))[-1]


@pytest.mark.parametrize(
    ("room", "told"),
    [
        ("serves not what stands", "it does not serve the beds of the whole site's layout. It li"),
        ("every place", "2 beds more fit (6 in all: buy for EUR 902.00): every place of the site."),
        ("no pump does", "; one more cannot be had with any pump. The riser is full."),
        ("one more on two pumps", "up to 7 in all are not proven too many; one more needs 2 x "),
        ("none fits", "no bed more fits; one more needs 1 x Example pump: buy for EUR 902.00"),
    ],
)
def test_how_far_the_pump_of_a_step_reaches_is_said(room, told):
    # Six beds at 90 and 24, a pump at 129 and a sump at 89: 902 in all.
    assert told in reach_sentences(phasing(step(), rooms=(ROOMS[room],)))[0]


@pytest.mark.parametrize(
    ("room", "told"),
    [
        ("serves not what stands", ["The standing pump does not even serve what stands: It lifts"]),
        ("every place", ["fit 6 beds, 2 more than stand: buy for EUR 902.00.", "every place on"]),
        ("no pump does", ["2 more", "One bed more cannot be had with any pump. The riser is full"]),
        ("one more on two pumps", ["2 more", "Up to 7 are not proven", "(7) does not fit on it."]),
        ("none fits", ["no bed more fits than stand.", "One bed more (5) does not fit on it."]),
    ],
)
def test_how_far_the_pump_reaches_is_said_of_an_extension(room, told):
    after = extension_sentences(extended(ROOMS[room]))[4:]
    assert len(after) == len(told)
    assert all(part in sentence for part, sentence in zip(told, after, strict=True))


@pytest.mark.parametrize(("step_cents", "told"), [(500, "EUR 5.00 more"), (-500, "EUR 5.00 less")])
def test_one_bed_more_may_cost_more_or_less_over_the_years(step_cents, told):
    # A stronger pump may draw less: what is counted is the whole cost of both designs.
    dearer = replace(MORE.record, cost_cents=STANDS.record.cost_cents + step_cents)
    room = Room(4, 9, 4, STANDS, replace(MORE, record=dearer), "It lifts 1 m.", 4)
    assert f"{told} over the years." in extension_sentences(extended(room))[-1]


def test_an_extension_counts_only_the_fates_that_some_part_has():
    pipe = PartFate("new", "supply pipe", "", "25 mm", 2.5, "m")
    found = extended()
    told = extension_sentences(replace(found, fates=(*found.fates, pipe)))
    assert "Counted: stays: 4 pieces and 0.0 m of pipe; new: 0 pieces and 2.5 m of pipe." in told


def test_where_nothing_is_bought_no_line_of_the_bill_counts():
    # A delivery alone is not money spent: it comes only with something to deliver.
    costs = tuple(replace(line, unit="site") for line in make_design().costs)
    assert bought_cents(replace(STANDS, costs=costs)) == 0


def test_text_of_a_site_is_never_read_as_markup_in_the_terminal():
    odd = replace(STANDS, currency="[/X]")
    console = Console(file=io.StringIO(), width=100, color_system=None)
    console.print(phasing_summary(phasing(step("[bold]now", design=odd))))
    assert "in [/X]" in console.file.getvalue()
    assert "[bold]now" in console.file.getvalue()
