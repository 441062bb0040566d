"""Budget, few pipe sizes and pipe in stock: against trying everything, and by hand."""

from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.milp import solve
from optimizer.milp.composed import solve_composed, why_complete
from optimizer.milp.solve import solve_complete
from optimizer.records.requirements import PipeStock, Stays
from tests.milp.random_tied import random_tied, two_beds
from tests.milp.small_problem import DRAINED, PROBLEM, tied
from tests.oracles.enumerate_problem import least_cost
from tests.oracles.enumerate_tied import least_tied_cost

SEEDS = range(60)
BY_HAND_CENTS = 2000 + 200 + 100 + 5000 + 400 + 2000 + 7
"""The small site without return pipe, as test_complete adds it up: thick riser, small pump."""


def cost_or_none(problem):
    try:
        return solve_complete(problem, gap=0.0).record.cost_cents
    except Infeasible:
        return None


@pytest.mark.parametrize("seed", SEEDS)
def test_a_tied_problem_costs_what_trying_everything_costs(seed, monkeypatch):
    # The oracle lists every whole design and holds the limits against each.
    monkeypatch.setattr(solve, "explain", lambda *_, **__: Infeasible("none"))
    problem = random_tied(seed)
    assert cost_or_none(problem) == least_tied_cost(problem)


@pytest.mark.parametrize("seed", range(20))
def test_both_enumerations_agree_where_nothing_is_tied(seed):
    # Two ways to enumerate: the older one keeps only the cheapest pipe for each plan and pump.
    assert least_tied_cost(two_beds(seed)) == least_cost(two_beds(seed))


def test_the_random_problems_have_designs_and_refusals_and_limits_that_bite():
    found = [least_tied_cost(random_tied(seed)) for seed in SEEDS]
    free = [
        least_tied_cost(
            replace(
                random_tied(seed),
                requirements=replace(
                    random_tied(seed).requirements, budget_cents=None, pipe_sizes_most=None
                ),
                stock=(),
            )
        )
        for seed in SEEDS
    ]
    changed = sum(
        a is not None and b is not None and a != b for a, b in zip(found, free, strict=True)
    )
    refused = sum(a is None and b is not None for a, b in zip(found, free, strict=True))
    assert changed >= 10
    assert refused >= 5


def test_a_budget_of_what_is_paid_at_first_is_enough_and_a_cent_less_is_not():
    # Paid at first: all but 400 of energy. No design is cheaper to buy (thick riser is needed).
    first = BY_HAND_CENTS - 400
    assert solve_complete(tied(PROBLEM, budget_cents=first)).record.cost_cents == BY_HAND_CENTS
    with pytest.raises(Infeasible) as refusal:
        solve_complete(tied(PROBLEM, budget_cents=first - 1))
    changes = {r.requirement: r.change for r in refusal.value.remedies}
    assert changes["the money to buy with"] == f"raise the budget to at least {first / 100:.2f}."
    # A thin riser saves 100 cents and loses 0.4 m more, of which the pump has 0.1 m to spare.
    assert changes["the head the pump must give"] == (
        "a pump that gives at least 0.30 m more head at the same flow, for no more money."
    )


def test_replacements_are_no_money_to_buy_with():
    # Of the pump's 5000 cents 1000 are for replacing it later: the budget may be so much smaller.
    pumps = tuple(replace(p, later_cents=1000) for p in PROBLEM.pumps)
    problem = tied(replace(PROBLEM, pumps=pumps), budget_cents=BY_HAND_CENTS - 1400)
    assert solve_complete(problem).record.cost_cents == BY_HAND_CENTS


