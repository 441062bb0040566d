"""What a file says of a system that stands: what is missing, unknown or cannot be is asked back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.errors import BadInput
from optimizer.mend.change_list import changes_of
from optimizer.mend.diagnose import state_of
from optimizer.mend.needed import with_needs
from optimizer.mend.readings import openings_of
from optimizer.mend.run import diagnose, read_standing
from optimizer.mend.state import running
from optimizer.records.mending import Change
from tests.builders.ring_site import ring_text
from tests.mend.spoiled import SITE, bed, healthy, with_stands
from tests.tolerances import FORMULA

LAST = '[[standing.bed]]\nbeds = ["A3"]'
ALL_DRAINS = '[[standing.drain]]\nrun = "all"                   # all the rest\n'
ALL_DRAINS += 'size = "3 in"\nfall = "1.1 %"\n'
TWO_TYPES = '[[bed_type]]\nname = "tray"\ncontainer = "box_120x120"\nmedium = "expanded_clay"\n'
TWO_TYPES += 'stand = "blocks_tall"\nkits = ["kit_sch40_1_plain"]\n\n'
BEDS = '[[row]]\nname = "A"'
STRETCH = '[[standing.stretch]]\nstretch = "{}"\nsize = "1 in"\n'


def site(folder, *changes: tuple[str, str]):
    """The study's file with some of its text otherwise."""
    text = SITE.read_text()
    for before, after in changes:
        assert before in text
        text = text.replace(before, after, 1)
    file = folder / "site.toml"
    file.write_text(text)
    return file


@pytest.mark.parametrize(
    ("before", "after", "asked"),
    [
        ('opening = "63 %"', 'opening = "1 %"', "read 1.0%; this valve is known from"),
        (LAST, f'{LAST}\nbed_type = "bax"', "read 'bax', no bed type of its row."),
        (LAST, STRETCH.format("lateral to B3") + LAST, "read 'lateral to B3', no stretch of pipe"),
        (ALL_DRAINS, "", "What size is the return pipe, and how does it fall: return lateral"),
    ],
)
def test_what_is_said_of_no_part_or_is_not_said_comes_back_as_a_question(
    before, after, asked, tmp_path
):
    with pytest.raises(BadInput) as told:
        read_standing(site(tmp_path, (before, after)))
    assert asked in " ".join(str(told.value).split())
    assert all(problem.fix for problem in told.value.problems)


def test_in_a_row_of_two_bed_types_each_bed_s_own_is_asked_for(tmp_path):
    either = (BEDS, f'{TWO_TYPES}{BEDS}\nbed_types = ["box", "tray"]')
    with pytest.raises(BadInput, match=r"Of which bed type is bed A1: box or tray\?"):
        read_standing(site(tmp_path, either))
    # The twin: told of every bed, it is taken at its word.
    told = [(f'beds = [{beds}]\n', f'beds = [{beds}]\nbed_type = "{of}"\n')
            for beds, of in (('"A1", "A2", "B1", "B2"', "box"), ('"A3"', "tray"))]  # fmt: skip
    stands = read_standing(site(tmp_path, either, *told)).stands
    assert {each.bed: each.bed_type for each in stands.beds} == {
        "A1": "box", "A2": "box", "A3": "tray", "B1": "box", "B2": "box"}  # fmt: skip


def test_a_bore_no_wider_than_its_pipe_is_believed(tmp_path):
    own = STRETCH.format("lateral to B2") + 'bore = "20 mm"\n\n'
    built = read_standing(site(tmp_path, (LAST, own + LAST)))
    assert {s.stretch: s.bore_m for s in built.stands.stretches}["lateral to B2"] == 0.020


def test_a_system_whose_header_is_a_ring_is_refused(tmp_path):
    file = tmp_path / "ring.toml"
    file.write_text(ring_text(rows=2, positions=1))
    with pytest.raises(BadInput, match="ring"):
        read_standing(file)


def test_an_inflow_below_what_the_valve_lets_through_at_its_least_is_in_doubt():
    built = with_stands(bed(healthy().stands, "A1", opening=None, inflow_m3_s=0.01 / 60_000.0))
    openings, (doubt,) = openings_of(built)
    assert "less than its valve lets through at the least opening known" in doubt
    least = next(b.valve_openings[0] for b in built.design.beds if b.id == "A1")
    assert openings["A1"] == pytest.approx(least, rel=FORMULA)


def test_a_siphon_that_ends_under_the_sump_s_water_is_told():
    # The sump's floor is lifted until its highest water stands over the lowest siphon's outlet.
    built = healthy()
    outlet = min(bed.siphon_outlet_level_m for bed in built.design.beds)
    sump = replace(built.design.sump, floor_level_m=outlet - 0.3)
    design = replace(built.design, sump=sump)
    openings, _ = openings_of(built)
    found = state_of(replace(built, design=design), openings, running(design, openings))
    under = {f.subject for f in found.faults if "ends under water" in f.words}
    assert under == {bed.id for bed in design.beds if bed.siphon_outlet_level_m == outlet}
    assert not any("ends under water" in f.words for f in diagnose(built).state.faults)


def changed(built, design) -> dict[str, str]:
    openings, _ = openings_of(built)
    now = replace(running(built.design, openings), design=design)
    return {c.kind: c.words for c in changes_of(built, openings, now)}


def test_to_run_fewer_pumps_or_use_fewer_tanks_is_a_change_of_its_own():
    built = healthy()
    pump, sump = (replace(p, count=2, there=2) for p in (built.design.pump, built.design.sump))
    twice = replace(built, design=replace(built.design, pump=pump, sump=sump))
    fewer = replace(twice.design, pump=replace(pump, count=1), sump=replace(sump, count=1))
    assert changed(twice, fewer) == {
        "pump": "Run 1 pump only.", "sump": "Use 1 of the tanks only."}  # fmt: skip
    assert changed(twice, twice.design) == {}


def test_a_new_valve_is_put_in_and_set_and_goes_with_the_drop_it_is_bought_for():
    built = healthy()
    first, *others = built.design.beds
    new = replace(first, valve_standing=False, valve_label="ball valve 1 in")
    design = replace(built.design, beds=(new, *others))
    told = changed(built, design)
    assert told["valve"] == f"Bed {first.id}: put in a ball valve 1 in."
    assert told["turn"].startswith(f"Set the valve of bed {first.id} to ")
    # Without the valve there is no drop either: nothing is said of the valve alone.
    openings, _ = openings_of(built)
    valve = Change("valve", first.id, told["valve"], float("nan"))
    now = replace(running(built.design, openings), design=design)
    assert with_needs(built, openings, now, (valve,))[0].needed_for == ()


def test_of_an_opening_that_the_valve_there_then_does_not_have_nothing_is_said():
    # A turn left out would have the new valve at an opening below the least known of it.
    built = healthy()
    openings, _ = openings_of(built)
    now = running(built.design, openings)
    turn = Change("turn", "A1", "Open it.", 0.6)
    never = with_needs(built, openings | {"A1": -1.0}, now, (turn,))
    assert never[0].needed_for == ()
    # The twin: nearly shut is an opening it has, and then its bed fails.
    least = built.design.beds[0].valve_openings[0]
    assert "A1" in with_needs(built, openings | {"A1": least}, now, (turn,))[0].needed_for
