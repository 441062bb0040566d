"""Rows of what a site may add: budget, few sizes, stock, two sizes, zones in turn, other counts."""

from dataclasses import replace

from optimizer.milp.family import REGISTRY
from optimizer.milp.tables import Tables
from tests.milp.hold_rows import holds
from tests.milp.small_problem import (
    COUNTED,
    DRAINED,
    EVERYTHING,
    IN_TURN,
    MIXED,
    PROBLEM,
    TIED,
    tied,
)


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


def test_drain_carries_what_is_counted_where_it_is_sized_by_that_count():
    # Two slow beds count, and the narrow main serves two. One that serves one may not be sized
    # so; sized by the plain sum of bursts it need not hold that count.
    family, counted = "drain_carries_what_is_counted", {("main", 0): 1}
    chosen = {"plan": {"a1": 1, "b1": 1}, "drain": {("main", "narrow"): 1}}
    assert holds(family, COUNTED, **chosen, counted=counted)
    main, *others = COUNTED.drains
    narrow = replace(main.builds[0], credited_beds=(1,))
    less = replace(COUNTED, drains=(replace(main, builds=(narrow,)), *others))
    assert not holds(family, less, **chosen, counted=counted)
    assert holds(family, less, **chosen)


def test_drain_carries_its_bursts_unless_it_is_sized_by_another_count():
    # Two slow beds burst 0.8 L/s each; the narrow main carries 1.0 L/s.
    family = "drain_carries_its_bursts"
    own = {("from_a", "narrow"): 1, ("from_b", "narrow"): 1}
    chosen = {"plan": {"a1": 1, "b1": 1}, "drain": {**own, ("main", "narrow"): 1}}
    assert holds(family, COUNTED, **chosen, counted={("main", 0): 1})
    assert not holds(family, COUNTED, **chosen)


def test_beds_are_counted_only_where_the_count_covers_them():
    # The count covers slow beds; b2 builds a fast one.
    counted = {("main", 0): 1}
    assert holds("beds_are_counted", COUNTED, plan={"a1": 1, "b1": 1}, counted=counted)
    assert not holds("beds_are_counted", COUNTED, plan={"a1": 1, "b2": 1}, counted=counted)
    assert holds("beds_are_counted", COUNTED, plan={"a1": 1, "b2": 1})


def test_something_stays_that_was_changed_so_not_everything_is_changed_again():
    # The earlier answer changed siphons, riser, main, pump and sump; any one of them may stay.
    family = "something_stays_that_was_changed"
    assert holds(family, EVERYTHING, plan={"b1": 1})
    assert holds(family, EVERYTHING, build={("riser", "t4", "thin"): 1})
    assert holds(family, EVERYTHING, drain={("main", "narrow"): 1})
    assert holds(family, EVERYTHING, pump={"small": 1})
    assert holds(family, EVERYTHING, sump={"tank": 1})
    assert not holds(
        family,
        EVERYTHING,
        plan={"b2": 1},
        build={("riser", "t4", "thick"): 1},
        drain={("main", "wide"): 1},
        pump={"big": 1},
        sump={"pair": 1},
    )


def test_something_stays_that_was_changed_is_never_so_where_nothing_can_stay():
    # An earlier answer changed nothing, or only what cannot stay: no answer is unlike it.
    nothing = replace(PROBLEM.requirements, unlike=((),))
    assert not holds(
        "something_stays_that_was_changed", replace(PROBLEM, requirements=nothing), pump={"big": 1}
    )
