"""Why there is no design: each change named is enough, and a little less is not."""

import threading
from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.milp.explain import explain, what_is_missing
from optimizer.milp.solve import solve_complete
from optimizer.records.problem import Requirements
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


def test_two_faults_at_once_are_told_together():
    # Three beds cannot be had, and beside that the tank is too small even for two.
    problem = small_problem(
        requirements=Requirements(3, 1.5, 0.5),
        sumps=(replace(PROBLEM.sumps[0], working_m3=0.15),),
    )
    said = reason(problem)
    assert said.remedies == ()
    assert said.clash.startswith("No single change allows a design. Together these do:")
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
