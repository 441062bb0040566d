"""Event times of a run against brute-force integration that shares no code with it."""

from __future__ import annotations

import pytest

from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
from tests.builders.make_design import make_design_of
from tests.simulate.day.run_oracle import (
    dense_inflows,
    greatest_difference_s,
    oracle_events,
    run_events,
)

EVENT_S = 0.01
"""Greatest error of an event's time, as issue 3 asks."""


@pytest.fixture(scope="module")
def eight_beds():
    plant = plant_of(make_design_of(2, 4))
    return plant, dense_inflows(plant)


@pytest.mark.parametrize("engine", ["best", "march"])
@pytest.mark.parametrize("start", ["random", "dry", "steady"])
def test_event_times_with_feedback_equal_brute_force_integration(eight_beds, start, engine):
    plant, inflows = eight_beds
    scenario = Scenario(hours=3.0, start=start, seed=5)
    theirs, _ = oracle_events(plant, scenario, inflows)
    run = run_plant(plant, scenario, engine=engine)
    assert greatest_difference_s(run_events(run), theirs) <= EVENT_S
