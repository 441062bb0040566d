"""Each family alone: a hand argument for rows that hold, and a twin that breaks exactly them.

Here the rows of beds and supply pipe; ``test_family_rows_plant`` has those of pump, sump and return
pipe, ``test_family_rows_added`` those of what a site may add.
"""

import re
from pathlib import Path

from optimizer.milp.family import REGISTRY
from optimizer.milp.model import FAMILIES
from optimizer.milp.tables import Tables
from tests.milp.hold_rows import holds
from tests.milp.small_problem import (
    PROBLEM,
    small_problem,
)


def test_every_registered_family_is_in_the_program_once():
    assert [f.name for f in FAMILIES] == list(dict.fromkeys(f.name for f in FAMILIES))
    lacking = set(REGISTRY) ^ {f.name for f in FAMILIES}
    assert lacking == set(), "List it in FAMILIES of optimizer/milp/model.py, where it reads well."


def test_every_family_has_a_row_that_holds_and_a_twin_that_breaks_it():
    files = sorted(Path(__file__).parent.glob("test_family_rows*.py"))
    tests = re.split(r"^(?=def test_)", "".join(f.read_text() for f in files), flags=re.MULTILINE)
    lacking = []
    for name in REGISTRY:
        words = "".join(t for t in tests if t.startswith(f"def test_{name}"))
        if "assert not holds(" not in words or "assert holds(" not in words:
            lacking.append(name)
    assert lacking == [], (
        "Each needs a test in a test_family_rows file, test_<family>_<claim>, with a hand "
        "argument, an 'assert holds(' and an 'assert not holds('."
    )


def test_one_plan_per_branch_takes_neither_none_nor_two():
    # A and B have one plan each; the twin gives B two.
    assert holds("one_plan_per_branch", plan={"a1": 1, "b0": 1})
    assert not holds("one_plan_per_branch", plan={"a1": 1, "b0": 1, "b1": 1})
    assert not holds("one_plan_per_branch", plan={"a1": 1})


def test_one_option_per_bed_type_forbids_slow_and_fast_tubs_together():
    assert holds("one_option_per_bed_type", option_used={"slow": 1})
    assert not holds("one_option_per_bed_type", option_used={"slow": 1, "fast": 1})


def test_plan_needs_its_option_so_a_fast_bed_needs_fast_in_use():
    assert holds("plan_needs_its_option", plan={"b2": 1}, option_used={"fast": 1})
    assert not holds("plan_needs_its_option", plan={"b2": 1}, option_used={"slow": 1})


def test_enough_beds_counts_one_and_one_as_two_and_one_alone_as_too_few():
    assert holds("enough_beds", plan={"a1": 1, "b1": 1})
    assert not holds("enough_beds", plan={"a1": 1})


def test_enough_area_counts_two_square_metres_against_one_and_a_half():
    assert holds("enough_area", plan={"a1": 1, "b1": 1})
    assert not holds("enough_area", plan={"a1": 1})


def test_plan_sets_the_duty_of_the_drop_to_the_plan_s_own():
    # Plan b2 puts duty u4 on drop_b; the twin carries u2 under it.
    assert holds("plan_sets_the_duty", plan={"b2": 1}, carries={("drop_b", "u4"): 1})
    assert not holds("plan_sets_the_duty", plan={"b2": 1}, carries={("drop_b", "u2"): 1})


def test_one_duty_per_shared_stretch_forbids_two_flows_at_once():
    assert holds("one_duty_per_shared_stretch", carries={("riser", "t4"): 1})
    assert not holds(
        "one_duty_per_shared_stretch", carries={("riser", "t2"): 1, ("riser", "t4"): 1}
    )


def test_shared_flow_adds_up_two_and_two_to_four():
    assert holds("shared_flow_adds_up", plan={"a1": 1, "b1": 1}, carries={("riser", "t4"): 1})
    assert not holds("shared_flow_adds_up", plan={"a1": 1, "b1": 1}, carries={("riser", "t2"): 1})


def test_water_comes_from_upstream_so_a_fed_drop_needs_a_fed_riser():
    drop = {("drop_a", "u2"): 1}
    assert holds("water_comes_from_upstream", carries={**drop, ("riser", "t2"): 1})
    assert not holds("water_comes_from_upstream", carries=drop)


