"""A pack of one bed speaks of one; nothing that stands is bought or made again; limits are said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.pack.contents import build_pack
from optimizer.pack.lengths import Rule
from optimizer.pack.needs import supply_needs
from optimizer.pack.pieces import kit_cuts_of
from optimizer.pack.sheet_faults import fault_sheets
from optimizer.pack.sheet_labels import labels_sheet
from optimizer.pack.sheet_start import commissioning_sheets
from optimizer.pack.shopping import shopping_list
from optimizer.report.page import render_page
from optimizer.report.tables import beds_above
from tests.builders.make_design import make_design, make_design_of
from tests.builders.random_choice import random_assemblies
from tests.builders.tank_design import with_tank
from tests.builders.zoned_design import zoned_design
from tests.report.make_check import make_check


def words_of(sheets) -> str:
    """All words of paragraphs, lists, tables and labels."""
    said: list[str] = []
    for block in (block for sheet in sheets for block in sheet.blocks):
        if block.kind == "words":
            said.append(block.text)
        elif block.kind == "points":
            said += block.items
        elif block.kind == "grid":
            said += [cell for row in block.table.rows for cell in row]
        elif block.kind == "labels":
            said += [line for label in block.labels for line in label.lines]
    return "\n".join(said)


def steps_of(design) -> str:
    return words_of(commissioning_sheets(design))


def test_the_steps_of_one_bed_speak_of_no_other(design):
    one = steps_of(make_design_of(1, 1))
    for said in ("other valves", "farthest", "go round twice", "one bed after another", "in which"):
        assert said not in one
        assert said in steps_of(design)
    assert "Open the bed's valve. Start the pump." in one


def test_a_lone_bed_is_not_said_to_starve_beside_others():
    (table,) = [s.blocks[-1].table for s in fault_sheets(make_design_of(1, 1))]
    symptoms = [row[0] for row in table.rows]
    assert symptoms[:2] == ["the bed gets too little", "sump low"]
    (table,) = [s.blocks[-1].table for s in fault_sheets(make_design())]
    assert next(row[0] for row in table.rows) == "one bed starves, others run well"


def test_the_pack_counts_one_bed_as_one():
    drawn = next(
        design
        for seed in range(60)
        for design in random_assemblies(seed, 1, beds_most=2)[2]
        if len(design.beds) == 1
    )
    pack = build_pack(drawn, shopping_list(drawn))
    assert pack.subtitle == "Build pack for 1 bed"
    assert "1 beds" not in words_of(pack.sheets)


@pytest.mark.parametrize("seed", range(6))
def test_a_supply_that_stands_needs_no_fitting_at_all(seed):
    # Not at its ends either: tee and clean-out behind the last bed stand with the rest.
    _, _, (drawn,) = random_assemblies(seed, 1)
    there = replace(drawn, stretches=tuple(replace(s, standing=True) for s in drawn.stretches))
    assert [need for need in supply_needs(there) if need.count] == []
    assert [need for need in supply_needs(drawn) if need.kind == "clean_out"]


def test_a_siphon_that_stands_is_not_made_again(design):
    first, *others = design.beds
    kept = replace(design, beds=(replace(first, siphon_standing=True), *others))
    made = {piece.stretch for cuts in kit_cuts_of(kept) for piece in cuts.pieces}
    assert not any(what.endswith(f" {first.id}") for what in made)
    assert any(what.endswith(f" {others[0].id}") for what in made)


def test_where_every_siphon_stands_there_is_no_sheet_for_making_kits(design):
    stands = tuple(replace(bed, siphon_standing=True) for bed in design.beds)
    ids = [s.id for s in build_pack(design, shopping_list(design)).sheets]
    kept = replace(design, beds=stands)
    assert "kits" in ids
    assert "kits" not in [s.id for s in build_pack(kept, shopping_list(kept)).sheets]


def test_where_all_pipe_stands_the_cutting_sheet_says_so(design):
    there = replace(
        design,
        stretches=tuple(replace(s, standing=True) for s in design.stretches),
        drains=tuple(replace(d, standing=True) for d in design.drains),
    )
    sheets = {s.id: s for s in build_pack(there, shopping_list(there)).sheets}
    assert words_of([sheets["cutting"]]) == "All pipe is there already: there is nothing to cut."


def test_joints_of_a_valve_that_stands_are_not_made_again(design):
    def joints(changed):
        (note,) = [x.note for x in shopping_list(changed).lines if x.note.startswith("enough for")]
        return int(note.split()[2])

    first, *others = design.beds
    kept = replace(design, beds=(replace(first, valve_standing=True), *others))
    assert joints(design) - joints(kept) == 2


@pytest.mark.parametrize(("units", "said"), [("metric", "1530 m"), ("us", "5021 ft")])
def test_a_long_run_of_pipe_is_written_without_an_exponent(units, said):
    # 1530.4 m are 5021.0 ft.
    assert Rule(units).long(1530.4) == said


def test_return_pipe_sized_for_some_siphons_is_not_said_to_carry_all(draining):
    tight = max(draining.drains, key=lambda drain: drain.bursts_m3_s / drain.capacity_m3_s)
    above = beds_above(draining)[tight.id]
    assert above > 1
    for rule, said in (
        ("all", f"when all its {above} siphons drain at once"),
        ("binomial", f"when as many of its {above} siphons drain at once as it was sized for"),
    ):
        promise = replace(draining.promise, bursts=rule)
        assert said in words_of(fault_sheets(replace(draining, promise=promise)))


def test_a_sump_for_a_share_of_the_water_is_not_said_to_bear_all_beds_full(design):
    share = replace(design, promise=replace(design.promise, held="quantile"))
    for sheets in (fault_sheets, lambda d: [labels_sheet(d)]):
        assert "all beds full" in words_of(sheets(design))
        assert "all beds full" not in words_of(sheets(share))
        assert "beds as full as the site's confidence asks" in words_of(sheets(share))


@pytest.mark.parametrize(
    ("design", "state"),
    [
        (make_design(), "the sump at"),
        (with_tank(), "the tank over the beds overflowing"),
        (zoned_design(), ", the timed valves of its own zone open and all others shut"),
    ],
    ids=["pump", "tank", "zones"],
)
def test_pack_and_page_have_valves_set_in_the_same_state(design, state):
    assert state in steps_of(design)
    assert state in render_page(design, make_check(design))


def test_no_sheet_tells_an_opening_finer_than_a_hand_sets_it(design):
    bed = replace(design.beds[0], valve_opening=0.43721)
    fine = replace(design, beds=(bed, *design.beds[1:]))
    pack = build_pack(fine, shopping_list(fine))
    assert "44 %" in words_of(pack.sheets)
    assert "43.7" not in words_of(pack.sheets)


def test_what_several_pumps_give_together_is_not_said_of_each(design):
    two = replace(design, pump=replace(design.pump, count=2))
    assert "all 2 together: " in words_of([labels_sheet(two)])
    assert "The 2 pumps together should give" in words_of(fault_sheets(two))
    one = replace(design, pump=replace(design.pump, count=1))
    assert "together: " not in words_of([labels_sheet(one)])
    assert "The pump should give" in words_of(fault_sheets(one))
