"""What is to blame, where every siphon is spoiled alike or more than one thing keeps water away."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.mend.as_built import AsBuilt
from optimizer.mend.readings import openings_of
from optimizer.mend.siphon_causes import siphon_cause
from optimizer.mend.state import running
from optimizer.mend.supply_causes import Blame, supply_blame
from optimizer.records.stands import Stands
from tests.mend.spoiled import bed, healthy, stretch, with_stands

ALL = "A1 A2 A3 B1 B2"
RISER = "riser to junction 1"

OWN = {"bell": "sch40_3", "bell_height_m": 0.4}
"""A bell wide and tall enough for any standpipe tried here."""

WRONG_ALIKE = [
    ({"crest_level_m": 0.345}, "standpipe too long"),
    ({"crest_level_m": 0.36}, "standpipe too long"),
    ({"crest_level_m": 0.06}, "standpipe too short"),
    ({"bell_height_m": 0.302}, "bell too low"),
    ({"drain_level_m": 0.29}, "bell too low"),
    ({"bell": "sch40_1"}, "bell too narrow"),
    ({"kit": "kit_sch40_2_plain"}, "standpipe too wide"),
    ({"kit": "kit_sch40_1_2_plain"}, "standpipe too narrow"),
    ({"bore_m": 0.050, **OWN}, "standpipe too wide"),
    ({"bore_m": 0.012, **OWN}, "standpipe too narrow"),
    # As tall as the bed, and under a bell no wider than itself: no one size put right will do.
    ({"crest_level_m": 0.36, "bell": "sch40_1"}, "siphon does not suit"),
]


@pytest.mark.parametrize(("changed", "cause"), WRONG_ALIKE, ids=str)
def test_where_all_siphons_are_wrong_alike_the_size_that_is_not_the_design_s_is_to_blame(
    changed, cause
):
    # No neighbour tells what is usual: each size in turn is put as a design would have it.
    built = with_stands(bed(healthy().stands, ALL, **changed))
    assert {siphon_cause(built, name) for name in ALL.split()} == {cause}


def blamed(stands: Stands, name: str) -> Blame:
    built: AsBuilt = with_stands(stands)
    openings, _ = openings_of(built)
    return supply_blame(built, running(built.design, openings), name)


def shut(stands: Stands) -> Stands:
    return bed(stands, ALL, opening=0.3)


@pytest.mark.parametrize("name", ["A1", "B2"])
def test_a_narrowed_pipe_and_a_worn_pump_are_to_blame_also_where_valves_are_too_shut(name):
    # Each put right alone leaves every bed short, its valve being as it is; yet only with it put
    # right do all valves, opened, let the least through that every bed needs.
    stands = healthy().stands
    narrowed = stretch(stands, RISER, bore_m=0.018)
    assert blamed(shut(narrowed), name) == Blame("stretch narrowed", RISER)
    assert blamed(shut(replace(stands, pump_head_share=0.7)), name) == Blame("pump worn", "pump")
    # The twin: with pipe and pump as sold, opening the valve is all that is asked for.
    assert blamed(shut(stands), name) == Blame("valve too shut", name)


def test_where_both_are_too_little_the_pump_is_to_blame():
    # A clear riser does not make up for a pump that is weak by itself.
    narrowed = stretch(healthy().stands, RISER, bore_m=0.018)
    assert blamed(replace(narrowed, pump="pump_040w_mid"), "A1") == Blame("pump too weak", "pump")
    assert blamed(replace(narrowed, pump_head_share=0.7), "A1") == Blame("pump worn", "pump")
