"""Why there is no design: each change named is enough, and a little less is not."""

import os
import signal
import threading
from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.milp import explain as explaining
from optimizer.milp import solve as solving
from optimizer.milp.explain import LONGEST_S, explain, time_to_explain_s, what_is_missing
from optimizer.milp.explain_gives import GIVES
from optimizer.milp.family import REGISTRY
from optimizer.milp.solve import solve_complete
from optimizer.records.requirements import Requirements
from tests.milp.small_problem import DRAINED, DROP_A, DROP_B, PROBLEM, RISER, small_problem

ASKED = PROBLEM.requirements


def reason(problem, words=None) -> Infeasible:
    with pytest.raises(Infeasible) as raised:
        solve_complete(problem, words=words)
    return raised.value


def changes(problem) -> dict[str, str]:
    return {r.requirement: r.change for r in reason(problem).remedies}


def with_heads(extra_m: float):
    """The small pump gives 1.6 m at flow 4 and the big one is gone."""
    duties = [replace(d, head_m=d.head_m - 0.2 + extra_m) for d in PROBLEM.pump_duties[:2]]
    return small_problem(pump_duties=tuple(duties))


def test_missing_head_is_named_in_metres_and_is_just_enough():
    # Thick riser 0.4 + drop 0.1 + outlet 1.2 needs 1.7 m; the pump gives 1.6 m.
    said = changes(with_heads(0.0))
    assert said["the head the pump must give"] == (
        "a pump that gives at least 0.10 m more head at the same flow."
    )
    assert solve_complete(with_heads(0.10)).plans == {"A": "a1", "B": "b1"}
    assert reason(with_heads(0.09))


def test_too_many_beds_are_named_by_the_most_that_fit():
    said = changes(small_problem(requirements=replace(ASKED, beds_least=3)))
    assert said == {"the number of beds asked for": "ask for at most 2 beds instead of 3."}


def test_too_much_area_is_named_by_the_most_that_fits():
    said = changes(small_problem(requirements=replace(ASKED, area_least_m2=2.5)))
    assert said == {
        "the growing area asked for": "ask for at most 2.00 m2 of growing area instead of 2.50 m2."
    }


def test_a_small_sump_is_named_in_litres_and_is_just_enough():
    # Two beds hold 200 L, the tank has 150 L between its levels.
    def tank(working_m3):
        return small_problem(sumps=(replace(PROBLEM.sumps[0], working_m3=working_m3),))

    said = changes(tank(0.15))
    assert said["the sump must hold all beds at once"] == (
        "a sump that holds at least 50 L more between its running levels."
    )
    assert solve_complete(tank(0.20)).sump == "tank"
    assert reason(tank(0.199))


def test_a_power_cut_that_overflows_is_named_in_litres():
    # Half of 0.020 + 2 x 0.001 m3 is 11 L; the tank has 4 L to spare.
    problem = small_problem(sumps=(replace(PROBLEM.sumps[0], spare_m3=0.004),))
    assert changes(problem)["a power cut must not overflow the sump"] == (
        "a sump with at least 7 L more room between its high level and the freeboard."
    )


def test_a_sump_too_high_for_its_return_pipe_is_named_in_metres():
    # Return pipe reaches the sump at 0.77 m (bed A, by hand in test_complete); its water at 0.80 m.
    high = tuple(replace(k, top_m=0.80) for k in DRAINED.sumps)
    said = changes(replace(DRAINED, sumps=high))
    assert "at least 0.03 m higher" in said["return pipe must fall to the sump"]


def narrowed(capacity_m3_s):
    """The drained site, its widest main return pipe carrying no more than a given flow."""
    main, *others = DRAINED.drains
    builds = (replace(main.builds[0], capacity_m3_s=capacity_m3_s),)
    return replace(DRAINED, drains=(replace(main, builds=builds), *others))


