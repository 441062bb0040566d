"""What is done to a plant during a day, and what its beds make of it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optimizer.errors import BadInput
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.run import run_plant, simulate_day
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.segment import Event
from tests.builders.make_design import make_design
from tests.simulate.day.run_oracle import greatest_difference_s, run_events
from tests.tolerances import EXACT, FORMULA

EVENT_S = 0.01
"""Greatest error of an event's time, as issue 3 asks."""

FIRST = "bed_1_1"
STOP = ((3000.0, 5000.0),)
CHANGES = {
    "the pump stops and starts again": {"pump_off": STOP},
    "a valve is shut": {"valve_shut": ((FIRST, 2000.0),)},
    "a valve is opened late": {"valve_open": ((FIRST, 2000.0),)},
    "a medium clogs": {"porosity_change": ((FIRST, 2000.0, 0.7),)},
    "everything at once": {
        "pump_off": STOP,
        "valve_open": (("bed_1_2", 900.0),),
        "porosity_change": ((FIRST, 2000.0, 0.7),),
        "loss_m3_per_day": 0.03,
    },
}


@cache
def four_beds():
    return plant_of(make_design())


def spoiled(**changes):
    """Four beds, the siphons of the first kind changed, inflows as they were."""
    plant = four_beds()
    kind = plant.design.kinds[0]
    siphon = replace(kind.siphon, **changes)
    kinds = (replace(kind, siphon=siphon), *plant.design.kinds[1:])
    return plant_of(replace(plant.design, kinds=kinds))


@pytest.mark.parametrize("feedback", [True, False])
@pytest.mark.parametrize("change", CHANGES)
def test_fast_engines_and_the_march_agree_when(change, feedback):
    scenario = Scenario(hours=2.5, seed=4, **CHANGES[change])
    fast = run_plant(four_beds(), scenario, feedback)
    slow = run_plant(four_beds(), scenario, feedback, engine="march")
    assert set(fast.methods) != set(slow.methods)
    assert greatest_difference_s(run_events(fast), run_events(slow)) <= EVENT_S
    assert np.max(np.abs(fast.sump_m - slow.sump_m)) <= 1e-5  # a hundredth of a millimetre


def test_no_siphon_primes_while_the_pump_stands():
    # Without inflow no level rises, so none comes to the prime level.
    run = run_plant(four_beds(), Scenario(hours=2.5, seed=4, pump_off=STOP))
    times, _ = run.times_of(Event.PRIMES)
    (begin, end) = STOP[0]
    assert not np.any((times > begin) & (times < end))


def test_a_pump_that_stands_uses_no_energy():
    # 2 h of 4 h standing: the energy of the 2 h that it ran, each at much the same watts.
    whole = run_plant(four_beds(), Scenario(hours=4.0, seed=4))
    half = run_plant(four_beds(), Scenario(hours=4.0, seed=4, pump_off=((3600.0, 10800.0),)))
    watts_apart = 0.01
    assert half.energy_kwh == pytest.approx(whole.energy_kwh / 2.0, rel=watts_apart)


def test_a_bed_whose_valve_is_shut_floods_no_more_and_the_others_get_more():
    scenario = Scenario(hours=6.0, seed=4, valve_shut=((FIRST, 2000.0),))
    run = run_plant(four_beds(), scenario)
    times, beds = run.times_of(Event.PRIMES)
    assert not np.any((beds == 0) & (times > 2000.0))
    shut = four_beds().table(frozenset({FIRST})).inflows_m3_s(0.4)
    opened = four_beds().table().inflows_m3_s(0.4)
    assert shut[0] == EXACT
    assert np.all(shut[1:] > opened[1:])


