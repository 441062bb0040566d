"""Each family alone: a hand argument for rows that hold, and a twin that breaks exactly them."""

import inspect
from dataclasses import replace

import pyomo.environ as pyo

from optimizer.milp.family import REGISTRY
from optimizer.milp.model import FAMILIES
from optimizer.milp.modeling import new_model
from optimizer.milp.tables import Tables
from optimizer.milp.variables import add_variables
from tests.milp.small_problem import (
    DRAINED,
    IN_TURN,
    MIXED,
    NARROW,
    PROBLEM,
    TIED,
    small_problem,
    tied,
)
from tests.tolerances import FORMULA


def holds(family, problem=PROBLEM, **values):
    """Whether every row of one family holds where the given variables are set and all else is 0."""
    tables = Tables(problem)
    model = new_model("alone")
    add_variables(model, tables)
    for variable in model.component_data_objects(pyo.Var):
        variable.set_value(0)
    for name, amounts in values.items():
        for index, amount in amounts.items():
            getattr(model, name)[index].set_value(amount)
    REGISTRY[family].add_to(model, tables)
    rows = list(getattr(model, family).values())
    assert rows
    return all(row.lslack() >= -FORMULA and row.uslack() >= -FORMULA for row in rows)


def test_every_registered_family_is_in_the_program_once():
    assert [f.name for f in FAMILIES] == list(dict.fromkeys(f.name for f in FAMILIES))
    lacking = set(REGISTRY) ^ {f.name for f in FAMILIES}
    assert lacking == set(), "List it in FAMILIES of optimizer/milp/model.py, where it reads well."


