"""A diagnosis in words: what is proven of each way to mend it, and what each change is for."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.records.mending import BedState, Change, Diagnosis, Fault, Proposal, SystemState
from optimizer.report.mend_words import proposal_lines
from tests.builders.make_design import make_design

BEDS = tuple(
    BedState(bed, (2e-4,) * 3, (1e-4, 3e-4), 2.5, True, True, True, margin)
    for bed, margin in (("bed_1_1", 0.20), ("bed_1_2", 0.004))
)
WORKS = SystemState(BEDS, (), (0.3, 0.4, 0.5, 0.6), 1e-3, "bed_1_2")
FAULT = Fault("bed_1_1", "valve too shut", "bed_1_1", -0.1, "Bed bed_1_1 gets too little.")
FAILS = replace(WORKS, faults=(FAULT,))
TURN = Change("turn", "bed_1_1", "Open the valve.", 0.5, ("bed_1_1",))
PUMP = Change("pump", "pump", "Put in another pump.", math.nan, ("bed_1_1", "bed_1_2"))
STANDS = replace(
    make_design(), beds=tuple(replace(b, valve_standing=True) for b in make_design().beds)
)


def way(*changes, cost=0, **said) -> Proposal:
    return Proposal(changes, cost, WORKS, STANDS, {}, **({"bound_cents": cost} | said))


def told(*ways, why="") -> list[str]:
    return proposal_lines(Diagnosis(FAILS, ways, (), why), "EUR")


def test_where_all_works_no_way_is_told():
    assert proposal_lines(Diagnosis(WORKS, (way(TURN),), ()), "EUR") == []


def test_where_no_way_was_found_it_is_said_with_why():
    none = "No change that may be bought was found to make everything work."
    assert told() == [none]
    assert told(why="The budget is too small.") == [none, "The budget is too small."]


def test_one_way_is_told_as_one_and_several_as_least_cost_first():
    assert told(way(TURN))[0] == "A way to mend it; it was run and works:"
    assert told(way(TURN), way(PUMP, cost=9_000))[0].startswith("Ways to mend it, least cost first")


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (way(TURN, turns_least=1), "nothing need be bought; one valve is turned, fewer will not"),
        (way(PUMP, cost=9_000), "no way costs less, no valve need be turned."),
        (
            way(PUMP, cost=9_000, bound_cents=8_500.0),
            "no way costs less than EUR 85.00, no valve need be turned.",
        ),
        (way(PUMP, cost=9_000, bound_cents=-5.0), "no way costs less than EUR 0.00, no valve"),
        (way(PUMP, cost=9_000, puts_right="pump"), "no way that changes pump costs less, no"),
        (
            way(TURN, replace(TURN, subject="bed_1_2"), turns_least=1),
            "nothing need be bought; 2 valves are turned, at least 1 must be.",
        ),
    ],
)
def test_of_a_way_is_said_what_is_proven_of_its_cost_and_its_turns(found, said):
    assert said in told(found)[1]


def test_a_later_way_is_proven_against_other_ways_alone():
    # It leaves something alone that the first changes: the first itself may well cost less.
    second = told(way(TURN), way(PUMP, cost=9_000))
    assert any(line == "2. EUR 90.00: no other way costs less, no valve need be turned."
               for line in second)  # fmt: skip


def test_a_valve_that_is_new_must_be_set_anyway_and_counts_as_no_turn():
    new = tuple(replace(b, valve_standing=b.id != "bed_1_1") for b in STANDS.beds)
    found = replace(way(TURN, cost=900), design=replace(STANDS, beds=new))
    assert found.turns == 0
    assert "no valve need be turned" in told(found)[1]


@pytest.mark.parametrize(
    ("needed", "said"),
    [
        ((), ""),
        (("pump",), ""),  # of itself it is plain
        (("bed_1_1",), " Without it bed_1_1 fails."),
        (("bed_1_1", "sump"), " Without it bed_1_1 and the sump fail."),
        (tuple("abcde"), " Without it a, b, c, d and e fail."),
        (tuple("abcdefg"), " Without it a, b, c, d, e and 2 more fail."),
    ],
)
def test_a_change_names_what_fails_without_it_five_at_most(needed, said):
    line = told(way(replace(PUMP, needed_for=needed), cost=9_000))[2]
    assert line == f"   - Put in another pump.{said}"


def test_a_way_ends_with_its_weakest_bed_and_all_with_a_caution():
    lines = told(way(TURN), why="There is no other way.")
    assert lines[3] == "   Then the weakest bed is bed_1_2, margin +0%."
    assert lines[-2] == "There is no other way."
    assert "Switch the pump off at the socket" in lines[-1]