def test_a_clogged_bed_floods_more_often():
    # Half the porosity is half the water of a flood: the closed-form cycle is half as long.
    plant, inflow = four_beds(), four_beds().setting_inflows_m3_s()[0]
    scenario = Scenario(hours=24.0, start="drained", porosity_change=((FIRST, 1.0, 0.5),))
    run = run_plant(plant, scenario, feedback=False)
    siphon = plant.siphons[0]
    expected = replace(siphon, porosity=siphon.porosity / 2.0).floods_per_hour(inflow)
    assert run.floods_per_hour()[0] == pytest.approx(expected, rel=FORMULA)
    assert expected == pytest.approx(2.0 * siphon.floods_per_hour(inflow), rel=FORMULA)


def test_a_clogging_bed_keeps_its_water_and_its_level_jumps():
    # The same water in 0.8 of the room stands 1 / 0.8 as high above the slots.
    plant, clogs_s = four_beds(), 3600.0
    scenario = Scenario(
        hours=2.0, seed=4, pump_off=((3000.0, 7200.0),), porosity_change=((FIRST, clogs_s, 0.8),)
    )
    levels = run_plant(plant, scenario).levels_frame()
    mine = levels[levels["subject"] == FIRST].set_index("time_s")["level_m"]
    slots_m = plant.siphons[0].drain_level_m
    before, after = mine[clogs_s - 60.0] - slots_m, mine[clogs_s] - slots_m
    assert before > 0.0  # the pump stands, so nothing else moves it
    assert after == pytest.approx(before / 0.8, rel=FORMULA)


def test_beds_still_dry_hold_no_water_rather_than_less_than_none():
    # From dry the beds lack what stays below their slots; once wet, held water is the sum of all.
    run = run_plant(four_beds(), Scenario(hours=2.0, start="dry"))
    assert run.volumes_m3[0].sum() < 0.0
    assert run.held_m3()[0] == EXACT
    wet = np.all(run.volumes_m3 >= 0.0, axis=1)
    assert wet.any()
    assert run.held_m3()[wet] == pytest.approx(run.volumes_m3[wet].sum(axis=1), rel=FORMULA)


def test_a_bed_that_is_not_there_is_answered_with_the_name_most_like_it():
    with pytest.raises(BadInput, match="Did you mean 'bed_1_1'"):
        simulate_day(make_design(), Scenario(valve_shut=(("BED_1_1", 10.0),)))


def test_a_bed_stalls_when_its_inflow_is_below_the_start_flow():
    # 12 L/min against a start flow of 0.9 / 0.3 times 5.13 L/min = 15.4 L/min: it trickles over.
    plant = spoiled(start_froude=0.9)
    run = run_plant(plant, Scenario(hours=6.0, start="drained"))
    assert run.missed_starts == 2
    assert run.counts(Event.PRIMES)[:2].tolist() == [0, 0]
    inflow = plant.table().inflows_m3_s(float(run.sump_m[-1]))
    assert plant.beds.rim_m3_s(run.volumes_m3[-1])[:2] == pytest.approx(inflow[:2], rel=1e-2)
    # to a hundredth: the head over a stalled rim is held once settled (engines.STEADY_SHARE)
    assert np.all(run.counts(Event.BREAKS)[2:] > 0)


def test_a_siphon_never_breaks_when_its_inflow_is_above_the_stop_flow():
    # 12 L/min against a stop flow of 0.3 times 28.1 L/min = 8.4 L/min: it stays at the slots.
    run = run_plant(spoiled(stop_ratio=0.3), Scenario(hours=6.0, start="drained"))
    assert run.missed_stops == 2
    assert run.counts(Event.PRIMES)[:2].tolist() == [1, 1]
    assert run.counts(Event.BREAKS)[:2].tolist() == [0, 0]
    assert np.max(np.abs(run.volumes_m3[-1, :2])) == EXACT


def test_a_siphon_too_small_for_its_inflow_stays_where_discharge_equals_inflow():
    # K of 60 carries sqrt(5/60) of 28.1 L/min = 8.1 L/min at the slots; 12 L/min stand higher.
    plant = spoiled(loss_coefficient=60.0)
    run = run_plant(plant, Scenario(hours=3.0, start="drained"))
    assert run.missed_stops == 2
    inflow = plant.table().inflows_m3_s(float(run.sump_m[-1]))
    settling = 1e-2  # it follows the inflow with a lag of minutes
    discharge = plant.beds.siphon_m3_s(run.volumes_m3[-1])
    assert discharge[:2] == pytest.approx(inflow[:2], rel=settling)


