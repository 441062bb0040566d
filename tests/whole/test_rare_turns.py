"""Turns of a search that seldom come: nothing to step to, a stop in between, a check that fails."""

from __future__ import annotations

import threading
from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import pytest

from optimizer import alternatives, pipeline, ring_header, safety
from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Infeasible, SolverFailed
from optimizer.extension import standing_job
from optimizer.job import Job
from optimizer.near_misses import IN_A_RING, NOT_TRIED, with_near_misses
from optimizer.otherwise import steps_of
from optimizer.pipeline import demand_staggered_start
from optimizer.records.safety import NoSafeDesign
from optimizer.records.site import KeepOut
from optimizer.ring_header import NoRing, design_ring
from optimizer.search_settings import SearchSettings
from optimizer.simulate.day.staggered import StaggeredStart
from tests.builders.make_design import make_design
from tests.builders.ring_site import ring_text
from tests.whole.site_file import job_of
from tests.whole.test_near_misses import site

# steps away from a site


@cache
def two_tubs() -> Job:
    return job_of(site(positions="2"))


@cache
def of_beds(number: int):
    """The design of the two tubs as if it had so many beds."""
    design = pipeline.find_design(two_tubs())
    return replace(design, beds=(design.beds * 2)[:number])


def step(start: str, design=None, **goals: float | str):
    """The step away from the two tubs whose words begin so; None where there is none."""
    job = two_tubs()
    asked = replace(job.site, goals=replace(job.site.goals, **goals))
    told = steps_of(asked, job.catalog, design or of_beds(2))
    return next((each for each in told if each.what.startswith(start)), None)


def test_a_row_that_is_full_and_has_no_room_behind_it_takes_no_bed_more():
    # A wall stands right behind the second place.
    job = two_tubs()
    end = max(bed.x_m for bed in of_beds(2).beds)
    wall = KeepOut("wall", (end + 0.8, 0.0), (end + 1.2, 2.0))
    walled = replace(job.site, ground=replace(job.site.ground, keep_outs=(wall,)))
    told = next(s for s in steps_of(walled, job.catalog, of_beds(2)) if "one more bed" in s.what)
    assert told.site is None
    assert told.none == "every place is built, and no row has room for another"
    assert step("one more bed").site.rows[0].positions == 3  # the twin, without the wall


def test_only_a_row_that_is_full_to_its_last_place_is_made_longer():
    job = two_tubs()
    fewer = tuple(replace(row, positions=3, beds_most=2) for row in job.site.rows)
    told = steps_of(replace(job.site, rows=fewer), job.catalog, of_beds(2))
    assert next(s for s in told if "one more bed" in s.what).site is None


def test_a_bed_fewer_is_no_step_where_one_is_asked_for_or_more_are_built_than_asked_for():
    assert step("one bed fewer", beds_least=2) is not None
    assert step("one bed fewer", of_beds(1), beds_least=1) is None
    assert step("one bed fewer", of_beds(3), beds_least=2) is None


def test_a_square_metre_of_growing_area_less_is_a_step_where_one_was_asked_for():
    eased = step("one square metre", growing_area_least_m2=2.5)
    assert eased.site.goals.growing_area_least_m2 == 1.5
    assert eased.eased
    assert step("one square metre", growing_area_least_m2=0.5) is None


def test_nothing_is_weaker_than_nominal_and_valves_are_set_no_closer_than_exactly():
    assert step('robustness "most"', robustness="whole") is not None
    assert step("robustness", robustness="nominal") is None
    assert step("valves set", valve_setting_error=0.05) is not None
    assert step("valves set", valve_setting_error=0.01) is None


def test_a_ring_is_not_priced_step_by_step_and_says_so():
    design = replace(make_design(), ring=SimpleNamespace(), near_misses=())
    (miss,) = with_near_misses(design, two_tubs()).near_misses
    assert (miss.what, miss.note) == (NOT_TRIED, IN_A_RING)


# one search


def test_the_held_share_counted_on_grows_until_it_covers_what_the_design_needs(monkeypatch):
    # A design made for a share of 0.5 needs 0.7 of the water, one made for 0.7 needs 0.65.
    needs = {0.5: 0.7, 0.7: 0.65}
    monkeypatch.setattr(pipeline, "held_share", lambda design: needs[design])
    assert pipeline._settled(lambda share: share, 0.5) == 0.7
    assert pipeline._settled(lambda share: share, 0.7) == 0.7


@pytest.mark.parametrize(
    ("together", "over", "said"),
    [
        (0.01, 0.01, None),
        (0.123, 0.2, r"chance would have, 12\.3% of the time"),
        (
            0.01,
            0.045,
            r"return lateral to B1 gets more in simulation than it carries, 4\.5%",
        ),
    ],
)
def test_siphons_that_fall_into_step_may_not_be_counted_as_independent(
    together, over, said, monkeypatch
):
    start = StaggeredStart((), 3, 0.99, (together,), (), "return lateral to B1", over, run=None)
    monkeypatch.setattr(pipeline, "staggered_start", lambda *_, **__: start)
    design = make_design()
    design = replace(design, promise=replace(design.promise, bursts="binomial"))
    if said is None:
        demand_staggered_start(design)
    else:
        with pytest.raises(Infeasible, match=said) as told:
            demand_staggered_start(design)
        assert 'bursts = "all"' in told.value.remedies[0].change


