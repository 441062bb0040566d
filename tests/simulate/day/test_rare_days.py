"""Days out of the ordinary: what is refused, what runs dry or clogs, and days without a flood."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.day_gather import collector_of
from optimizer.errors import BadInput
from optimizer.simulate.day import march, relax
from optimizer.simulate.day.drainings import share_above
from optimizer.simulate.day.first_start import first_start
from optimizer.simulate.day.in_step import phases
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.power_cut import power_cut
from optimizer.simulate.day.run import run_plant, simulate_day
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.segment import Event
from optimizer.simulate.day.staggered import staggered_start
from tests.builders.make_design import make_design, make_design_of
from tests.report.make_returns import without_returns
from tests.simulate.day.run_oracle import greatest_difference_s, run_events
from tests.simulate.day.test_scenarios import EVENT_S, FIRST, four_beds, spoiled

FOUR = (0.0, 0.3, 0.5, 0.9)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"coefficients": "mean"}, "'mean'.*nominal or random"),
        ({"loss_m3_per_day": -1.0}, "cannot be lost at that rate"),
        ({"start": (0.1, 0.2)}, "2 phases for 4 beds"),
        ({"start": (*FOUR[:3], 1.0)}, "outside 0 to 1"),
        ({"valve_shut": ((FIRST, -5.0),)}, "-5.0 s is no time"),
    ],
)
def test_a_scenario_that_cannot_be_is_refused_in_a_sentence(fields, said):
    with pytest.raises(BadInput, match=said):
        simulate_day(make_design(), Scenario(hours=0.1, **fields))


def test_beds_begin_at_the_phases_they_are_given():
    # Phase 0 is just after a break: the bed holds nothing above its slots. The others hold more.
    run = simulate_day(make_design(), Scenario(hours=0.1, start=FOUR))
    assert run.volumes_m3[0, 0] == pytest.approx(0.0, abs=1e-12)
    assert np.all(run.volumes_m3[0, 1:] > 0.0)


def test_a_design_whose_parts_do_not_belong_together_is_not_run():
    design = make_design()
    lost = replace(design.beds[0], kind="no such kind")
    with pytest.raises(BadInput, match="no such kind"):
        simulate_day(replace(design, beds=(lost, *design.beds[1:])), Scenario(hours=0.1))


def test_random_coefficients_lie_in_their_bands_and_are_one_draw_for_a_kind():
    design = make_design()
    run = simulate_day(design, Scenario(hours=0.1, coefficients="random", seed=5))
    kinds = {kind.id: kind for kind in design.kinds}
    for bed, siphon in zip(design.beds, run.plant.siphons, strict=True):
        band = kinds[bed.kind].stop_ratio
        assert band.low <= siphon.stop_ratio <= band.high
        assert siphon.stop_ratio != band.nominal
    assert len(set(run.plant.siphons)) == len(design.kinds)


def test_an_engine_that_is_not_there_is_refused_by_name():
    with pytest.raises(ValueError, match="'fastest'"):
        run_plant(four_beds(), Scenario(hours=0.1), engine="fastest")


def both_engines(plant, scenario, feedback=True):
    """The same run by the fast engines and by the march."""
    fast = run_plant(plant, scenario, feedback)
    return fast, run_plant(plant, scenario, feedback, engine="march")


def test_events_hold_while_the_sump_runs_lower_than_any_table_of_inflows_reaches():
    # 20 m3 a day leave 0.8 m3 in an hour, more than the four beds' floods could ever take.
    scenario = Scenario(hours=1.0, seed=4, loss_m3_per_day=20.0)
    fast, slow = both_engines(four_beds(), scenario)
    assert fast.sump_m[-1] < four_beds().table().levels_m[0]
    assert fast.methods == ("relax and march",)
    assert greatest_difference_s(run_events(fast), run_events(slow)) <= EVENT_S


def test_a_bed_that_clogs_while_it_drains_gives_back_its_water_at_inflows_held_too():
    # Half the room just after priming: it holds more than it now primes at, and goes on draining.
    first = run_plant(four_beds(), Scenario(hours=0.6, start="drained"), feedback=False)
    primed_s = min(
        time for bed, code, time in run_events(first) if (bed, code) == (0, Event.PRIMES)
    )
    clogs = ((FIRST, primed_s + 5.0, 0.5),)
    scenario = Scenario(hours=1.0, start="drained", porosity_change=clogs)
    fast, slow = both_engines(four_beds(), scenario, feedback=False)
    assert any("relax" in method for method in fast.methods)
    assert greatest_difference_s(run_events(fast), run_events(slow)) <= EVENT_S


def test_a_bed_held_at_its_slots_rises_again_when_it_is_given_more_than_they_carry():
    # K of 20 carries 14.0 L/min at the slots: more than the bed's 12, less than what it gets once
    # the other three valves are shut. Then its water rises until discharge is inflow again.
    plant, shut_s = spoiled(loss_coefficient=20.0, stop_ratio=0.3), 7200.0
    others = tuple((bed.id, shut_s) for bed in plant.design.beds[1:])
    run = run_plant(plant, Scenario(hours=3.0, start=(0.9,) * 4, valve_shut=others))
    mine = run.levels_frame().query(f"subject == '{FIRST}'").set_index("time_s")["level_m"]
    slots_m = plant.siphons[0].drain_level_m
    assert mine[shut_s - 60.0] == pytest.approx(slots_m, abs=1e-9)
    assert mine.iloc[-1] > slots_m
    alone = frozenset(bed.id for bed in plant.design.beds[1:])
    inflow = plant.table(alone).inflows_m3_s(float(run.sump_m[-1]))[0]
    assert inflow > plant.beds.slots_m3_s[0]
    assert plant.beds.siphon_m3_s(run.volumes_m3[-1])[0] == pytest.approx(inflow, rel=1e-2)


def test_where_no_window_settles_the_march_takes_over(monkeypatch):
    # One sweep shows no window settled, so nothing is relaxed; the events are the march's.
    scenario = Scenario(hours=0.5, seed=4)
    slow = run_plant(four_beds(), scenario, engine="march")
    monkeypatch.setattr(relax, "_SWEEPS_MOST", 1)
    fast = run_plant(four_beds(), scenario)
    assert fast.methods == ("march",)
    assert run_events(fast) and greatest_difference_s(run_events(fast), run_events(slow)) <= EVENT_S


def test_a_crossing_cut_short_is_still_met_within_a_hundredth_of_a_second(monkeypatch):
    # False position closes in fast: two of the twelve steps allowed are enough for event times.
    scenario = Scenario(hours=0.5, seed=4)
    whole = run_plant(four_beds(), scenario, engine="march")
    monkeypatch.setattr(march, "_CROSSING_STEPS", 2)
    short = run_plant(four_beds(), scenario, engine="march")
    assert greatest_difference_s(run_events(short), run_events(whole)) <= EVENT_S


def still_day():
    plant = four_beds()
    shut = tuple((bed.id, 0.0) for bed in plant.design.beds)
    return run_plant(plant, Scenario(hours=1.0, start="drained", valve_shut=shut))


def test_on_a_day_without_a_flood_nothing_drains_and_no_return_pipe_carries_anything():
    run = still_day()
    assert share_above(run, 0, 0.0, 3600.0) == 0.0
    collector = collector_of(run)
    assert collector.flows["flow_m3_s"].max() == 0.0
    assert collector.flows["together"].max() == 0.0
    assert np.all(np.isnan(phases(run, np.array([0.0, 1800.0]))))


def test_a_site_without_return_pipe_has_no_collector():
    run = simulate_day(without_returns(make_design()), Scenario(hours=0.1))
    assert collector_of(run).beds == 0


def test_at_full_confidence_any_number_of_siphons_may_drain_together():
    design = make_design_of(1, 2)
    sure = replace(design, promise=replace(design.promise, confidence=1.0))
    found = staggered_start(sure, days=0.1)
    assert found.most_together == 2
    assert found.holds


@pytest.mark.parametrize("run", [plant_of, first_start, staggered_start, power_cut])
def test_a_design_that_cannot_be_is_refused_before_it_is_made_ready_to_run(run):
    design = make_design()
    with pytest.raises(BadInput, match="leads to no such part"):
        run(replace(design, kinds=design.kinds[1:]))


def test_a_design_in_which_no_siphon_works_has_no_start_to_stagger():
    # Start flows of 0.9 / 0.3 times as much lie above what the valves are set to, in both kinds.
    design = make_design()
    dead = tuple(replace(k, siphon=replace(k.siphon, start_froude=0.9)) for k in design.kinds)
    plant = plant_of(replace(design, kinds=dead))
    assert np.all(plant.beds.start_m3_s > plant.setting_inflows_m3_s())
    with pytest.raises(BadInput, match="No bed starts and stops"):
        staggered_start(replace(design, kinds=dead))