def test_one_size_of_pipe_must_serve_where_two_are_not_allowed():
    # The cheapest design has a thick riser over thin drops: two sizes. Drops come in thin only, and
    # a thin riser leaves 1.0 m at the tee where bed B needs 1.3 m: one size serves no two beds.
    assert solve_complete(tied(PROBLEM, pipe_sizes_most=2)).record.cost_cents == BY_HAND_CENTS
    with pytest.raises(Infeasible) as refusal:
        solve_complete(tied(PROBLEM, pipe_sizes_most=1))
    changes = {r.requirement: r.change for r in refusal.value.remedies}
    assert changes["the sizes of pipe to keep"] == "allow at least 2 sizes of pipe instead of 1."


def test_stock_saves_its_worth_or_what_is_laid_and_never_more():
    # The thick riser has 140 cents of pipe: 100 cents' worth saves 100, 1000 cents' worth 140.
    for worth, saved in ((100, 100), (1000, 140), (0, 0)):
        problem = tied(PROBLEM, stock=(PipeStock("p25", worth),))
        assert solve_complete(problem, gap=0.0).record.cost_cents == BY_HAND_CENTS - saved


def test_stock_of_a_wide_pipe_is_laid_where_it_then_costs_less():
    # Return main: narrow (80) would carry 1 L/s; two bursts of 0.8 need wide (130, 90 of pipe).
    # One burst only: narrow at 80 beats wide at 130 unless its pipe lies ready (130 - 90 = 40).
    one = replace(
        DRAINED, requirements=replace(DRAINED.requirements, beds_least=1, area_least_m2=1)
    )
    assert solve_complete(tied(one), gap=0.0).drains["main"] == "narrow"
    stocked = tied(one, stock=(PipeStock("p75", 90),))
    assert solve_complete(stocked, gap=0.0).drains["main"] == "wide"


def test_tied_problems_go_to_the_complete_program_and_say_why():
    asked = (
        ({"budget_cents": 20_000}, "the money to buy with is limited"),
        ({"pipe_sizes_most": 3}, "the number of pipe sizes is limited"),
        ({"stock": (PipeStock("p25", 10),)}, "pipe lies in stock"),
    )
    assert why_complete(tied(PROBLEM)) == ""
    for limits, why in asked:
        problem = tied(PROBLEM, **limits)
        assert why_complete(problem) == why
        assert solve_composed(problem).record.formulation == "complete"


def _without(problem, pump=None, stretch=None, build=None):
    """The problem with a pump, or a build of a stretch, taken from its lists."""
    return replace(
        problem,
        pumps=tuple(p for p in problem.pumps if p.id != pump),
        pump_duties=tuple(d for d in problem.pump_duties if d.pump != pump),
        stretches=tuple(
            replace(s, table={k: b for k, b in s.table.items() if s.id != stretch or k[1] != build})
            for s in problem.stretches
        ),
    )


@pytest.mark.parametrize("seed", range(20))
def test_an_answer_unlike_an_earlier_one_costs_what_trying_each_thing_that_stays_costs(
    seed, monkeypatch
):
    # Pump and first stretch were "changed" to what the first answer has. Of these one must be
    # otherwise: the oracle takes one away, then the other, and tries every design that is left.
    monkeypatch.setattr(solve, "explain", lambda *_, **__: Infeasible("none"))
    problem = two_beds(seed)
    if least_tied_cost(problem) is None:
        return
    first = solve_complete(problem, gap=0.0)
    root = next(s for s in problem.stretches if s.tail == "pump")
    _, build = first.builds[root.id]
    changed = (
        Stays("pump", "", tuple(p.id for p in problem.pumps if p.id != first.pump)),
        Stays("stretch", root.id, tuple(j for j in root.builds if j != build)),
    )
    asked = replace(problem.requirements, unlike=(changed,))
    tried = [
        least_tied_cost(_without(problem, pump=first.pump)),
        least_tied_cost(_without(problem, stretch=root.id, build=build)),
    ]
    expected = min((cost for cost in tried if cost is not None), default=None)
    assert cost_or_none(replace(problem, requirements=asked)) == expected
    assert expected is None or expected >= first.record.cost_cents