def test_one_build_per_carried_duty_gives_the_carried_duty_one_pipe_and_no_other_any():
    carried = {("riser", "t4"): 1}
    assert holds("one_build_per_carried_duty", carries=carried, build={("riser", "t4", "thin"): 1})
    assert not holds(
        "one_build_per_carried_duty", carries=carried, build={("riser", "t2", "thin"): 1}
    )


def test_build_is_the_dearest_reached_so_at_least_thick_means_thick():
    reached = {("riser", "thin"): 1, ("riser", "thick"): 1}
    family = "build_is_the_dearest_reached"
    assert holds(family, at_least=reached, build={("riser", "t4", "thick"): 1})
    assert not holds(family, at_least=reached, build={("riser", "t4", "thin"): 1})


def test_builds_are_nested_so_at_least_thick_is_at_least_thin():
    assert holds("builds_are_nested", at_least={("riser", "thin"): 1})
    assert not holds("builds_are_nested", at_least={("riser", "thick"): 1})


def test_head_falls_along_a_stretch_by_what_its_build_loses():
    # 1.8 m at the pump less 0.8 m in the thin riser leaves 1.0 m at the tee.
    built = {("riser", "t4", "thin"): 1}
    family = "head_falls_along_a_stretch"
    assert holds(family, build=built, head={"pump": 1.8, "tee": 1.0})
    assert not holds(family, build=built, head={"pump": 1.8, "tee": 1.1})


def test_outlet_is_reached_with_the_drop_s_loss_on_top_of_its_level():
    # Outlet at 1.2 m and 0.3 m lost in the drop need 1.5 m at the tee.
    built = {("drop_b", "u4", "thin"): 1}
    assert holds("outlet_is_reached", build=built, head={"tee": 1.5})
    assert not holds("outlet_is_reached", build=built, head={"tee": 1.4})


def test_drift_is_held_by_head_in_proportion_to_the_rise():
    # Outlet 1.2 m is 0.2 m above the lowest; authority 0.5 asks for 0.1 m above it: 1.3 m.
    duty, carried = {("big", "high", 4): 1}, {("drop_b", "u2"): 1}
    assert holds("drift_is_held", pump_duty=duty, carries=carried, head={"tee": 1.3})
    assert not holds("drift_is_held", pump_duty=duty, carries=carried, head={"tee": 1.29})


def test_drift_is_held_asks_nothing_of_a_drop_that_carries_nothing():
    # Its row then reads head >= rise * (authority - greatest authority), which is never above 0.
    assert holds("drift_is_held", pump_duty={("big", "high", 4): 1}, head={"tee": 0.0})


def test_pipe_bears_shut_off_of_12_m_only_if_rated_above_10_m():
    thin, thick = {("riser", "t4", "thin"): 1}, {("riser", "t4", "thick"): 1}
    assert holds("pipe_bears_shut_off", build=thick, pump={"big": 1})
    assert holds("pipe_bears_shut_off", build=thin, pump={"small": 1})
    assert not holds("pipe_bears_shut_off", build=thin, pump={"big": 1})


def test_pipe_bears_shut_off_has_no_row_where_every_pipe_is_strong_enough():
    weak = small_problem(pumps=PROBLEM.pumps[:1], pump_duties=PROBLEM.pump_duties[:2])
    assert REGISTRY["pipe_bears_shut_off"].indices(Tables(weak)) == []


def test_valve_can_throttle_no_more_than_its_smallest_opening_takes_up():
    # Outlet at 1.2 m and 0.1 m lost fully open: with 6 m of throttle the valve meets 7.3 m at most.
    narrow = {("drop_b", "u2", "thin"): 1}
    assert holds("valve_can_throttle", build=narrow, head={"pump": 7.3})
    assert not holds("valve_can_throttle", build=narrow, head={"pump": 7.4})
    assert holds("valve_can_throttle", build={}, head={"pump": 9.0})


def test_valve_can_throttle_has_no_row_where_no_pump_is_that_strong():
    weak = small_problem(pumps=PROBLEM.pumps[:1], pump_duties=PROBLEM.pump_duties[:2])
    assert REGISTRY["valve_can_throttle"].indices(Tables(weak)) == []
