"""The whole program against trying every combination, and what every answer must satisfy."""

from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.milp import solve
from optimizer.milp.solve import solve_complete
from tests.milp.random_problem import random_problem
from tests.milp.small_problem import DRAINED, PROBLEM, small_problem
from tests.oracles.enumerate_problem import least_cost
from tests.tolerances import EXACT, FORMULA

SEEDS = range(40)


def cost_or_none(problem):
    try:
        return solve_complete(problem, gap=0.0).record.cost_cents
    except Infeasible:
        return None


@pytest.mark.parametrize("seed", SEEDS)
def test_the_program_costs_what_trying_everything_costs(seed, monkeypatch):
    # The oracle leaves no combination out and shares no code with the program. The search for
    # remedies, tested in test_explain, is skipped here: it only starts once "none" is known.
    monkeypatch.setattr(solve, "explain", lambda *_, **__: Infeasible("none"))
    problem = random_problem(seed)
    assert cost_or_none(problem) == least_cost(problem)


def test_the_random_sites_are_neither_all_possible_nor_all_impossible():
    # The comparison above would prove little if nearly every site were of one kind.
    possible = [least_cost(random_problem(seed)) is not None for seed in SEEDS]
    assert sum(possible) >= len(SEEDS) // 3
    assert sum(possible) <= len(SEEDS) - 10


def test_the_small_site_costs_what_its_parts_add_up_to_by_hand():
    # Two slow beds 2 x 1000, thick riser 200 (thin leaves 1.0 m at the tee, bed B needs 1.3 m),
    # two drops 2 x 50, small pump 5000, energy 400, tank 2000, fixed 7.
    choice = solve_complete(PROBLEM, gap=0.0)
    assert choice.record.cost_cents == 2000 + 200 + 100 + 5000 + 400 + 2000 + 7
    assert choice.builds["riser"] == ("t4", "thick")
    assert (choice.pump, choice.sump, choice.band) == ("small", "tank", "low")


def test_heads_are_the_pump_s_less_what_the_builds_lose():
    heads = solve_complete(PROBLEM).heads_m
    assert heads["pump"] == 1.8
    assert heads["tee"] == pytest.approx(1.8 - 0.4, rel=FORMULA)
    assert heads["bed_b"] == pytest.approx(1.8 - 0.4 - 0.1, rel=FORMULA)


def test_a_finished_run_is_optimal_with_a_bound_equal_to_its_cost():
    # Costs are whole cents and the gap asked for is 0, so the bound rounds up to the cost.
    record = solve_complete(PROBLEM, gap=0.0).record
    assert (record.formulation, record.status) == ("complete", "optimal")
    assert record.bound_cents == record.cost_cents
    assert record.gap == EXACT


@pytest.mark.parametrize("gap", [0.5, 1e-2, 1e-4])
def test_the_bound_is_never_above_the_cost_and_the_gap_is_kept(gap):
    record = solve_complete(PROBLEM, gap=gap).record
    assert record.bound_cents <= record.cost_cents
    assert record.gap <= gap


def test_the_same_problem_and_seed_give_the_same_choice():
    first, second = (solve_complete(PROBLEM, seed=7) for _ in range(2))
    assert replace(first.record, seconds=0) == replace(second.record, seconds=0)
    assert (first.plans, first.builds) == (second.plans, second.builds)


def test_another_seed_gives_the_same_cost():
    costs = {solve_complete(PROBLEM, gap=0.0, seed=s).record.cost_cents for s in (0, 1, 2)}
    assert len(costs) == 1


def test_doubling_every_price_doubles_the_cost_and_keeps_the_choice():
    double = small_problem(
        plans=tuple(replace(p, cost_cents=2 * p.cost_cents) for p in PROBLEM.plans),
        stretches=tuple(
            replace(
                s, table={k: replace(b, cost_cents=2 * b.cost_cents) for k, b in s.table.items()}
            )
            for s in PROBLEM.stretches
        ),
        pumps=tuple(replace(p, cost_cents=2 * p.cost_cents) for p in PROBLEM.pumps),
        pump_duties=tuple(
            replace(d, running_cents=2 * d.running_cents) for d in PROBLEM.pump_duties
        ),
        sumps=tuple(replace(k, cost_cents=2 * k.cost_cents) for k in PROBLEM.sumps),
        fixed_cents=2 * PROBLEM.fixed_cents,
    )
    once, twice = (solve_complete(p, gap=0.0) for p in (PROBLEM, double))
    assert twice.record.cost_cents == 2 * once.record.cost_cents
    assert (twice.plans, twice.builds) == (once.plans, once.builds)


def test_ids_that_do_not_fit_together_are_refused():
    lost = replace(PROBLEM.plans[1], duties={"drop_a": "nowhere"})
    with pytest.raises(ValueError, match="unknown duty nowhere"):
        solve_complete(small_problem(plans=(PROBLEM.plans[0], lost)))


def test_return_pipe_is_bought_and_laid_as_by_hand():
    # Two bursts need the wide main (130), each bed a narrow pipe (80). From bed A: 0.90 - 0.05 at
    # the bed, 0.05 lower at the joint, 0.03 lower at the sump.
    choice = solve_complete(DRAINED, gap=0.0)
    without = solve_complete(PROBLEM, gap=0.0)
    assert choice.record.cost_cents == without.record.cost_cents + 130 + 2 * 80
    assert choice.drains == {"main": "wide", "from_a": "narrow", "from_b": "narrow"}
    levels = {"under_a": 0.85, "under_b": 1.05, "join": 0.80, "sump": 0.77}
    assert choice.inverts_m == pytest.approx(levels, rel=FORMULA)
