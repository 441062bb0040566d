"""What happens during a simulated day: how it starts, and what is done to the plant when."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.errors import BadInput, Problem
from optimizer.reading.nearest import choose_from
from optimizer.records.design import Design

STARTS = ("random", "dry", "drained", "steady")

BedTime = tuple[str, float]


@dataclass(frozen=True)
class Scenario:
    """One run of a plant. Times are seconds from the start of the run.

    Attributes:
        hours: how long to run.
        start: random (each bed anywhere in its cycle), dry (every bed empty down to its floor),
            drained (every bed just drained to its slots), steady (beds of a kind spread evenly over
            their cycle), or a tuple of phases, one a bed: share of the cycle since the last break,
            0 to below 1.
        seed: for random phases and random coefficients.
        pump_off: (from, to) pairs during which the pump stands.
        valve_shut: (bed id, time) at which its valve is shut.
        valve_open: (bed id, time) at which its valve is opened; until then it is shut.
        porosity_change: (bed id, time, factor) by which the drainable porosity changes then, the
            water held staying the same.
        coefficients: nominal, or random (one draw for each kind over its bands).
        loss_m3_per_day: water lost by evaporation, taken from the sump.
        trace_step_s: step at which levels are kept.
    """

    hours: float = 24.0
    start: str | tuple[float, ...] = "random"
    seed: int = 0
    pump_off: tuple[tuple[float, float], ...] = ()
    valve_shut: tuple[BedTime, ...] = ()
    valve_open: tuple[BedTime, ...] = ()
    porosity_change: tuple[tuple[str, float, float], ...] = ()
    coefficients: str = "nominal"
    loss_m3_per_day: float = 0.0
    trace_step_s: float = 60.0

    @property
    def end_s(self) -> float:
        """Length of the run in seconds."""
        return 3600.0 * self.hours

    def instants_s(self) -> list[float]:
        """Return the start, the end, and every time between at which something is done."""
        times = [t for pair in self.pump_off for t in pair]
        times += [each[1] for each in self.valve_shut + self.valve_open]
        times += [each[1] for each in self.porosity_change]
        return [0.0, *sorted({t for t in times if 0.0 < t < self.end_s}), self.end_s]


def scenario_problems(design: Design, scenario: Scenario) -> list[Problem]:
    """Return every fault of a scenario for a design, in reading order."""
    return list(_problems(design, scenario))


def require_scenario(design: Design, scenario: Scenario) -> None:
    """Refuse a scenario that cannot be run.

    Raises:
        BadInput: with every fault.
    """
    problems = scenario_problems(design, scenario)
    if problems:
        raise BadInput(problems)


def _problems(design: Design, scenario: Scenario) -> Iterator[Problem]:
    for name in ("hours", "trace_step_s"):
        value = getattr(scenario, name)
        if not (math.isfinite(value) and value > 0.0):
            yield Problem(f"scenario, {name}", f"{value} is not above 0.", "Give a number above 0.")
    if scenario.coefficients not in ("nominal", "random"):
        what = f"{scenario.coefficients!r} is no choice."
        yield Problem("scenario, coefficients", what, "Say nominal or random.")
    if not 0.0 <= scenario.loss_m3_per_day < math.inf:
        yield Problem("scenario, loss", "Water cannot be lost at that rate.", "Give 0 or more.")
    yield from _start_problems(design, scenario)
    yield from _time_problems(scenario)
    yield from _bed_problems(design, scenario)


def _start_problems(design: Design, scenario: Scenario) -> Iterator[Problem]:
    start, where = scenario.start, "scenario, start"
    if isinstance(start, str):
        if start not in STARTS:
            yield Problem(where, f"{start!r} is no start.", f"Say one of {', '.join(STARTS)}.")
    elif len(start) != len(design.beds):
        what = f"{len(start)} phases for {len(design.beds)} beds."
        yield Problem(where, what, "Give one phase for each bed.")
    elif not all(0.0 <= phase < 1.0 for phase in start):
        yield Problem(where, "A phase lies outside 0 to 1.", "Give shares of a cycle.")


def _time_problems(scenario: Scenario) -> Iterator[Problem]:
    before = 0.0
    for begin, end in scenario.pump_off:
        if not before <= begin < end:
            what = f"The stop from {begin} to {end} s overlaps another or ends before it begins."
            yield Problem("scenario, pump_off", what, "Give stops in order of time.")
        before = end
    changes = tuple((bed, time) for bed, time, _ in scenario.porosity_change)
    for name, time in (*scenario.valve_shut, *scenario.valve_open, *changes):
        if not 0.0 <= time < math.inf:
            yield Problem(f"scenario, bed {name!r}", f"{time} s is no time.", "Give 0 or more.")


def _bed_problems(design: Design, scenario: Scenario) -> Iterator[Problem]:
    porosity = {
        bed.id: kind.siphon.porosity
        for bed in design.beds
        for kind in design.kinds
        if kind.id == bed.kind
    }
    named = [bed for bed, _ in (*scenario.valve_shut, *scenario.valve_open)]
    for name in (*named, *(bed for bed, _, _ in scenario.porosity_change)):
        if name not in porosity:
            what = f"There is no bed {name!r}."
            yield Problem("scenario", what, choose_from(name, porosity))
    for name, _, factor in scenario.porosity_change:
        if not (factor > 0.0 and factor * porosity.get(name, 0.0) <= 1.0):
            what = f"A factor of {factor} takes its porosity out of 0 to 1."
            yield Problem(f"scenario, bed {name!r}", what, "Give a smaller change.")
