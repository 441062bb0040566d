"""Answers of a solver that contradict the tables, and tables that contradict themselves."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from optimizer.errors import Infeasible, SolverFailed
from optimizer.milp import solve
from optimizer.milp.extract import Picked, cost_cents, heads_m, inverts_m, picked
from optimizer.milp.family import REGISTRY, family
from optimizer.milp.model import build_model
from optimizer.milp.ring_site import site_ring
from optimizer.milp.tables import Tables
from tests.milp.small_problem import (
    DRAINED,
    DROP_A,
    DROP_B,
    PLANS,
    PROBLEM,
    PUMP_DUTIES,
    RISER,
    small_problem,
)
from tests.tolerances import EXACT, FORMULA

SLOW_BEDS = Picked(
    plans={"A": "a1", "B": "b1"},
    builds={"riser": ("t4", "thick"), "drop_a": ("u2", "thin"), "drop_b": ("u2", "thin")},
    pump="small",
    sump="tank",
    band="low",
    drains={"main": "wide", "from_a": "narrow", "from_b": "narrow"},
)
"""The best design by hand, as in test_complete; the drains are those of the drained site."""


def test_heads_are_the_pump_s_less_what_pipe_loses_and_an_outlet_below_them_is_refused():
    # 1.8 m less 0.4 m in the thick riser less 0.1 m in the drop; the thin riser loses 0.8 m, which
    # leaves bed A 0.9 m where its outlet lies at 1.0 m.
    found = heads_m(SLOW_BEDS, Tables(PROBLEM))
    assert found["bed_b"] == pytest.approx(1.3, rel=FORMULA)
    thin = replace(SLOW_BEDS, builds={**SLOW_BEDS.builds, "riser": ("t4", "thin")})
    with pytest.raises(SolverFailed, match="misses the outlet of stretch drop_a"):
        heads_m(thin, Tables(PROBLEM))


def test_return_pipe_that_ends_below_the_sump_s_water_is_refused():
    # It ends at 0.77 m, as by hand in test_complete: above 0.6 m, but not above 0.8 m.
    assert inverts_m(SLOW_BEDS, Tables(DRAINED))["sump"] == pytest.approx(0.77, rel=FORMULA)
    fuller = replace(DRAINED, sumps=tuple(replace(k, top_m=0.8) for k in DRAINED.sumps))
    with pytest.raises(SolverFailed, match="end below the sump's water"):
        inverts_m(SLOW_BEDS, Tables(fuller))


def test_beds_without_a_first_stretch_at_the_pump_are_refused():
    drops = {s: way for s, way in SLOW_BEDS.builds.items() if s != "riser"}
    with pytest.raises(SolverFailed, match="without a first stretch"):
        cost_cents(replace(SLOW_BEDS, builds=drops), Tables(PROBLEM))


def test_a_stretch_that_carries_water_and_has_no_size_is_refused():
    model = build_model(PROBLEM)
    for each in (model.plan, model.carries, model.at_least):
        for index in each:
            each[index].set_value(0.0)
    for plan in ("a1", "b1"):
        model.plan[plan].set_value(1.0)
    model.carries["riser", "t4"].set_value(1.0)
    with pytest.raises(SolverFailed, match="left stretch riser without a build"):
        picked(model, Tables(PROBLEM))


def test_where_the_solver_has_no_bound_nothing_is_said_to_be_proven(monkeypatch):
    # By hand, as in test_complete: beds, riser, drops, pump with its energy, tank, fixed.
    real = solve.search
    monkeypatch.setattr(
        solve, "search", lambda *a, **how: replace(real(*a, **how), bound=float("-inf"))
    )
    record = solve.solve_complete(PROBLEM, gap=0.0).record
    assert record.cost_cents == 2000 + 200 + 100 + 5400 + 2000 + 7
    assert record.bound_cents == EXACT


def test_a_row_that_no_pipe_serves_under_a_pump_is_named_whatever_the_ring():
    # Bed B's outlet lies at 1.2 m and its drop loses 0.3 m; a pump that gives 1.45 m does not do.
    plans = {"A": "a0", "B": "b2"}
    losses = SimpleNamespace()
    weak = (replace(PUMP_DUTIES[1], head_m=1.45),)
    with pytest.raises(Infeasible, match="Row B cannot be had under this pump") as told:
        site_ring(small_problem(pump_duties=weak), (), losses, plans, "small", "low")
    assert told.value.remedies[0].requirement == "the pump"


# tables


def test_a_site_without_one_stretch_at_its_pump_is_refused():
    with pytest.raises(ValueError, match="one stretch must leave the pump, found 0"):
        _ = Tables(small_problem(stretches=(DROP_A, DROP_B), plans=PLANS[:1])).root
    with pytest.raises(ValueError, match="found 2"):
        second = replace(RISER, id="second", head="other")
        _ = Tables(small_problem(stretches=(RISER, second, DROP_A, DROP_B))).root


def test_a_plan_that_has_water_run_through_another_row_s_pipe_is_refused():
    astray = replace(PLANS[1], duties={"drop_b": "u2"})
    with pytest.raises(ValueError, match="plan a1 puts a duty on drop_b of another branch"):
        Tables(small_problem(plans=(astray, *PLANS[2:])))


# families of rows


def test_a_family_without_a_formula_or_with_a_name_that_is_taken_is_refused():
    def wordless(model, tables):
        """A sentence alone."""

    def pipe_bears_shut_off(model, tables):
        """A sentence.

        x = 1
        """

    before = dict(REGISTRY)
    for rule in (wordless, pipe_bears_shut_off):
        with pytest.raises(ValueError, match=f"family {rule.__name__} is registered twice or has"):
            family("X", (), lambda _: [])(rule)
    assert before == REGISTRY