def test_return_pipe_too_small_for_the_bursts_is_named_in_litres_a_minute_and_is_just_enough():
    # Two beds burst 0.8 L/s each, 96 L/min together; the main carries 1.2 L/s, 72 L/min.
    said = changes(narrowed(0.0012))
    assert said["return pipe must carry the siphons' bursts"] == (
        "allow wider return pipe, for at least 24.0 L/min more, or count bursts as binomial where "
        "all of them are counted."
    )
    assert solve_complete(narrowed(0.0016)).drains["main"] == "narrow"
    assert "return pipe must carry the siphons' bursts" in changes(narrowed(0.0016 - 1e-8))


def test_return_pipe_that_has_no_fall_is_not_said_to_be_too_narrow():
    # With the sump's water at 0.80 m no width helps: pipe that is left out would need no fall.
    high = tuple(replace(k, top_m=0.80) for k in DRAINED.sumps)
    assert "return pipe must carry the siphons' bursts" not in changes(replace(DRAINED, sumps=high))


def test_return_pipe_that_carries_no_siphon_at_all_is_named_without_a_search():
    bare = tuple(replace(drain, builds=()) for drain in DRAINED.drains)
    problem = replace(DRAINED, drains=bare)
    assert what_is_missing(problem) == (
        "No allowed return pipe carries the burst of one siphon: allow wider sizes.",
    )
    assert "burst" in reason(problem).clash


def test_two_faults_at_once_are_told_together():
    # Three beds cannot be had, and beside that the tank is too small even for two.
    problem = small_problem(
        requirements=Requirements(3, 1.5, 0.5),
        sumps=(replace(PROBLEM.sumps[0], working_m3=0.15),),
    )
    said = reason(problem)
    assert said.remedies == ()
    assert said.clash.startswith("None of the requirements allows a design by giving way alone.")
    assert "beds instead of 3" in said.clash
    assert "L more" in said.clash or "m2 of growing area" in said.clash


def test_a_site_no_requirement_can_save_says_so():
    # The drops are not allowed in any pipe, and two beds are asked for.
    bare = [replace(d, table={}) for d in (DROP_A, DROP_B)]
    problem = small_problem(stretches=(RISER, *bare))
    said = reason(problem)
    assert said.remedies == ()
    assert said.clash.startswith("No design exists")


def test_the_caller_s_words_are_used():
    problem = small_problem(requirements=replace(ASKED, beds_least=3))
    assert reason(problem, {"beds": "how many beds you want"}).remedies[0].requirement == (
        "how many beds you want"
    )


@pytest.mark.parametrize(
    ("table", "word"),
    [
        ("plans", "plan"),
        ("pumps", "pump"),
        ("sumps", "sump"),
        ("pump_duties", "total flows"),
        ("options", "siphon kit"),
        ("stretches", "pipe"),
        ("bands", "band"),
    ],
)
def test_an_empty_table_is_named_without_a_search(table, word):
    problem = small_problem(**{table: ()})
    assert any(word in sentence for sentence in what_is_missing(problem))
    assert word in explain(problem).clash
    with pytest.raises(Infeasible, match=word):
        solve_complete(problem)


def test_a_whole_problem_misses_nothing():
    assert what_is_missing(PROBLEM) == ()


def test_an_explanation_that_is_stopped_says_that_it_was_not_settled():
    stop = threading.Event()
    stop.set()
    told = explain(small_problem(requirements=Requirements(9, 0.0, 0.0)), stop=stop)
    assert "not settled in the time allowed" in told.clash
    assert told.remedies == ()


def test_an_explanation_without_time_says_that_it_was_not_settled():
    told = explain(small_problem(requirements=Requirements(9, 0.0, 0.0)), time_limit_s=0.0)
    assert "not settled in the time allowed" in told.clash


def many_beds():
    return small_problem(requirements=Requirements(9, 0.0, 0.0))


def test_one_stop_ends_every_search_of_an_explanation(monkeypatch):
    # The event is set while the first search runs: no second one is begun.
    stop, begun, search = threading.Event(), [], explaining.search

    def stop_in_the_first(model, settings, watch):
        begun.append(watch.stop)
        stop.set()
        return search(model, settings, watch)

    monkeypatch.setattr(explaining, "search", stop_in_the_first)
    told = explain(many_beds(), stop=stop)
    assert begun == [stop]
    assert "not settled in the time allowed" in told.clash


