"""Days of the example design, run once for all tests of their page: the run and its facts."""

from __future__ import annotations

from functools import cache

from optimizer.day_gather import gather_day, scenario_of
from optimizer.records.design import Design
from optimizer.report.day_doings import Doings
from optimizer.report.day_facts import DayFacts
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.run import simulate_day
from tests.builders.make_design import make_design, make_design_of

SHUT, CLOGGED = "bed_1_2", "bed_2_1"
BUSY = Doings(
    hours=6.0,
    start="dry",
    seed=3,
    pump_off_h=((2.0, 2.5),),
    valve_shut_h=((SHUT, 4.0),),
    clogged_h=((CLOGGED, 3.0, 0.25),),
)
"""A dry start in which everything that can be done to a plant is done."""

QUIET = Doings(hours=5.0, start="random", seed=1)
DRAWS = 40


@cache
def day_design() -> Design:
    """Four beds of two kinds with return pipe."""
    return make_design()


@cache
def facts_of(doings: Doings) -> DayFacts:
    """What a run of the four beds found."""
    return gather_day(day_design(), doings, 1, DRAWS, lambda _: None)


@cache
def run_of(doings: Doings) -> DayRun:
    """The same run, by itself."""
    return simulate_day(day_design(), scenario_of(doings))


@cache
def one_bed() -> tuple[Design, DayFacts]:
    """One bed for half an hour, nothing done to it."""
    design = make_design_of(1, 1)
    return design, gather_day(design, Doings(0.5, "steady", 0), 0, DRAWS, lambda _: None)
