"""A search of plans that is stopped, refused or cut short keeps what it has and says why."""

from __future__ import annotations

import threading
from dataclasses import replace
from types import SimpleNamespace

import pytest

from optimizer import phases
from optimizer.errors import BadInput, Infeasible, SolverFailed
from optimizer.phasing import bound, compare
from optimizer.phasing.ahead import sizes_of_whole
from optimizer.phasing.compare import plan_phases
from optimizer.phasing.search import How, Planner
from optimizer.phasing.steps import steps_of
from optimizer.pipeline import find_design, job_of
from optimizer.reading.site import read_site_text
from optimizer.records.header_ring import HeaderRing
from optimizer.records.phasing import PhasePlan
from optimizer.search_settings import SearchSettings
from studies.phased_build.experiments import QUICK, jobs
from tests.cli.site_texts import ONE_BED
from tests.phasing.phase_texts import THREE_PHASES, YARD
from tests.tolerances import FORMULA

TWO_PHASES = "[[phase]]\nyear = 0\nbeds = 1\n[[phase]]\nyear = 2\n"


def small(text=ONE_BED):
    return job_of(read_site_text(text + TWO_PHASES, "yard.toml"))


def compared(monkeypatch, stop, plan):
    """What is kept of the ways that a planner of the test's own answers, and how many it met."""
    asked = []

    class Planned:
        refusal = None

        def __init__(self, *_):
            pass

        def plan(self, way):
            asked.append(way)
            return plan(len(asked))

    monkeypatch.setattr(compare, "Planner", Planned)
    steps = (None, None, None)
    return compare._Compared(steps, None, None, How(SearchSettings(stop=stop))), len(asked)


def test_a_stop_between_two_ways_keeps_the_plans_before_it(monkeypatch):
    stop = threading.Event()

    def plan(number):
        if number == 2:
            stop.set()
        return PhasePlan((), 1000)

    found, asked = compared(monkeypatch, stop, plan)
    assert asked == found.compared == 2
    assert found.ways == 27
    assert [plan.worth_cents for plan in found.plans] == [1000]


def test_a_way_that_runs_out_of_time_ends_the_search_with_the_plans_before_it(monkeypatch):
    def plan(number):
        if number == 3:
            raise SolverFailed("out of time")
        return PhasePlan((), 1000)

    found, _ = compared(monkeypatch, threading.Event(), plan)
    assert (found.compared, bool(found.plans)) == (2, True)
    # The twin: where the first way runs out of time there is nothing to keep.

    def none(_):
        raise SolverFailed("out of time")

    with pytest.raises(SolverFailed, match="out of time"):
        compared(monkeypatch, threading.Event(), none)


def test_a_design_found_while_the_search_was_being_stopped_is_no_step_of_a_plan(monkeypatch):
    # It is only the best so far: taken for the least, it would spoil every plan built on it.
    stop = threading.Event()

    def design(*_):
        stop.set()
        return SimpleNamespace()

    monkeypatch.setattr(How, "design", design)
    steps = steps_of(small())
    with pytest.raises(SolverFailed, match="stopped"):
        Planner(steps, None, None, How(SearchSettings(stop=stop))).plan((frozenset(), frozenset()))


def test_without_a_discount_only_the_last_step_bounds_the_whole(monkeypatch):
    # Money is worth the same in every year, so the weight v(t) - v(t + 1) of each step but the
    # last is nothing, and of the last it is 1.
    text = YARD.replace('discount_rate = "6 %"', 'discount_rate = "0 %"') + THREE_PHASES
    steps = steps_of(job_of(read_site_text(text, "yard.toml")))
    asked = []

    def least(step, dearer, *_):
        asked.append((step.name, dearer))
        return 100.0

    monkeypatch.setattr(bound, "_least", least)
    visits = bound._visits_cents(steps, None)
    assert bound.least_worth_cents(steps, None, How()) == pytest.approx(100.0 + visits, rel=FORMULA)
    assert asked == [(steps[-1].name, 1.0)]


def test_a_stretch_where_the_whole_site_lays_no_pipe_takes_no_size_from_it():
    job = small()
    job = replace(job, site=replace(job.site, phases=()))
    whole = find_design(job)
    riser = next(s for s in whole.stretches if s.kind == "riser")
    assert sizes_of_whole(job, whole)[riser.id] == riser.pipe
    bare = replace(whole, stretches=tuple(s for s in whole.stretches if s.kind == "lateral"))
    assert sizes_of_whole(job, bare) == {}


def test_a_site_of_several_layouts_is_phased_in_the_one_that_is_cheapest_for_the_whole():
    # Two places for the sump, one of them 30 m farther: more pipe, and nothing gained.
    near, far = (
        f'[[ground.sump_place]]\nname = "{name}"\nx = "{x} m"\ny = "0 m"\nfloor_level = "-0.8 m"\n'
        for name, x in (("near", 0), ("far", -30))
    )
    lines = [line for line in ONE_BED.splitlines() if not line.startswith("sump = {")]
    text = "\n".join(lines).replace("[[bed_type]]", f"{near}{far}[[bed_type]]", 1) + "\n"
    found = plan_phases(small(text), room=False)
    assert "near" in found.layout and "far" not in found.layout


def test_phases_of_a_ring_are_refused():
    now, final = jobs(QUICK)
    ring = HeaderRing(((1.0, 1.0),), "always")
    with pytest.raises(BadInput, match="building in phases"):
        phases.compare_phases(now, replace(final, site=replace(final.site, header_ring=ring)), 2.0)


@pytest.fixture
def only_so(monkeypatch):
    """Let two phases be compared where only plans that a test allows have a design."""
    monkeypatch.setattr(phases, "find_design", lambda *_, **__: SimpleNamespace(record=RECORD))
    monkeypatch.setattr(phases.How, "design", lambda *_: None)
    monkeypatch.setattr(phases, "sizes_of_whole", lambda *_: {"riser": "p", "header": "p"})
    monkeypatch.setattr(phases, "like_whole", lambda job, *_: job)
    monkeypatch.setattr(phases, "least_worth_cents", lambda *_: 5.0)

    def allow(allowed):
        def plan(_, __, wide, ___):
            if not allowed(len(wide)):
                raise Infeasible("no design", [])
            return phases.Plan(len(wide), False, False, None, None, 1, 2, 3, 6)

        monkeypatch.setattr(phases, "_plan", plan)
        return phases.compare_phases(*jobs(QUICK), 2.0)

    return allow


RECORD = SimpleNamespace(cost_cents=9)


def test_a_plan_in_two_phases_that_has_no_design_is_left_out(only_so):
    # The same sump or not, the same pump or not, and 0, 1 or 2 stretches wide; 2 are refused.
    found = only_so(lambda wide: wide < 2)
    assert len(found.plans) == 2 * 2 * 2
    assert {plan.wide for plan in found.plans} == {0, 1}


def test_where_the_first_phase_has_no_design_at_all_there_is_nothing_to_compare(only_so):
    with pytest.raises(Infeasible, match="no design"):
        only_so(lambda wide: wide > 0)