def test_what_was_found_before_a_stop_is_told_and_said_to_be_perhaps_not_all(monkeypatch):
    stop, least = threading.Event(), explaining._least

    def stop_after_the_beds(problem, gives, patience):
        found = least(problem, gives, patience)
        if gives[0].key == "beds":
            stop.set()
        return found

    monkeypatch.setattr(explaining, "_least", stop_after_the_beds)
    told = explain(many_beds(), stop=stop)
    assert [r.requirement for r in told.remedies] == ["the number of beds asked for"]
    assert told.clash.endswith(
        "Whether anything else stands in the way was not settled in the time allowed."
    )


@pytest.mark.parametrize("between", [True, False])
def test_ctrl_c_in_an_explanation_ends_it_with_what_is_known(monkeypatch, between):
    # Pressed while a model is built between two searches, and while the solver runs.
    before, name = signal.getsignal(signal.SIGINT), "build_model" if between else "search"
    begun, work = [], getattr(explaining, name)

    def pressed(*given):
        begun.append(name)
        os.kill(os.getpid(), signal.SIGINT)
        return work(*given)

    monkeypatch.setattr(explaining, name, pressed)
    told = explain(many_beds())
    assert len(begun) == 1
    assert "not settled in the time allowed" in told.clash
    assert signal.getsignal(signal.SIGINT) is before


def test_an_explanation_takes_no_more_time_than_is_left():
    # Twice as much let a design with a limit of 5 s go on for 12 s: found by a spoilt file.
    assert time_to_explain_s(None, 100.0) == LONGEST_S
    assert time_to_explain_s(10.0, 4.0) == 6.0
    assert time_to_explain_s(100.0, 4.0) == LONGEST_S
    assert time_to_explain_s(10.0, 11.0) == 0.0


def test_a_search_hands_its_stop_and_the_time_it_left_to_the_explanation(monkeypatch):
    given = {}

    def note(*_, **how):
        given.update(how)
        return Infeasible("none")

    monkeypatch.setattr(solving, "explain", note)
    stop = threading.Event()
    with pytest.raises(Infeasible):
        solve_complete(many_beds(), stop=stop, time_limit_s=10.0)
    assert given["stop"] is stop
    assert 0.0 < given["time_limit_s"] < 20.0


NEVER_GIVES_WAY = {
    "one_plan_per_branch", "one_option_per_bed_type", "plan_needs_its_option",
    "plan_sets_the_duty", "one_duty_per_shared_stretch", "shared_flow_adds_up",
    "water_comes_from_upstream", "one_build_per_carried_duty", "build_is_the_dearest_reached",
    "builds_are_nested", "mixed_part_has_its_build", "wider_part_leaves_the_other",
    "wider_part_is_no_stub", "one_pump", "bought_pump_has_a_duty", "pump_runs_in_the_band",
    "pump_meets_total_flow", "zone_has_water", "shared_flow_reaches_every_zone",
    "one_zone_is_the_greatest", "pump_is_counted_at_the_greatest_zone",
    "head_falls_along_a_stretch", "outlet_is_reached", "drift_is_held", "pipe_bears_shut_off",
    "valve_can_throttle", "valve_can_throttle_at_no_flow", "one_sump", "sump_shares_the_band",
    "one_size_per_drain", "drain_falls", "drain_lies_under_the_bed", "drain_never_narrows",
    "build_needs_its_size", "drain_needs_its_size", "pump_needs_its_sizes",
    "beds_are_counted", "drain_carries_what_is_counted", "stock_saves_its_worth",
    "stock_saves_what_is_laid", "something_stays_that_was_changed",
}  # fmt: skip
"""Families that say what a design is, or that give way through another: by head or parts."""


def test_every_family_that_a_grower_asked_for_can_give_way_in_an_explanation():
    untold = set(REGISTRY) - {give.family for give in GIVES} - NEVER_GIVES_WAY
    assert untold == set(), (
        "If a grower asked for it, add a Give to optimizer/milp/explain_gives.py (and its key to "
        "the docstring of explain); if it says what a design is, add it to NEVER_GIVES_WAY here."
    )
