"""Systems spoiled on purpose: the right bed, the right cause, and a change that mends it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.errors import BadInput
from optimizer.mend.as_built import AsBuilt, as_built
from optimizer.mend.readings import openings_of
from optimizer.mend.run import diagnose, read_standing
from optimizer.mend.state import running
from optimizer.pipeline import find_design, read_job
from optimizer.records.design_io import write_design
from optimizer.records.mending import CAUSES, Diagnosis
from optimizer.records.noise import NoiseLimit
from optimizer.simulate.whole_check import check_whole
from tests.mend.spoiled import (
    SITE,
    SPOILED,
    Spoiled,
    applied,
    bed,
    healthy,
    stretch,
    with_stands,
)

A_BUCKET_OFF = 0.01
"""Relative: an inflow read back from the opening that gave it."""

EVERY = [pytest.param(each, id=each.name) for each in SPOILED]


def mended(built: AsBuilt, most: int = 1) -> Diagnosis:
    return diagnose(built, most=most)


@pytest.mark.parametrize("spoiled", EVERY)
def test_a_spoiled_system_is_diagnosed_and_the_suggested_change_makes_it_work(spoiled: Spoiled):
    # One thing is spoiled in a system where all works, so that thing is the cause. The changes are
    # then carried out on the description itself, and that is read and run anew.
    stands = spoiled.spoil(healthy().stands)
    found = mended(with_stands(stands))
    faults = {(f.subject, f.cause, f.blamed) for f in found.state.faults}
    assert (spoiled.subject, spoiled.cause, spoiled.blamed) in faults
    best = found.proposals[0]
    assert diagnose(with_stands(applied(stands, best))).state.works
    if best.cost_cents:
        assert check_whole(best.design).passed
        assert best.bound_cents <= best.cost_cents


def test_twenty_systems_and_more_are_spoiled_in_different_ways():
    assert len(SPOILED) >= 20
    assert len({each.cause for each in SPOILED}) >= 15
    assert {each.cause for each in SPOILED} <= set(CAUSES)


def test_the_system_before_it_is_spoiled_works_as_it_stands():
    found = mended(healthy())
    assert found.state.works
    assert found.state.faults == found.proposals == ()


TWINS = {
    "valve a little further open": lambda s: bed(s, "A2", opening=0.66),
    "valve a little further shut": lambda s: bed(s, "A1", opening=0.62),
    "standpipe a little shorter": lambda s: bed(s, "A3", crest_level_m=0.28),
    "bell higher than it need be": lambda s: bed(s, "A1", bell_height_m=0.33),
    "lateral wider than it need be": lambda s: stretch(s, "lateral to B2", pipe="sch40_1_1_4"),
    "pump hardly worn": lambda s: replace(s, pump_head_share=0.99),
    "a little less water": lambda s: replace(s, drained_level_m=0.58),
}


@pytest.mark.parametrize("name", TWINS)
def test_a_system_changed_harmlessly_still_works(name: str):
    # The feasible twin of a spoiled system: the same thing changed, but by little or to the good.
    assert diagnose(with_stands(TWINS[name](healthy().stands))).state.works


def test_where_one_valve_was_knocked_that_valve_alone_is_turned_at_no_cost():
    found = mended(with_stands(bed(healthy().stands, "A2", opening=0.25)))
    best = found.proposals[0]
    assert [(c.kind, c.subject) for c in best.changes] == [("turn", "A2")]
    assert best.cost_cents == 0


def test_a_loud_pump_that_stands_is_no_fault_and_is_not_changed_in_mending():
    # The same valve knocked, at a site where any pump counts as loud and may never run.
    site = replace(healthy().site, noise=NoiseLimit(0.0, 0.0))
    stands = bed(healthy().stands, "A2", opening=0.25)
    found = mended(as_built(site, healthy().catalog, healthy().network, stands))
    assert [(c.kind, c.subject) for c in found.proposals[0].changes] == [("turn", "A2")]


def test_where_every_way_repeats_the_same_change_one_is_told_and_that_there_is_no_other():
    # No pipe, siphon or valve makes up for a pump that is too weak for every bed at once.
    stands = replace(healthy().stands, pump="pump_040w_mid")
    found = mended(with_stands(stands), most=3)
    (only,) = found.proposals
    assert [change.kind for change in only.changes] == ["pump"]
    assert "no other way" in found.why_none
    assert diagnose(with_stands(applied(stands, only))).state.works


def test_the_cheapest_change_costs_no_more_than_putting_the_spoiled_thing_right():
    # Laying 1-1/4 in where it was before makes all work again, so no least change costs more.
    built = with_stands(stretch(healthy().stands, "riser to junction 1", bore_m=0.018))
    pipe = built.catalog.pipes["sch40_1_1_4"]
    riser = next(s for s in built.network.stretches if s.id == "riser to junction 1")
    fittings = sum(
        max(f.price for f in built.catalog.fittings.values() if f.nominal == pipe.nominal)
        * (count + 1)
        for _, count in riser.fittings
    )
    work = sum(s.price for s in built.catalog.services.values() if s.per == "metre")
    dearest = riser.length_m * (pipe.price_per_m + work) + fittings
    assert mended(built).proposals[0].cost_cents <= 100.0 * dearest


def test_named_labour_of_a_change_is_paid_for():
    # Only another pump mends it, and the site names 70 for that work.
    stands = replace(healthy().stands, pump="pump_040w_mid")
    built = with_stands(stands)
    labour = replace(built.site.standing.labour, pump=70.0)
    site = replace(built.site, standing=replace(built.site.standing, labour=labour))
    plain, paid = mended(built), mended(replace(built, site=site))
    assert paid.proposals[0].cost_cents == plain.proposals[0].cost_cents + 7000


def test_inflows_measured_alone_give_the_openings_back():
    # Each bed's own inflow, computed from its opening, is read as if measured.
    built = healthy()
    openings, _ = openings_of(built)
    flows = {b.bed: b.inflow_m3_s[1] for b in running(built.design, openings).beds}
    beds = tuple(replace(b, opening=None, inflow_m3_s=flows[b.bed]) for b in built.stands.beds)
    read = with_stands(replace(built.stands, beds=beds))
    found, doubts = openings_of(read)
    assert doubts == ()
    again = running(read.design, found)
    for name, flow in flows.items():
        assert again.bed(name).inflow_m3_s[1] == pytest.approx(flow, rel=A_BUCKET_OFF)


def test_an_inflow_that_contradicts_its_opening_is_told():
    found = mended(with_stands(bed(healthy().stands, "A1", inflow_m3_s=14.0 / 60_000.0)))
    assert [d[:7] for d in found.doubts] == ["Bed A1:"]
    # Twin: within 15 % of the 9.1 L/min that its opening gives, nothing is in doubt.
    assert mended(with_stands(bed(healthy().stands, "A1", inflow_m3_s=9.5 / 60_000.0))).doubts == ()


def test_an_inflow_beyond_pump_and_pipes_is_told():
    stands = bed(healthy().stands, "B2", opening=None, inflow_m3_s=60.0 / 60_000.0)
    assert "no more than" in mended(with_stands(stands)).doubts[0]


def test_a_design_built_as_designed_works(tmp_path):
    file = tmp_path / "design.json"
    write_design(find_design(read_job(SITE)), file)
    assert mended(read_standing(SITE, file)).state.works


def test_a_design_of_another_site_is_refused(tmp_path):
    file = tmp_path / "design.json"
    longer = tmp_path / "longer.toml"
    longer.write_text(SITE.read_text().replace("positions = 3", "positions = 4"))
    design = find_design(read_job(SITE))
    write_design(design, file)
    with pytest.raises(BadInput, match="A4"):
        read_standing(longer, file)


MISSING = {
    'water_level = "0.6 m"': "How high does the water stand",
    'pump = { part = "pump_065w_mid" }': "Which pump stands",
    'sump = { part = "sump_1500" }': "Which sump stands",
    'kit = "kit_sch40_1_rim_funnel"': "Which siphon kit",
    'drop = "1/2 in"': "What size of pipe is its drop",
    'valve = "ball"': "What kind of valve",
    'opening = "64 %"': "How far is its valve open",
    '[[standing.pipe]]\nrun = "B"\nsize = "1 in"': "What size of pipe is lateral to B1",
    '[[standing.drain]]\nrun = "return lateral to B2"\nsize = "2 in"\nfall = "2.1 %"': "",
}


@pytest.mark.parametrize("line", MISSING)
def test_what_is_missing_comes_back_as_a_question(line: str, tmp_path):
    # Without one stretch's own return pipe, "all" speaks for it: no question.
    text = SITE.read_text()
    assert line in text
    file = tmp_path / "site.toml"
    file.write_text(text.replace(line, ""))
    if not MISSING[line]:
        assert read_standing(file).stands.drains
        return
    with pytest.raises(BadInput) as told:
        read_standing(file)
    assert MISSING[line] in str(told.value)
    assert all(problem.fix for problem in told.value.problems)


def test_all_questions_come_at_once(tmp_path):
    text = SITE.read_text()
    for line in MISSING:
        text = text.replace(line, "")
    file = tmp_path / "site.toml"
    file.write_text(text)
    with pytest.raises(BadInput) as told:
        read_standing(file)
    for question in MISSING.values():
        if "drop" not in question:  # beds without a kit are asked for the rest of it too
            assert question in str(told.value)


def test_a_bed_described_twice_is_a_contradiction(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text(SITE.read_text().replace('beds = ["A3"]', 'beds = ["A3", "A1"]'))
    with pytest.raises(BadInput, match="described again"):
        read_standing(file)


def test_a_pipe_of_unknown_size_names_the_nearest(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text(SITE.read_text().replace('drop = "1/2 in"', 'drop = "0.6 in"'))
    with pytest.raises(BadInput, match="nearest size"):
        read_standing(file)


A3_SIPHON = '[[standing.bed]]\nbeds = ["A3"]\nkit = "kit_sch40_1_rim_funnel"\n'

CONTRADICTORY = {
    "below the standpipe's top": (
        A3_SIPHON, f'{A3_SIPHON}standpipe_top = "310 mm"\nbell_cap = "290 mm"\n'),
    "reach up to its cap": (
        A3_SIPHON, f'{A3_SIPHON}bell_cap = "310 mm"\nslots_top = "310 mm"\n'),
    "does not go into a bell": (
        A3_SIPHON, f'{A3_SIPHON}standpipe_bore = "30 mm"\nbell = "3/4 in"\n'),
    "but the sump is": ('water_level = "0.6 m"', 'water_level = "3 m"'),
    "pipe has 26.64 mm new": (
        '[[standing.pipe]]\nrun = "B"',
        '[[standing.stretch]]\nstretch = "lateral to B2"\nsize = "1 in"\nbore = "40 mm"\n\n'
        '[[standing.pipe]]\nrun = "B"'),
    "lateral to B2 is described again": (
        '[[standing.drain]]\nrun = "return lateral to B2"',
        '[[standing.drain]]\nrun = "return lateral to B2"\nsize = "3 in"\nfall = "2 %"\n\n'
        '[[standing.drain]]\nrun = "return lateral to B2"'),
}  # fmt: skip


@pytest.mark.parametrize("said", CONTRADICTORY)
def test_what_cannot_all_be_so_is_asked_back(said: str, tmp_path):
    before, after = CONTRADICTORY[said]
    text = SITE.read_text()
    assert before in text
    file = tmp_path / "site.toml"
    file.write_text(text.replace(before, after, 1))
    with pytest.raises(BadInput) as told:
        read_standing(file)
    assert said in str(told.value)
    assert "Which is right?" in str(told.value)


def test_a_standpipe_of_no_kit_s_bore_brings_a_question_for_each_size_that_no_kit_says(tmp_path):
    file = tmp_path / "site.toml"
    own = f'{A3_SIPHON}standpipe_bore = "20 mm"\n'
    file.write_text(SITE.read_text().replace(A3_SIPHON, own))
    with pytest.raises(BadInput) as told:
        read_standing(file)
    assert len(told.value.problems) == 4
    for key in ("slots_top", "bell", "bell_cap", "standpipe_top"):
        assert f"write {key}." in str(told.value)