def test_a_held_siphon_breaks_when_the_pump_stops():
    plant = spoiled(stop_ratio=0.3)
    run = run_plant(plant, Scenario(hours=2.0, start="drained", pump_off=((5000.0, 7200.0),)))
    times, beds = run.times_of(Event.BREAKS)
    assert times[beds == 0].tolist() == [5000.0]


def test_frames_hold_one_row_an_event_a_level_and_a_bed_hour():
    run = simulate_day(make_design(), Scenario(hours=3.0, seed=1, trace_step_s=120.0))
    events, levels, floods = run.events_frame(), run.levels_frame(), run.floods_frame()
    assert len(events) == run.time_s.size
    assert events["time_s"].is_monotonic_increasing
    assert set(events["event"]) == {"fills", "primes", "breaks"}
    assert len(levels) == 90 * 5
    assert floods["floods"].sum() == run.counts(Event.BREAKS).sum()
    sump = levels.loc[levels["subject"] == "sump", "level_m"]
    assert run.sump_lowest_m <= sump.min() <= sump.max() <= run.sump_highest_m


def test_impossible_scenarios_are_refused_all_at_once():
    scenario = Scenario(
        hours=0.0,
        start="sideways",
        pump_off=((100.0, 50.0),),
        valve_shut=(("nowhere", 10.0),),
        porosity_change=((FIRST, 10.0, 9.0),),
    )
    with pytest.raises(BadInput) as raised:
        simulate_day(make_design(), scenario)
    text = str(raised.value)
    for words in ("hours", "sideways", "100.0 to 50.0", "nowhere", "factor of 9.0"):
        assert words in text


def small_sump(share):
    """Four beds over a sump of a share of its area, its lowest level as it was."""
    design = make_design()
    sump, rise = design.sump, (design.sump.highest_m - design.sump.lowest_m) / share
    area, pipes = sump.area_m2 * share, sump.fill_m3 - sump.highest_m * sump.area_m2
    high = sump.lowest_m + rise
    fill = high * area + pipes
    small = replace(sump, area_m2=area, highest_m=high, fill_m3=fill, depth_m=2.0)
    return plant_of(replace(design, sump=small))


def test_event_times_hold_where_a_small_sump_couples_the_beds_closely():
    # A third of the area: inflows drift by 13 % over the sump's range, not by 4 %.
    plant, scenario = small_sump(1.0 / 3.0), Scenario(hours=2.5, start="dry")
    least, most = plant.table().range_m3_s
    assert np.max(most / least) > 1.1
    fast, slow = run_plant(plant, scenario), run_plant(plant, scenario, engine="march")
    assert fast.methods == ("relax",)
    assert greatest_difference_s(run_events(fast), run_events(slow)) <= EVENT_S


def test_a_sump_so_small_that_sweeps_swing_apart_is_still_run():
    # An eighth of the area, all beds firing together: over windows of 4 h each sweep overshoots the
    # last until no level fits. The windows must be halved, and the events be those of the march.
    plant, scenario = small_sump(1.0 / 8.0), Scenario(hours=4.5, start="drained")
    fast = run_plant(plant, scenario)
    assert fast.methods == ("relax",)
    early = Scenario(hours=1.0, start="drained")
    slow = run_events(run_plant(plant, early, engine="march"))
    mine = [event for event in run_events(fast) if event[2] <= early.end_s]
    assert greatest_difference_s(mine, slow) <= EVENT_S


def test_when_every_valve_is_shut_nothing_moves():
    plant = four_beds()
    shut = tuple((bed.id, 0.0) for bed in plant.design.beds)
    run = run_plant(plant, Scenario(hours=24.0, start="drained", valve_shut=shut))
    assert run.methods == ("still",)
    assert run.time_s.size == 0
    assert run.sump_lowest_m == run.sump_highest_m