def test_every_family_has_a_row_that_holds_and_a_twin_that_breaks_it():
    lacking = {}
    for name in REGISTRY:
        tests = [made for t, made in globals().items() if t.startswith(f"test_{name}")]
        words = "".join(map(inspect.getsource, tests))
        if "not holds(" not in words or "assert holds(" not in words:
            lacking[name] = [made.__name__ for made in tests]
    assert lacking == {}, (
        "Each needs a test here, test_<family>_<claim>, with a hand argument, an 'assert holds(' "
        "and an 'assert not holds('."
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


def test_one_pump_is_bought_and_not_two():
    assert holds("one_pump", pump={"small": 1})
    assert not holds("one_pump", pump={"small": 1, "big": 1})


def test_bought_pump_has_a_duty_of_its_own():
    assert holds("bought_pump_has_a_duty", pump={"small": 1}, pump_duty={("small", "low", 2): 1})
    assert not holds("bought_pump_has_a_duty", pump={"small": 1}, pump_duty={("big", "high", 4): 1})


def test_pump_runs_in_the_band_of_its_duty():
    duty = {("small", "low", 2): 1}
    assert holds("pump_runs_in_the_band", band={"low": 1}, pump_duty=duty)
    assert not holds("pump_runs_in_the_band", band={"high": 1}, pump_duty=duty)


def test_pump_meets_total_flow_of_the_first_stretch():
    carried = {("riser", "t4"): 1}
    assert holds("pump_meets_total_flow", carries=carried, pump_duty={("small", "low", 4): 1})
    assert not holds("pump_meets_total_flow", carries=carried, pump_duty={("small", "low", 2): 1})


def test_pump_gives_the_head_of_its_duty_and_no_more():
    duty = {("small", "low", 4): 1}
    assert holds("pump_gives_the_head", pump_duty=duty, head={"pump": 1.8})
    assert not holds("pump_gives_the_head", pump_duty=duty, head={"pump": 1.9})


def test_loud_pump_rests_so_one_heard_18_hours_may_run_where_18_are_allowed_and_not_where_17_are():
    # The big pump is loud for the 18 hours it runs, the small one never.
    family, less = "loud_pump_rests", replace(TIED.requirements, loud_hours_most=17.0)
    assert holds(family, TIED, pump={"big": 1})
    assert not holds(family, replace(TIED, requirements=less), pump={"big": 1})
    assert holds(family, replace(TIED, requirements=less), pump={"small": 1})


def test_loud_pump_rests_has_no_row_without_a_limit_or_a_loud_pump():
    indices = REGISTRY["loud_pump_rests"].indices
    assert indices(Tables(PROBLEM)) == []
    assert indices(Tables(replace(TIED, pumps=PROBLEM.pumps))) == []


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


def test_one_sump_is_bought_and_not_two():
    assert holds("one_sump", sump={"tank": 1})
    assert not holds("one_sump", sump={"tank": 1, "pair": 1})


def test_sump_shares_the_band_of_the_pump():
    assert holds("sump_shares_the_band", sump={"tank": 1}, band={"low": 1})
    assert not holds("sump_shares_the_band", sump={"tank": 1}, band={"high": 1})


def test_sump_holds_all_beds_full_at_once():
    # Two beds of 0.1 m3 in 0.3 m3; in the twin each holds 0.1 m3 and the tank only 0.15 m3.
    small = small_problem(sumps=(replace(PROBLEM.sumps[0], working_m3=0.15),))
    both = {"a1": 1, "b1": 1}
    assert holds("sump_holds_all_beds", plan=both, sump={"tank": 1})
    assert not holds("sump_holds_all_beds", small, plan=both, sump={"tank": 1})


def test_power_cut_fits_half_the_pipe_water_under_the_freeboard():
    # Half of 0.02 m3 is 0.01 m3: it fits into 0.05 m3 and not into the twin's 0.009 m3.
    small = small_problem(sumps=(replace(PROBLEM.sumps[0], spare_m3=0.009),))
    thick = {("riser", "t4", "thick"): 1}
    assert holds("power_cut_fits", build=thick, sump={"tank": 1})
    assert not holds("power_cut_fits", small, build=thick, sump={"tank": 1})


def test_one_size_per_drain_forbids_narrow_and_wide_in_one_place():
    wide, both = {("main", "wide"): 1}, {("main", "wide"): 1, ("main", "narrow"): 1}
    assert holds("one_size_per_drain", DRAINED, drain=wide)
    assert not holds("one_size_per_drain", DRAINED, drain=both)


def test_drain_carries_its_bursts_added_up():
    # Two bursts of 0.8 L/s make 1.6 L/s: within 3 L/s of the wide pipe, above 1 L/s of the narrow.
    both, ends = {"a1": 1, "b1": 1}, {("from_a", "narrow"): 1, ("from_b", "narrow"): 1}
    family = "drain_carries_its_bursts"
    assert holds(family, DRAINED, plan=both, drain={**ends, ("main", "wide"): 1})
    assert not holds(family, DRAINED, plan=both, drain={**ends, ("main", "narrow"): 1})


def test_drain_falls_by_what_its_build_asks():
    # The wide main asks for 0.03 m from the joint to the sump.
    main = {("main", "wide"): 1}
    high = {"under_a": 1.0, "under_b": 1.0, "join": 0.63, "sump": 0.6}
    assert holds("drain_falls", DRAINED, drain=main, invert=high)
    assert not holds("drain_falls", DRAINED, drain=main, invert={**high, "join": 0.62})


def test_drain_lies_under_the_bed_with_its_whole_bore():
    # Outlet of bed A at 0.9 m less a crown of 0.05 m: invert at 0.85 m or lower.
    built = {"plan": {"a1": 1}, "drain": {("from_a", "narrow"): 1}}
    family = "drain_lies_under_the_bed"
    assert holds(family, DRAINED, **built, invert={"under_a": 0.85})
    assert not holds(family, DRAINED, **built, invert={"under_a": 0.86})


def test_drains_end_above_the_water_of_the_sump_bought():
    tank = {"tank": 1}
    assert holds("drains_end_above_the_water", DRAINED, sump=tank, invert={"sump": 0.6})
    assert not holds("drains_end_above_the_water", DRAINED, sump=tank, invert={"sump": 0.59})


def test_drain_never_narrows_on_its_way_to_the_sump():
    # The narrow pipe from bed A has a bore of 0.05 m: into 0.07 m it may run, into 0.04 m not.
    family, from_a = "drain_never_narrows", {("from_a", "narrow"): 1}
    assert holds(family, DRAINED, drain={**from_a, ("main", "wide"): 1})
    thin_main = replace(DRAINED.drains[0], builds=(replace(NARROW, crown_m=0.04),))
    thin = replace(DRAINED, drains=(thin_main, *DRAINED.drains[1:]))
    assert not holds(family, thin, drain={**from_a, ("main", "narrow"): 1})


def test_capital_is_within_the_budget_of_what_is_paid_at_first():
    # Small pump 5000 less 500 of replacing it, tank 2000, fixed 7: 6507 of a budget of 12000 leave
    # 5493. Two slow beds (2000) and a wide main (130) fit; in the twin the budget is 8636.
    bought = {
        "plan": {"a1": 1, "b1": 1},
        "pump": {"small": 1},
        "sump": {"tank": 1},
        "drain": {("main", "wide"): 1},
    }
    family = "capital_is_within_the_budget"
    tight = replace(TIED, requirements=replace(TIED.requirements, budget_cents=8637))
    assert holds(family, tight, **bought)
    less = replace(TIED, requirements=replace(TIED.requirements, budget_cents=8636))
    assert not holds(family, less, **bought)
    assert holds(family, less, **bought, saved={"p75": 1})


def test_build_needs_its_size_so_a_thick_riser_needs_p25_in_use():
    thick, family = {("riser", "t4", "thick"): 1}, "build_needs_its_size"
    assert holds(family, TIED, build=thick, size_used={"p25": 1})
    assert not holds(family, TIED, build=thick, size_used={"p20": 1})


def test_drain_needs_its_size_so_a_wide_main_needs_p75_in_use():
    wide, family = {("main", "wide"): 1}, "drain_needs_its_size"
    assert holds(family, TIED, drain=wide, size_used={"p75": 1})
    assert not holds(family, TIED, drain=wide, size_used={"p50": 1})


def test_pump_needs_its_sizes_so_the_big_one_needs_those_of_its_riser_and_overflow():
    big, family = {"big": 1}, "pump_needs_its_sizes"
    assert holds(family, TIED, pump=big, size_used={"p25": 1, "p75": 1})
    assert not holds(family, TIED, pump=big, size_used={"p25": 1})
    assert holds(family, TIED, pump={"small": 1}, size_used={})


def test_few_sizes_are_laid_three_but_not_four():
    three = {"p20": 1, "p25": 1, "p50": 1}
    assert holds("few_sizes_are_laid", TIED, size_used=three)
    assert not holds("few_sizes_are_laid", TIED, size_used={**three, "p75": 1})


def test_sizes_are_not_counted_where_their_number_is_not_limited():
    free = tied(DRAINED)
    assert REGISTRY["few_sizes_are_laid"].indices(Tables(free)) == []
    assert REGISTRY["build_needs_its_size"].indices(Tables(free)) == []
    assert REGISTRY["drain_needs_its_size"].indices(Tables(free)) == []
    assert REGISTRY["pump_needs_its_sizes"].indices(Tables(free)) == []


def test_stock_saves_its_worth_of_100_cents_and_no_more():
    assert holds("stock_saves_its_worth", TIED, saved={"p25": 100})
    assert not holds("stock_saves_its_worth", TIED, saved={"p25": 101})


def test_stock_saves_what_is_laid_and_no_more():
    # A wide main has 90 cents of pipe.
    wide, family = {("main", "wide"): 1}, "stock_saves_what_is_laid"
    assert holds(family, TIED, drain=wide, saved={"p75": 90})
    assert not holds(family, TIED, drain=wide, saved={"p75": 91})
    # The big pump comes with 60 cents of it.
    assert holds(family, TIED, drain=wide, pump={"big": 1}, saved={"p75": 150})
    assert not holds(family, TIED, drain=wide, pump={"big": 1}, saved={"p75": 151})


T4 = ("riser", "t4", "thin")


def test_mixed_part_has_its_build_or_there_is_none():
    # A wider part of a thin riser asks for a thin riser; the twin has a thick one.
    family = "mixed_part_has_its_build"
    assert holds(family, MIXED, two={T4: 1}, build={T4: 1})
    assert not holds(family, MIXED, two={T4: 1}, build={("riser", "t4", "thick"): 1})


def test_wider_part_leaves_the_other_a_tenth_of_ten_metres():
    family = "wider_part_leaves_the_other"
    assert holds(family, MIXED, two={T4: 1}, wide={T4: 0.9})
    assert not holds(family, MIXED, two={T4: 1}, wide={T4: 0.91})
    assert not holds(family, MIXED, wide={T4: 0.5})  # without its reducer


def test_wider_part_is_no_stub_shorter_than_a_tenth_of_ten_metres():
    family = "wider_part_is_no_stub"
    assert holds(family, MIXED, two={T4: 1}, wide={T4: 0.1})
    assert not holds(family, MIXED, two={T4: 1}, wide={T4: 0.09})


def test_head_falls_along_a_stretch_of_two_sizes_by_share_and_reducer():
    # Thin loses 0.8 m, thick throughout would gain 0.4 m, the reducer costs 0.02 m: half and half
    # lose 0.8 - 0.2 + 0.02 = 0.62 m.
    half = {"build": {T4: 1}, "two": {T4: 1}, "wide": {T4: 0.5}}
    family = "head_falls_along_a_stretch"
    assert holds(family, MIXED, **half, head={"pump": 1.62, "tee": 1.0})
    assert not holds(family, MIXED, **half, head={"pump": 1.61, "tee": 1.0})


def test_power_cut_fits_the_water_of_a_wider_part_too():
    # Half of what comes back of 0.01 m3 + half of 0.01 m3 more is 0.0075 m3.
    half = {"build": {T4: 1}, "two": {T4: 1}, "wide": {T4: 0.5}, "sump": {"tank": 1}}
    room = [replace(k, spare_m3=spare) for spare in (0.0075, 0.0074) for k in MIXED.sumps[:1]]
    held = [holds("power_cut_fits", replace(MIXED, sumps=(k,)), **half) for k in room]
    assert held == [True, False]


def test_pipe_bears_shut_off_in_its_wider_part_too():
    # Thin bears 16 m here and thick 10 m: with 12 m at no flow no part may be thick.
    riser = replace(MIXED.stretches[0], rating_head_m={"thin": 16.0, "thick": 10.0})
    problem = replace(MIXED, stretches=(riser, *MIXED.stretches[1:]))
    assert holds("pipe_bears_shut_off", problem, build={T4: 1}, pump={"big": 1})
    mixed = {"build": {T4: 1}, "two": {T4: 1}}
    assert not holds("pipe_bears_shut_off", problem, **mixed, pump={"big": 1})


def test_zone_has_water_so_no_zone_is_left_empty():
    # The second zone must move 2 steps: bed B gives 2; the twin leaves branch B empty.
    assert holds("zone_has_water", IN_TURN, plan={"a1": 1, "b1": 1})
    assert not holds("zone_has_water", IN_TURN, plan={"a1": 1, "b0": 1})


def test_shared_flow_reaches_every_zone_two_steps_to_either_and_not_to_both_at_once():
    # Each zone asks 2 steps in its turn, so 2 are enough; the fast bed alone asks 4.
    family, both = "shared_flow_reaches_every_zone", {"a1": 1, "b1": 1}
    assert holds(family, IN_TURN, plan=both, carries={("riser", "t2"): 1})
    fast = {"a1": 1, "b2": 1}
    assert not holds(family, IN_TURN, plan=fast, carries={("riser", "t2"): 1})


def test_one_zone_is_the_greatest_and_no_two():
    assert holds("one_zone_is_the_greatest", IN_TURN, greatest={"first": 1})
    assert not holds("one_zone_is_the_greatest", IN_TURN, greatest={"first": 1, "second": 1})


def test_pump_is_counted_at_the_greatest_zone_and_at_no_more():
    # The second zone asks 2 and is named the greatest: the riser carries 2, not 4.
    family, named = "pump_is_counted_at_the_greatest_zone", {"second": 1}
    both = {"a1": 1, "b1": 1}
    assert holds(family, IN_TURN, plan=both, greatest=named, carries={("riser", "t2"): 1})
    assert not holds(family, IN_TURN, plan=both, greatest=named, carries={("riser", "t4"): 1})


def test_valve_can_throttle_at_no_flow_or_the_pump_is_too_strong():
    # Drop B takes up 1.2 + 0.1 + 6.0 = 7.3 m. The small pump gives 3.0 m at no flow, with the sump
    # at 0.35 m; the big one 12.0 m.
    family, built = "valve_can_throttle_at_no_flow", {("drop_b", "u2", "thin"): 1}
    assert holds(family, IN_TURN, build=built, pump={"small": 1}, band={"low": 1})
    assert not holds(family, IN_TURN, build=built, pump={"big": 1}, band={"high": 1})
