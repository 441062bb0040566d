"""Rows of pump, sump and return pipe: a hand argument for each, and a twin that breaks it."""

from dataclasses import replace

from optimizer.milp.family import REGISTRY
from optimizer.milp.tables import Tables
from tests.milp.hold_rows import holds
from tests.milp.small_problem import (
    DRAINED,
    NARROW,
    PROBLEM,
    TIED,
    small_problem,
)


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
