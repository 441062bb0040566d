"""Pumps, level bands and sumps as tables, by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.formulate.build import formulate, lowest_siphon_outlet_m, total_flows
from optimizer.formulate.held import held_share
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.level_of_choice import with_level_of_choice
from optimizer.formulate.loads import Load
from optimizer.formulate.pump_tables import allowed_pumps, pump_tables
from optimizer.formulate.sump_tables import SWINGS_M, fitting_pumps, level_bands, sump_options
from optimizer.formulate.tank_rivals import Offer, unbeaten
from optimizer.physics.pump import PumpCurve
from optimizer.records.noise import NoiseLimit
from optimizer.records.problem import Duty, LevelBand, PumpDuty, PumpOption
from optimizer.records.site import FishTank, Standing
from tests.builders.make_design import make_design
from tests.builders.random_site import shipped_catalog
from tests.formulate.two_rows import BUY, GOALS, SITE, made
from tests.tolerances import FORMULA

BAND = LevelBand("swing 0.30 m", 0.05, 0.35)
FLOWS = (60, 120, 240)
LOWEST_M = 1.3
CATALOG = shipped_catalog()


def tables(site=SITE, flows=FLOWS):
    return pump_tables(site, allowed_pumps(site, CATALOG), [BAND], flows, LOWEST_M)


def test_a_duty_is_the_pumps_own_head_and_watts_over_the_middle_of_the_band():
    # Head over the sump's floor: the curve's at flow / count, plus 0.20 m of water. Energy: watts
    # x 8760 h x 0.30 a kWh x the present worth of 10 years at 5 %, (1 - 1.05^-10) / 0.05.
    pump = CATALOG.pumps["pump_100w_high"]
    years = (1.0 - 1.05**-10) / 0.05
    duties = tables().duties
    assert {d.pump for d in duties} == {"1 x pump_100w_high", "2 x pump_100w_high"}
    for duty in duties:
        count = int(duty.pump[0])
        curve = PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts)
        each = duty.flow_steps * FLOW_STEP_M3_S / count
        assert duty.head_m == pytest.approx(float(curve.head_m(each)) + 0.20, rel=FORMULA)
        watts = count * float(curve.watts_at(each))
        assert duty.running_cents == round(100.0 * watts * 8.76 * 0.30 * years)


def test_flows_beyond_the_curve_or_with_no_head_over_the_lift_have_no_duty():
    pump = CATALOG.pumps["pump_100w_high"]
    beyond = math.ceil(pump.flows_m3_s[-1] / FLOW_STEP_M3_S) + 1
    assert {d.pump for d in tables(flows=(60, beyond)).duties if d.flow_steps == beyond} <= {
        "2 x pump_100w_high"
    }
    high = pump_tables(SITE, [pump], [BAND], FLOWS, pump.heads_m[0] + 0.3)
    assert high.options == high.duties == ()


def test_pumps_are_bought_with_their_spare_less_those_standing_and_replaced_as_they_wear():
    # A 100 W pump lasts L years: bought again at L, 2 L ... before year 10, discounted at 5 %.
    pump = CATALOG.pumps["pump_100w_high"]
    dues = [pump.life_years * k for k in range(1, 100) if pump.life_years * k < 10.0]
    later = sum(pump.price * 1.05**-year for year in dues)
    for spare, standing in ((False, 0), (True, 0), (False, 1), (True, 3)):
        site = replace(
            SITE,
            purchase=replace(BUY, spare_pump=spare),
            standing=Standing(pump="pump_100w_high" if standing else None, pump_count=standing),
        )
        for option in tables(site).options:
            bought = max(0, option.count + spare - standing)
            expected = round(100 * bought * pump.price) + round(100 * option.count * later)
            assert option.cost_cents == expected


def test_a_standing_pump_may_be_used_even_where_it_is_not_for_sale():
    site = replace(SITE, standing=Standing(pump="pump_065w_mid", pump_count=1))
    assert [p.id for p in allowed_pumps(site, CATALOG)] == ["pump_065w_mid", "pump_100w_high"]


@pytest.mark.parametrize(
    ("price", "head", "watts", "kept"),
    [
        (10.0, 1.0, 1.0, False),
        (10.0, 1.0, 1.1, False),
        (10.0, 0.9, 1.0, True),
        (-10.0, 1.0, 1.0, True),
        (10.0, 1.1, 1.0, True),
        (10.0, 1.0, 0.9, True),
    ],
)
def test_a_pump_is_left_out_only_where_another_is_no_worse_in_anything(price, head, watts, kept):
    # A copy of a pump, dearer or cheaper by 10, its heads and watts scaled. Dearer and no better in
    # anything it is left out; cheaper, stronger or thriftier it stays, and also with a lower head
    # at shut-off, which weaker pipe may bear.
    pump = CATALOG.pumps["pump_100w_high"]
    copy = replace(
        pump,
        id="copy",
        price=pump.price + price,
        heads_m=tuple(head * h for h in pump.heads_m),
        watts=tuple(watts * w for w in pump.watts),
    )
    catalog = replace(CATALOG, pumps={pump.id: pump, "copy": copy})
    site = replace(SITE, purchase=replace(BUY, pumps=(), pumps_in_parallel_most=1))
    pumps = allowed_pumps(site, catalog)
    found = {o.pump for o in pump_tables(site, pumps, [BAND], FLOWS, LOWEST_M).options}
    assert ("copy" in found) is kept


def test_pumps_side_by_side_are_loud_where_one_is_not_and_so_is_one_of_no_told_level():
    # One pump of 40 dB is quiet at a limit of 42 dB; two are 43 dB and loud for the 16 h they run.
    goals = replace(GOALS, pump_hours_per_day=16.0)
    site = replace(SITE, goals=goals, noise=NoiseLimit(42.0, 8.0))
    pump = CATALOG.pumps["pump_100w_high"]
    for noise_db, loud in ((40.0, {1: 0.0, 2: 16.0}), (None, {1: 16.0, 2: 16.0})):
        pumps = [replace(pump, noise_db=noise_db)]
        options = pump_tables(site, pumps, [BAND], FLOWS, LOWEST_M).options
        assert {o.count: o.loud_hours for o in options} == loud


@pytest.mark.parametrize(("noise_db", "kept"), [(30.0, True), (50.0, False)])
def test_a_dearer_pump_that_is_quieter_stays_where_noise_is_limited(noise_db, kept):
    # The first is loud at 35 dB; a copy, dearer and like it in all else, is quiet or as loud.
    pump = CATALOG.pumps["pump_100w_high"]
    dearer = replace(pump, id="dearer", price=pump.price + 10.0, noise_db=noise_db)
    buy = replace(BUY, pumps=(), pumps_in_parallel_most=1)
    for noise, found in ((NoiseLimit(35.0, 8.0), kept), (None, False)):
        site = replace(SITE, purchase=buy, noise=noise)
        options = pump_tables(site, [pump, dearer], [BAND], FLOWS, LOWEST_M).options
        assert ("dearer" in {o.pump for o in options}) is found


@pytest.mark.parametrize(("loud", "kept"), [((16.0, 0.0), 2), ((0.0, 16.0), 1), ((16.0, 16.0), 1)])
def test_a_pump_that_fills_a_tank_is_beaten_by_no_louder_one(loud, kept):
    # The second costs 1 cent more and is like the first in all but how long it is loud.
    duty = PumpDuty("p", "low", 60, 2.0, 100, 0.0)
    offers = [
        Offer(PumpOption(f"p{n}", "p", 1, 5000 + n, 3.0, loud_hours=hours), (duty,))
        for n, hours in enumerate(loud)
    ]
    assert len(unbeaten(offers, SITE)) == kept


TO_THE_CENTIMETRE = [(0.08, 0.24, 0.01), (0.14, 0.29, 0.0)]


def test_bands_begin_where_every_allowed_pump_is_under_water_and_fit_some_sump():
    pumps = [replace(CATALOG.pumps["pump_100w_high"], submergence_m=s) for s in (0.05, 0.12)]
    sump = replace(CATALOG.sumps["sump_1000"], depth_m=0.70, freeboard_m=0.08)
    bands = level_bands(pumps, [sump])
    # 0.70 - 0.08 - 0.12 = 0.50 m of room: swings of 0.15, 0.30 and 0.45 m.
    assert [(b.low_m, round(b.high_m, 9)) for b in bands] == [
        (0.12, 0.27),
        (0.12, 0.42),
        (0.12, 0.57),
    ]
    assert all(swing in SWINGS_M for swing in (0.15, 0.30, 0.45))


def test_a_pump_too_tall_for_every_sump_does_not_raise_the_bands_of_the_others():
    # 0.62 m of water at most: a pump that wants 0.50 m leaves 0.12 m, less than the least swing.
    low, tall = (replace(CATALOG.pumps["pump_100w_high"], submergence_m=s) for s in (0.05, 0.50))
    sump = replace(CATALOG.sumps["sump_1000"], depth_m=0.70, freeboard_m=0.08)
    assert fitting_pumps([low, tall], [sump]) == [low]
    assert level_bands([low, tall], [sump]) == level_bands([low], [sump])
    assert level_bands([low], [sump])[0].low_m == 0.05


def test_a_pump_too_tall_under_the_lowest_siphon_outlet_does_not_raise_the_bands_of_the_others():
    # The tank holds 0.62 m, but no more than 0.40 m stay below the outlet: 0.40 - 0.30 is less than
    # the least swing of 0.15 m, and only 0.05 + 0.15 and 0.05 + 0.30 m lie below 0.40 m.
    low, tall = (replace(CATALOG.pumps["pump_100w_high"], submergence_m=s) for s in (0.05, 0.30))
    sump = replace(CATALOG.sumps["sump_1000"], depth_m=0.70, freeboard_m=0.08)
    assert fitting_pumps([low, tall], [sump]) == [low, tall]
    assert fitting_pumps([low, tall], [sump], 0.40) == [low]
    bands = level_bands([low, tall], [sump], lowest_siphon_outlet_m=0.40)
    assert [(b.low_m, round(b.high_m, 9)) for b in bands] == [(0.05, 0.20), (0.05, 0.35)]


def test_no_sump_holds_water_above_the_lowest_siphon_outlet():
    # Water up to 0.35 m; a siphon outlet at 0.40 m leaves 0.05 m of spare, one at 0.34 m none.
    site = replace(SITE, purchase=replace(BUY, sumps=("sump_1000",), sumps_most=2))
    found = sump_options(site, CATALOG, [BAND], 0.40)
    assert [o.count for o in found] == [1, 2]
    for option in found:
        assert option.working_m3 == pytest.approx(option.count * 1.0 * 0.30, rel=FORMULA)
        assert option.spare_m3 == pytest.approx(option.count * 1.0 * 0.05, rel=FORMULA)
    assert sump_options(site, CATALOG, [BAND], 0.34) == ()


def test_a_sump_is_filled_to_its_freeboard_where_siphons_let_out_higher():
    # 1 m deep with 0.08 m kept dry: spare from 0.35 m to 0.92 m.
    site = replace(SITE, purchase=replace(BUY, sumps=("sump_1000",), sumps_most=1))
    (option,) = sump_options(site, CATALOG, [BAND], 5.0)
    assert option.spare_m3 == pytest.approx(0.92 - 0.35, rel=FORMULA)


def test_standing_sumps_cost_nothing_more():
    price = round(100 * CATALOG.sumps["sump_1000"].price)
    site = replace(
        SITE,
        purchase=replace(BUY, sumps=("sump_1000",), sumps_most=3),
        standing=Standing(sump="sump_1000", sump_count=2),
    )
    costs = {o.count: o.cost_cents for o in sump_options(site, CATALOG, [BAND], 5.0)}
    # Two are there: the first costs no more than both, so it is left out for them.
    assert costs == {2: 0, 3: price}


def test_the_lowest_siphon_outlet_is_under_the_lowest_bed():
    # Trays on 0.2 m blocks let out 0.15 m under their floor, 0.9 m over the sump's floor: 0.95 m.
    found = made()
    assert lowest_siphon_outlet_m(SITE, found.formulation.candidates) == pytest.approx(
        0.2 - 0.15 + 0.9, rel=FORMULA
    )


def test_energy_counts_the_hours_the_pump_runs():
    day, half = (
        tables(replace(SITE, goals=replace(GOALS, pump_hours_per_day=hours))) for hours in (24, 12)
    )
    for full, part in zip(day.duties, half.duties, strict=True):
        assert abs(full.running_cents - 2 * part.running_cents) <= 1


def test_of_all_water_the_worst_rule_counts_the_whole_and_a_quantile_a_share_that_rises():
    design = make_design()
    shares = [
        held_share(replace(design, promise=replace(design.promise, held=held, confidence=sure)))
        for held, sure in (("worst", 0.9), ("quantile", 0.9), ("quantile", 0.999))
    ]
    assert shares[0] == 1.0
    assert 0.0 < shares[1] <= shares[2] <= 1.0
    assert shares[1] < 1.0


@pytest.mark.parametrize(("submergence_m", "depth_m", "freeboard_m"), TO_THE_CENTIMETRE)
def test_a_sump_that_holds_just_the_pump_and_the_least_swing_is_one_to_choose(
    submergence_m, depth_m, freeboard_m
):
    # 0.08 + 0.15 = 0.24 - 0.01 and 0.14 + 0.15 = 0.29: to the centimetre, but not in binary.
    pump = replace(CATALOG.pumps["pump_100w_high"], submergence_m=submergence_m)
    sump = replace(CATALOG.sumps["sump_1000"], depth_m=depth_m, freeboard_m=freeboard_m)
    catalog = replace(CATALOG, sumps={sump.id: sump})
    site = replace(SITE, purchase=replace(BUY, sumps=(sump.id,), sumps_most=1))
    assert fitting_pumps([pump], [sump]) == [pump]
    (band,) = level_bands([pump], [sump])
    (option,) = sump_options(site, catalog, [band], 5.0)
    assert option.spare_m3 == pytest.approx(0.0, abs=FORMULA)
    # The twin: 1 mm less water, and there is no room.
    low = replace(sump, depth_m=depth_m - 0.001)
    assert fitting_pumps([pump], [low]) == []
    assert level_bands([pump], [low]) == level_bands([], [low])


def test_the_level_kept_while_pumps_are_narrowed_is_that_of_pumps_that_fit():
    # Outlets 0.28 m over the sump's floor: a pump that wants 0.15 m of water and 0.15 m to move in
    # does not fit. The other alone then runs in the bands that it has beside that one.
    ground = replace(SITE.ground, sump_floor_level_m=-0.23)
    both = replace(BUY, pumps=("pump_065w_high", "pump_1100w_high"))
    site = replace(SITE, ground=ground, purchase=both)
    level = with_level_of_choice(site, CATALOG)
    alone = replace(level, purchase=replace(level.purchase, pumps=("pump_065w_high",)))
    wide, narrow = (
        formulate(each, CATALOG, candidate_network(each)).problem.bands for each in (site, alone)
    )
    assert narrow == wide
    assert [band.low_m for band in wide] == [CATALOG.pumps["pump_065w_high"].submergence_m]


def test_a_flow_that_turns_the_fish_tank_over_just_often_enough_is_enough():
    # 90 L three times an hour is 4.5 L/min: 45 steps of 0.1 L/min, and 44 are too few.
    tank = FishTank(0.09, 0.0, 3.0, 0.0, "leafy")
    loads = tuple(Load(Duty(str(n), n), 1.0, last=False) for n in (44, 45, 46))
    assert total_flows(replace(SITE, fish_tank=tank), loads) == [45, 46]


def test_turnovers_and_a_tank_that_are_told_to_do_are_the_most_that_do():
    # 4.5 L/min turn 90 L over 3 times an hour, and 54 L 5 times.
    tank = FishTank(0.09, 0.0, 5.0, 0.0, "leafy")
    loads = (Load(Duty("45", 45), 1.0, last=False),)
    with pytest.raises(Infeasible) as told:
        total_flows(replace(SITE, fish_tank=tank), loads)
    fewer, smaller, _ = (remedy.change for remedy in told.value.remedies)
    assert fewer == "ask for at most 3 per hour."
    assert smaller == "a tank of at most 54 L."
    for enough in (replace(tank, turnovers_per_hour_least=3.0), replace(tank, volume_m3=0.054)):
        assert total_flows(replace(SITE, fish_tank=enough), loads) == [45]
