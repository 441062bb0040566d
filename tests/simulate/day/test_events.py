"""Event times of a run against computations that share no code with it."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.segment import Event
from optimizer.simulate.operating_point import operating_point
from tests.builders.make_design import make_design_of
from tests.oracles.day_oracle import heap_events
from tests.simulate.day.run_oracle import (
    CODES,
    dense_inflows,
    greatest_difference_s,
    oracle_events,
    run_events,
)
from tests.tolerances import FORMULA

EVENT_S = 0.01
"""Greatest error of an event's time, as issue 3 asks."""

TABLE_SHARE = 2e-8
"""Twice what the table of inflows settles for; the random levels below are not its own."""

TRACE_SHARE = 1e-5
"""Error of a volume between events, over one flood's water: the trace is interpolated there."""

WATER_SHARE = 1e-9
"""Greatest error of the water balance over the system's water, as issue 3 asks."""


@cache
def eight_beds():
    return plant_of(make_design_of(2, 4))


@cache
def brute_force(start):
    plant = eight_beds()
    return oracle_events(plant, Scenario(hours=3.0, start=start, seed=5), dense_inflows(plant))[0]


@pytest.mark.parametrize("start", ["random", "dry", "steady"])
def test_event_times_with_feedback_equal_brute_force_integration(start):
    run = run_plant(eight_beds(), Scenario(hours=3.0, start=start, seed=5))
    assert run.methods == ("relax",)
    assert greatest_difference_s(run_events(run), brute_force(start)) <= EVENT_S


def test_the_general_march_gives_the_same_event_times_as_brute_force():
    run = run_plant(eight_beds(), Scenario(hours=3.0, seed=5), engine="march")
    assert greatest_difference_s(run_events(run), brute_force("random")) <= EVENT_S


def test_without_feedback_event_times_equal_a_bare_heap_of_closed_forms():
    plant = eight_beds()
    inflow = plant.setting_inflows_m3_s().tolist()
    parts = [
        (s.fill_s(q) - s.prime_s(q), s.prime_s(q), s.drain_s(q))
        for s, q in zip(plant.siphons, inflow, strict=True)
    ]
    scenario = Scenario(hours=24.0, start="drained")
    theirs = sorted(
        (bed, int(CODES[word]), time) for time, bed, word in heap_events(parts, scenario.end_s)
    )
    mine = run_events(run_plant(plant, scenario, feedback=False))
    assert [m[:2] for m in mine] == [t[:2] for t in theirs]
    times = np.array([[m[2], t[2]] for m, t in zip(mine, theirs, strict=True)])
    assert np.max(np.abs(times[:, 0] / times[:, 1] - 1.0)) <= FORMULA


def test_without_feedback_a_bed_floods_as_often_as_its_closed_form_says():
    plant = eight_beds()
    run = run_plant(plant, Scenario(hours=24.0, seed=2), feedback=False)
    inflow = plant.setting_inflows_m3_s().tolist()
    floods = [s.floods_per_hour(q) for s, q in zip(plant.siphons, inflow, strict=True)]
    assert np.max(np.abs(run.floods_per_hour() / floods - 1.0)) <= FORMULA


def test_the_same_day_in_two_halves_is_the_same_day():
    # A porosity change by a factor of 1 changes nothing, but parts the day into two segments.
    plant = eight_beds()
    name = plant.design.beds[0].id
    whole = run_plant(plant, Scenario(hours=4.0, seed=3))
    halves = run_plant(plant, Scenario(hours=4.0, seed=3, porosity_change=((name, 7000.0, 1.0),)))
    assert len(halves.methods) == 2
    assert greatest_difference_s(run_events(whole), run_events(halves)) <= EVENT_S


def test_the_table_of_inflows_equals_the_operating_point_at_any_level():
    plant, dice = eight_beds(), np.random.default_rng(1)
    table = plant.table()
    for level in dice.uniform(*plant.levels_m, 12).tolist():
        point = operating_point(plant.design, plant.valve_losses, level)
        true = np.array([point.flows_m3_s[bed.drop] for bed in plant.design.beds])
        assert np.max(np.abs(table.inflows_m3_s(level) / true - 1.0)) <= TABLE_SHARE


@pytest.mark.parametrize("start", ["random", "dry"])
def test_water_is_conserved_over_three_days(start):
    plant = eight_beds()
    scenario = Scenario(hours=72.0, start=start, loss_m3_per_day=0.02, trace_step_s=600.0)
    run = run_plant(plant, scenario)
    assert run.water_error_m3 <= WATER_SHARE * plant.free_m3
    held = plant.area_m2 * run.sump_m + run.volumes_m3.sum(axis=1)
    lost = 0.02 * run.sample_s / 86400.0
    assert np.max(np.abs(held + lost - plant.free_m3)) <= WATER_SHARE * plant.free_m3


def test_every_flood_fills_primes_and_breaks_in_turn():
    run = run_plant(eight_beds(), Scenario(hours=6.0, start="drained"))
    for bed in range(8):
        codes = run.code[run.bed == bed]
        turns = np.resize([Event.FILLS, Event.PRIMES, Event.BREAKS], codes.size)
        assert codes.tolist() == turns.tolist()


def test_levels_stay_between_drain_level_and_prime_level():
    plant = eight_beds()
    run = run_plant(plant, Scenario(hours=6.0, seed=9))
    spare = TRACE_SHARE * plant.beds.prime_m3
    assert np.all(run.volumes_m3 >= -spare)
    assert np.all(run.volumes_m3 <= plant.beds.prime_m3 + spare)
