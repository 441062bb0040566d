"""Ways to mend a tiny system, against trying every set of changes by simulation alone."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.mend.as_built import AsBuilt
from optimizer.mend.readings import openings_of
from optimizer.mend.run import diagnose
from optimizer.mend.state import running
from optimizer.records.mending import Proposal
from tests.mend.spoiled import bed, healthy, stretch, with_stands
from tests.mend.tiny import least_cost_by_trying, opened, settings_that_work, tiny, works

GRID = 5
"""Openings tried for each valve."""

ALIKE = 12
"""Openings tried for all valves together, where pumps and kits are tried too."""


def knocked(folder: Path, **openings: float) -> AsBuilt:
    return tiny(folder, beds=opened(tiny(folder).stands, **openings).beds)


@pytest.mark.parametrize(
    "openings",
    [
        {"A1": 0.3},
        {"A3": 0.3},
        {"A1": 0.3, "A2": 0.3},
    ],
    ids=str,
)
def test_no_setting_of_fewer_valves_works_and_the_one_told_does(openings, tmp_path):
    # Knocked shut, each of these beds must be opened: tried on a grid, by simulation alone.
    built = knocked(tmp_path, **openings)
    now, _ = openings_of(built)
    best = diagnose(built, most=1).proposals[0]
    assert best.turns == best.turns_least == len(openings)
    assert works(running(built.design, best.openings))
    assert not any(settings_that_work(built, now, best.turns - 1, GRID))
    # The feasible twin: with as many turns as told, the grid finds settings too.
    assert any(settings_that_work(built, now, best.turns, GRID))


def test_a_valve_of_another_bed_is_turned_where_that_is_fewest(tmp_path):
    # A1 is wide open on a wide drop and starves both others: closing it alone mends all three.
    base = healthy().stands
    greedy = bed(base, "A1", opening=1.0, pipe="sch40_1", valve="ball_sch40_1")
    built = with_stands(greedy)
    now, _ = openings_of(built)
    best = diagnose(built, most=1).proposals[0]
    assert [c.subject for c in best.changes if c.kind == "turn"] == ["A1"]
    assert best.turns == best.turns_least == 1
    assert not works(running(built.design, now))


@pytest.mark.parametrize("pump", ["pump_015w_low", "pump_025w_low"])
@pytest.mark.parametrize("kit", ["kit_sch40_1_plain", "kit_sch40_1_1_4_plain"])
def test_the_least_cost_is_that_of_trying_every_pump_and_kit(pump, kit, tmp_path):
    # Each pump and kit of the lists is priced from the catalog and run with its valves on a grid.
    base = tiny(tmp_path)
    beds = tuple(replace(b, kit=kit) for b in base.stands.beds)
    built = tiny(tmp_path, pump=pump, beds=beds)
    tried = least_cost_by_trying(built, ALIKE)
    found = diagnose(built, most=1)
    told = found.proposals[0].cost_cents if not found.state.works else 0
    assert told == round(100.0 * tried)


def test_what_trying_everything_cannot_mend_is_not_mended(tmp_path):
    # The infeasible twin: no kit of the list floods twelve times an hour.
    built = tiny(tmp_path, floods=12.0)
    found = diagnose(built, most=3)
    assert not found.state.works
    assert found.proposals == ()
    assert found.why_none
    assert math.isinf(least_cost_by_trying(built, ALIKE))


def test_ways_are_really_different_and_come_by_cost(tmp_path):
    # One stretch is too narrow; by hand, or laid anew: neither does all that the other does.
    narrow = stretch(healthy().stands, "lateral to A2", pipe="sch40_1_2")
    ways = diagnose(with_stands(narrow)).proposals
    costs = [each.cost_cents for each in ways]
    assert len(ways) >= 2
    assert costs == sorted(costs)
    for later in range(len(ways)):
        for earlier in range(later):
            assert not _done(ways[earlier]) <= _done(ways[later])


def _done(way: Proposal) -> set[tuple[str, str]]:
    return {(c.kind, c.subject) for c in way.changes if c.kind != "fill"}


def test_every_change_is_needed_for_something(tmp_path):
    # Valves are fewest and parts cheapest, so leaving any of them out leaves something unmended.
    stands = replace(healthy().stands, pump="pump_040w_mid")
    for way in diagnose(with_stands(stands)).proposals:
        assert all(change.needed_for for change in way.changes if change.kind != "fill")


def test_a_standpipe_too_long_may_be_cut_and_no_valve_turned():
    # 345 mm stand where the bed type has 300: cut, the bed is as its healthy neighbours.
    ways = diagnose(with_stands(bed(healthy().stands, "A3", crest_level_m=0.345))).proposals
    cut = next(way for way in ways if way.puts_right == "A3")
    assert [(c.kind, c.subject) for c in cut.changes] == [("standpipe", "A3")]
    assert cut.changes[0].figure == pytest.approx(0.3)
    assert cut.turns == 0


def test_a_standpipe_too_short_is_made_longer_where_that_costs_less_than_a_siphon():
    # A new siphon costs its kit; a longer standpipe its pipe, a taller bell's and the work.
    built = with_stands(bed(healthy().stands, "A3", crest_level_m=0.06))
    best = diagnose(built, most=1).proposals[0]
    assert [c.kind for c in best.changes if c.subject == "A3"] == ["standpipe"]
    assert 0.06 < best.changes[0].figure <= 0.3
    kit = built.catalog.kits["kit_sch40_1_plain"]
    assert best.cost_cents < 100.0 * kit.price
    # The twin: with dear work on standpipes the siphon is changed.
    labour = replace(built.site.standing.labour, standpipe=100.0)
    dear = replace(
        built, site=replace(built.site, standing=replace(built.site.standing, labour=labour))
    )
    assert "siphon" in {c.kind for c in diagnose(dear, most=1).proposals[0].changes}


def test_a_standpipe_is_cut_below_its_bed_type_s_only_where_the_site_allows_it(tmp_path):
    # A worn pump cannot give what 2.4 floods an hour ask; a bed that holds less asks less.
    built = tiny(tmp_path, floods=2.4, pump_head_share=0.5)
    deep = diagnose(built, most=1).proposals[0]
    assert "standpipe" not in {c.kind for c in deep.changes}
    standing = replace(built.site.standing, standpipe_least_m=0.15)
    shallow = diagnose(replace(built, site=replace(built.site, standing=standing)), most=1)
    best = shallow.proposals[0]
    assert [c.kind for c in best.changes].count("standpipe") == 3
    assert 3 * 100 <= best.cost_cents < deep.cost_cents
    assert all(c.figure >= 0.15 for c in best.changes if c.kind == "standpipe")


def test_a_standpipe_of_its_kit_s_own_bore_told_as_its_own_changes_nothing():
    # The bore of 1 in pipe measured, with the bell and slots of the kit, is the kit.
    base = healthy()
    kind = next(k for k in base.design.kinds)
    parts = kind.parts
    bell = next(
        p.id
        for p in base.catalog.pipes.values()
        if (p.series, p.nominal) == ("pvc_sch40", parts.bell)
    )
    told = bed(
        base.stands, "A1 A2 A3 B1 B2", bore_m=parts.standpipe_bore_m,
        crest_level_m=kind.siphon.crest_level_m, drain_level_m=kind.siphon.drain_level_m,
        bell=bell, bell_height_m=parts.bell_height_m,
    )  # fmt: skip
    one, two = diagnose(base).state, diagnose(with_stands(told)).state
    for a, b in zip(one.beds, two.beds, strict=True):
        assert a.needs_m3_s == pytest.approx(b.needs_m3_s, rel=1e-9)
        assert a.inflow_m3_s == pytest.approx(b.inflow_m3_s, rel=1e-9)


def test_a_wider_standpipe_of_a_bore_no_catalog_lists_needs_more_water_to_start():
    # q_start = Fr sqrt(g d) pi d^2 / 4 rises with d: 33 mm needs more than the kit's 26.6 mm.
    built = with_stands(
        bed(healthy().stands, "A3", bore_m=0.033, crest_level_m=0.3, drain_level_m=0.025,
            bell="sch40_3", bell_height_m=0.32)
    )  # fmt: skip
    state = diagnose(built, most=1).state
    needs = {b.bed: b.needs_m3_s for b in state.beds}
    assert needs["A3"][0] > needs["A2"][0]
    assert ("A3", "standpipe too wide") in {(f.subject, f.cause) for f in state.faults}