@pytest.mark.parametrize("stopped", [True, False])
def test_a_level_of_safety_that_runs_out_of_time_is_told_unless_it_was_stopped(
    stopped, monkeypatch
):
    stop = threading.Event()

    def late(*_, **__):
        if stopped:
            stop.set()
        raise SolverFailed("no design in time")

    monkeypatch.setattr(safety, "design_layouts", late)
    found = list(safety.cost_of_safety(two_tubs(), levels=("most",), stop=stop))
    assert found == ([] if stopped else [NoSafeDesign("most", "no design in time")])


def test_a_layout_whose_best_design_fails_its_check_sets_no_cost_for_the_others_to_beat():
    layout = SimpleNamespace(name="a layout")
    contest = alternatives._Contest(two_tubs(), SearchSettings())
    for passed, best in ((False, None), (True, make_design().record.cost_cents)):
        answer = SimpleNamespace(design=make_design(), check=SimpleNamespace(passed=passed))
        heat = contest._answered(layout, answer, SimpleNamespace(beaten=False))
        assert contest.best_cents == best
        assert heat.note == ("" if passed else "its best design fails its check")


def test_where_a_layout_s_rings_all_fail_that_there_is_no_design_is_not_claimed():
    # No ring found is no proof that there is none, whatever stands in the way of other layouts.
    ring, flat = SimpleNamespace(name="ring"), SimpleNamespace(name="flat")
    failed = alternatives._Heat(ring, 5.0, ended=True, note="No ring was found.")
    refused = alternatives._Heat(flat, None, ended=True, refusal=Infeasible("It clashes."))
    like = alternatives._Heat(flat, None, ended=True, note="its pipes run as with: ring")
    for heats in ([failed], [failed, like], [refused, failed]):
        told = alternatives._no_design(heats)
        assert isinstance(told, SolverFailed)
        assert "ring: No ring was found." in str(told)
    # The twin: where every layout is refused, so is the site.
    assert isinstance(alternatives._no_design([refused, like]), Infeasible)


def test_a_standing_bed_of_a_type_that_the_new_site_does_not_list_is_named():
    job = two_tubs()
    built = pipeline.find_design(job)
    types = tuple(replace(each, id="box") for each in job.site.bed_types)
    rows = tuple(replace(row, bed_types=("box",)) for row in job.site.rows)
    other = replace(job, site=replace(job.site, bed_types=types, rows=rows))
    with pytest.raises(BadInput, match="'tub', which the new site does not list"):
        standing_job(other, built)


# a header closed into a ring


@cache
def ring_job() -> Job:
    return job_of(ring_text(rows=3, positions=1))


def ringed():
    job = ring_job()
    network = candidate_network(job.site)
    return design_ring(job.site, job.catalog, network, SearchSettings())[0]


def twice(monkeypatch, fails_at: int):
    """Let the ring be sized for two choices, the search of one of them stopped."""
    real, tried = ring_header._Task.built, []

    def built(task, base, bound):
        tried.append(base)
        if len(tried) == fails_at:
            raise SolverFailed("stopped")
        return real(task, base, bound)

    def bases(_, least):
        return iter([ring_header._Base(ring_header.LOSSLESS, least)] * 2)

    monkeypatch.setattr(ring_header._Task, "built", built)
    monkeypatch.setattr(ring_header._Task, "bases", bases)


def test_a_ring_found_before_the_search_of_another_choice_was_stopped_is_kept(monkeypatch):
    alone = ringed()
    twice(monkeypatch, fails_at=2)
    assert ringed().record.cost_cents == alone.record.cost_cents


def test_a_search_stopped_before_its_first_ring_has_none(monkeypatch):
    twice(monkeypatch, fails_at=1)
    with pytest.raises(SolverFailed, match="stopped"):
        ringed()


def test_after_a_stop_beds_and_pump_are_chosen_no_second_way(monkeypatch):
    stop = threading.Event()
    task = ring_header._Task(None, SearchSettings(stop=stop), None)
    stop.set()
    (base,) = task.bases("the least choice")
    assert base.choice == "the least choice"


def test_a_choice_of_beds_that_leaves_an_end_of_the_ring_empty_makes_no_ring():
    ends = SimpleNamespace(network=SimpleNamespace(ring=("closing", "header 1")))
    task = ring_header._Task(ends, None, None)
    task._require_ends(SimpleNamespace(builds={"closing": 1, "header 1": 2, "lateral": 3}), 5.0)
    with pytest.raises(NoRing, match="no bed stands at one end"):
        task._require_ends(SimpleNamespace(builds={"closing": 1}), 5.0)
