"""The search for ways to mend where a part of it finds nothing, stops or is in doubt."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from optimizer.mend import proposals
from optimizer.mend.as_built import AsBuilt
from optimizer.mend.fewest_turns import FewestTurns, Turned
from optimizer.mend.readings import openings_of
from optimizer.mend.run import diagnose
from optimizer.mend.state import running
from optimizer.mend.valve_bounds import ValveBounds
from optimizer.records.check import CheckReport, Finding
from optimizer.simulate.steady_state import NotSolved
from tests.mend.spoiled import bed, healthy, with_stands
from tests.mend.tiny import opened, tiny, works

EVERY = ("A1", "A2", "A3")
WORN, WORN_OUT = 0.5, 0.4
"""Shares of its head a pump has left: with the first, valves opened wide make up for it, with the
second they do not."""


def worn(folder, share: float, *pumps: str) -> AsBuilt:
    built = tiny(folder, pump_head_share=share)
    purchase = replace(built.site.purchase, pumps=pumps or built.site.purchase.pumps)
    return replace(built, site=replace(built.site, purchase=purchase))


def search_of(built: AsBuilt) -> FewestTurns:
    openings, _ = openings_of(built)
    return FewestTurns(built.design, openings, frozenset(), threading.Event())


def knocked(folder, **openings: float) -> AsBuilt:
    return tiny(folder, beds=opened(tiny(folder).stands, **openings).beds)


def kinds(proposal) -> list[tuple[str, str]]:
    return [(c.kind, c.subject) for c in proposal.changes]


@pytest.mark.parametrize(("share", "enough"), [(WORN, True), (WORN_OUT, False)])
def test_valves_opened_wide_make_up_for_a_worn_pump_to_a_point(share, enough, tmp_path):
    # By simulation alone: wide open is the most that any setting of these like beds gives them.
    built = worn(tmp_path, share)
    assert works(running(built.design, dict.fromkeys(EVERY, 1.0))) == enough
    assert not works(running(built.design, openings_of(built)[0]))


@pytest.mark.parametrize("pump", ["pump_015w_low", "pump_040w_mid"])
def test_a_worn_pump_that_valves_make_up_for_is_changed_only_if_that_spares_a_valve(pump, tmp_path):
    # The weak one does not lift enough: with it there is nothing to put right. With the other every
    # valve would have to be opened all the same, and for money: that is not told.
    found = diagnose(worn(tmp_path, WORN, pump))
    assert {f.cause for f in found.state.faults} == {"pump worn"}
    (only,) = found.proposals
    assert kinds(only) == [("turn", name) for name in EVERY]
    assert only.cost_cents == 0


def test_a_worn_pump_may_be_bought_again_and_no_valve_turned(tmp_path):
    # The twin: with the same pump new, all is as it was before it wore.
    built = worn(tmp_path, WORN, "pump_065w_mid")
    again = diagnose(built).proposals[-1]
    assert (again.puts_right, again.turns) == ("pump", 0)
    assert again.cost_cents >= round(100.0 * built.catalog.pumps["pump_065w_mid"].price)
    assert again.openings == openings_of(built)[0]


def failing(design):
    return CheckReport(
        (Finding("bed A1", "floods often enough", 2.0, 1.0, "1/h", 0.0, False),), (), (), (), ()
    )


def test_an_answer_that_does_not_bear_the_check_is_passed_over_and_its_promise_told(
    tmp_path, monkeypatch
):
    monkeypatch.setattr(proposals, "check_whole", failing)
    found = diagnose(worn(tmp_path, WORN_OUT), most=1)
    assert found.proposals == ()
    assert found.why_none == "bed A1: floods often enough"


def test_no_more_ways_are_searched_for_than_were_meant_to_be(tmp_path, monkeypatch):
    monkeypatch.setattr(proposals, "SEARCHES", 1)
    found = diagnose(worn(tmp_path, WORN_OUT), most=3)
    assert len(found.proposals) == 1
    # Whether there is another way was not asked: nothing is said of it.
    assert found.why_none == ""


def test_where_no_few_valves_are_found_all_are_set_as_designed_for_what_is_bought(
    tmp_path, monkeypatch
):
    none = Turned(None, frozenset(), 0)
    monkeypatch.setattr(FewestTurns, "found", lambda self, unlike=(): none)
    best = diagnose(worn(tmp_path, WORN_OUT), most=1).proposals[0]
    assert best.after.works
    assert best.openings == {bed.id: bed.valve_opening for bed in best.design.beds}
    assert best.turns_least == 0


def test_ways_end_with_the_first_where_the_search_is_stopped(tmp_path):
    built, stop = worn(tmp_path, WORN), threading.Event()
    found = diagnose(built, lambda doing: stop.set(), stop)
    assert len(found.proposals) <= 1
    assert "stopped" in found.why_none


def test_where_no_flows_are_found_between_bounds_a_setting_found_by_thumb_is_still_told(
    tmp_path, monkeypatch
):
    def unsolved(self, beds):
        raise NotSolved("no operating point")

    built = knocked(tmp_path, A2=0.3)
    sure = search_of(built).found()
    monkeypatch.setattr(ValveBounds, "range_of", unsolved)
    doubtful = search_of(built).found()
    assert works(doubtful.now)
    assert doubtful.turns >= sure.turns == {"A2"}
    # Nothing is proven then.
    assert doubtful.least == 0 < sure.least


def test_where_no_setting_on_the_grid_works_the_one_by_thumb_is_told_and_proves_no_more(
    tmp_path, monkeypatch
):
    built = knocked(tmp_path, A1=0.3, A3=0.3)
    monkeypatch.setattr(FewestTurns, "_setting", lambda self, beds: None)
    found = search_of(built).found()
    assert works(found.now)
    assert found.turns == {"A1", "A3"}
    # Bounds alone prove that no one valve will do.
    assert found.least == 2


def test_beyond_a_setting_in_doubt_the_least_number_of_valves_does_not_rise(tmp_path, monkeypatch):
    # A2 alone would do by every bound; where no setting is found for it, two are not proven.
    built = knocked(tmp_path, A2=0.3)
    monkeypatch.setattr(FewestTurns, "_setting", lambda self, beds: None)
    search = search_of(built)
    found = search.found((frozenset({"A1"}),))
    assert found.now is None
    assert search.doubtful
    assert found.least == 1


def test_a_bed_that_gets_too_much_is_not_mended_by_turning_others():
    # A1 has a wide valve and a strong pump: though all others are opened wide it gets too much.
    wide = bed(healthy().stands, "A1", opening=0.6, pipe="sch40_1", valve="ball_sch40_1")
    built = with_stands(replace(wide, pump="pump_100w_mid"))
    openings, _ = openings_of(built)
    others = frozenset(openings) - {"A1"}
    opened_wide = running(built.design, openings | dict.fromkeys(others, 1.0)).bed("A1")
    assert opened_wide.inflow_m3_s[0] > opened_wide.needs_m3_s[1]
    bounds = ValveBounds(built.design, openings)
    assert bounds.range_of(others) is None
    # The twin: its own valve alone will do.
    assert bounds.range_of(frozenset({"A1"})) is not None
    assert search_of(built).found().turns == {"A1"}
