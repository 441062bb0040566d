"""Claims of the study on bed types, in miniature, and the figures its written answer quotes."""

from __future__ import annotations

import re

import pandas as pd
import pytest

from optimizer import SiphonBed
from studies.bed_types import experiments, theory
from studies.bed_types.charts import every_chart
from studies.bed_types.findings import AREA_M2, cheapest_kinds, findings_frame
from studies.bed_types.run import RESULTS, main
from studies.writing import read_tables
from tests.studies.quoted import figures_not_found, pictures_shown
from tests.tolerances import FORMULA, SOLVER

GAP = 1e-4
"""Relative: how far the search may leave a cost above the least."""

PROVEN = 5e-4
"""Relative: one search of 144 (tubs, 11.5 floods an hour) was stopped at its time limit."""

HAND = 0.12
"""Relative: the rule of three against the cycle with its rim and falling discharge."""


def test_the_least_cost_never_falls_as_the_goal_rises():
    # What meets a higher goal meets a lower one.
    for _, own in read_tables(RESULTS)["costs"].groupby("kind"):
        assert own["goal"].is_monotonic_increasing
        assert (own["cost"].diff().dropna() >= -PROVEN * own["cost"].iloc[1:]).all()
        assert (own["cost"] - own["bound"] <= PROVEN * own["cost"]).all()


def test_the_three_sites_have_the_same_growing_area():
    for kind in experiments.KINDS:
        row = experiments._study(kind).rows([{"floods": 2.0}])[0]
        assert row["growing_area_m2"] == pytest.approx(AREA_M2, rel=FORMULA)


def test_the_rule_of_three_gives_the_floods_of_the_cycle_with_no_rim_and_even_discharge():
    # A bed of 1 m2 that holds 100 L between slots and crest, on a siphon whose discharge hardly
    # falls (outlet 10 m below): fill and drain by division.
    bed = SiphonBed(
        area_m2=1.0,
        porosity=0.5,
        drain_level_m=0.0,
        crest_level_m=0.2,
        bore_m=0.03,
        outlet_level_m=-10.0,
        loss_coefficient=60.0,
    )
    inflow = 5.0 * bed.start_flow_m3_s
    step = theory.expected(bed) | {"inflow_l_min": 60_000.0 * inflow}
    assert step["water_per_flood_l"] == pytest.approx(100.0)
    assert theory.hand_floods(step) == pytest.approx(bed.floods_per_hour(inflow), rel=0.05)


def test_the_rule_of_three_gives_how_seldom_each_bed_can_flood():
    for _, own in read_tables(RESULTS)["costs"].groupby("kind"):
        first = own.iloc[0]
        assert theory.hand_floods(first) == pytest.approx(first["floods_there"], rel=HAND)


def test_the_cheapest_type_is_read_off_goal_by_goal():
    # By hand: a costs 1 and then 9, b costs 5 at both, c is only there for the first.
    table = pd.DataFrame(
        {"kind": list("abcab"), "goal": [1, 1, 1, 2, 2], "cost": [1.0, 5.0, 7.0, 9.0, 5.0]}
    )
    assert cheapest_kinds(table).to_dict() == {1: "a", 2: "b"}


def test_the_miniature_writes_all_that_the_full_run_writes_and_redraws_it(tmp_path, capsys):
    assert main(["--quick", "--processes", "1", "--out", str(tmp_path)]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in RESULTS.iterdir()}
    before = (tmp_path / "findings.csv").read_bytes()
    assert main(["--redraw", "--out", str(tmp_path)]) == 0
    assert (tmp_path / "findings.csv").read_bytes() == before
    assert capsys.readouterr().out.count("Tables and charts") == 2


def test_the_stored_findings_are_those_of_the_stored_tables():
    tables = read_tables(RESULTS)
    stored, anew = tables["findings"], findings_frame(tables)
    assert list(stored["finding"]) == list(anew["finding"])
    assert stored["value"].to_numpy() == pytest.approx(anew["value"].to_numpy(), rel=SOLVER * 10)


@pytest.mark.parametrize("kind", experiments.KINDS)
def test_a_stored_cost_is_found_again_by_the_program_of_today(kind):
    # One goal a type, so that the stored run cannot drift away from the program unseen.
    costs = read_tables(RESULTS)["costs"].set_index(["kind", "goal"])["cost"]
    row = experiments._study(kind).rows([{"floods": 4.0}])[0]
    assert row["cost"] == pytest.approx(costs[kind, 4.0], rel=GAP)


def test_every_figure_of_the_written_answer_is_in_the_findings():
    assert figures_not_found(RESULTS) == []


def test_every_picture_is_shown_and_drawn_from_the_tables():
    assert pictures_shown(RESULTS) == set(every_chart(read_tables(RESULTS)))
    assert not re.findall(r"nan", (RESULTS.parent / "README.md").read_text(encoding="utf-8"))
