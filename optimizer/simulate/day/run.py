"""Run a design over hours or days: the one entry to the simulation."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from optimizer.records.design import Design
from optimizer.simulate.day.bed_arrays import BedArrays, bed_arrays
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.engines import run_segment
from optimizer.simulate.day.initial import initial_state
from optimizer.simulate.day.plant import Plant, plant_of
from optimizer.simulate.day.scenario import Scenario, require_scenario
from optimizer.simulate.day.segment import DAY_S, Event, Segment, SegmentRun
from optimizer.simulate.day.turns import (
    beds_without_water,
    change_instants_s,
    while_valves_move,
)

_JOULES_PER_KWH = 3.6e6


def simulate_day(design: Design, scenario: Scenario, feedback: bool = True) -> DayRun:
    """Run a design through a scenario.

    Args:
        design: any design.
        scenario: what happens, and for how long.
        feedback: whether inflows follow the sump level; without, they stay as the valves were set.

    Raises:
        BadInput: for a design or scenario that cannot be.
        NotSolved: if an operating point was not found.
    """
    plant = plant_of(design)
    require_scenario(design, scenario)
    if scenario.coefficients == "random":
        plant = plant.drawn(scenario.seed)
    return run_plant(plant, scenario, feedback)


def run_plant(
    plant: Plant, scenario: Scenario, feedback: bool = True, engine: str = "best"
) -> DayRun:
    """Run a plant that was made ready before, as :func:`simulate_day` does.

    Args:
        plant: the plant; its tables of inflow are kept between runs.
        scenario: a scenario that fits it.
        feedback: whether inflows follow the sump level.
        engine: best (the fastest engine that can), or march.
    """
    state = initial_state(plant, scenario)
    runs, segments = [], list(_segments(plant, scenario, feedback))
    for segment in segments:
        run = run_segment(segment, state, engine)
        state = run.state
        runs.append(run)
    return _joined(plant, scenario, segments, runs)


@dataclass(frozen=True)
class _Setting:
    """What holds between two instants."""

    pump_runs: bool
    shut: frozenset[str]
    beds: BedArrays


def _segments(plant: Plant, scenario: Scenario, feedback: bool) -> Iterator[Segment]:
    samples = np.arange(0.0, scenario.end_s, scenario.trace_step_s)
    for begin, end in pairwise(_instants_s(plant, scenario)):
        now = _setting(plant, scenario, begin)
        back = 0.0 if now.pump_runs else plant.drained_back_m3
        yield Segment(
            begin_s=begin,
            end_s=end,
            beds=now.beds,
            table=plant.table(now.shut) if now.pump_runs else None,
            held_level_m=None if feedback else plant.design.sump.setting_m,
            area_m2=plant.area_m2,
            free_m3=plant.free_m3 + back,
            loss_m3_s=scenario.loss_m3_per_day / DAY_S,
            sample_s=samples[(samples >= begin) & (samples < end)],
        )


def _instants_s(plant: Plant, scenario: Scenario) -> list[float]:
    changes = change_instants_s(plant.design.zones, scenario.end_s)
    return sorted({*scenario.instants_s(), *changes})


def _setting(plant: Plant, scenario: Scenario, time_s: float) -> _Setting:
    shut = {bed for bed, at in scenario.valve_shut if at <= time_s}
    shut |= {bed for bed, at in scenario.valve_open if at > time_s}
    shut |= beds_without_water(plant.design, time_s)
    runs = not any(begin <= time_s < end for begin, end in scenario.pump_off)
    changes = [(bed, f) for bed, at, f in scenario.porosity_change if at <= time_s]
    return _Setting(runs, frozenset(shut), _changed(plant, changes))


def _changed(plant: Plant, changes: list[tuple[str, float]]) -> BedArrays:
    if not changes:
        return plant.beds
    siphons = list(plant.siphons)
    index = {bed.id: i for i, bed in enumerate(plant.design.beds)}
    for bed, factor in changes:
        siphon = siphons[index[bed]]
        siphons[index[bed]] = replace(siphon, porosity=siphon.porosity * factor)
    return bed_arrays(siphons)


def _joined(
    plant: Plant, scenario: Scenario, segments: list[Segment], runs: list[SegmentRun]
) -> DayRun:
    """Put the segments together; a stall while two zones share the water is brief and no event.

    One that lasts through the turn shows in the floods that fall to it.
    """
    volumes = np.concatenate([run.volumes_m3 for run in runs])
    samples = np.concatenate([segment.sample_s for segment in segments])
    sump = [
        (s.free_m3 - run.volumes_m3.sum(axis=1) - s.loss_m3_s * s.sample_s) / s.area_m2
        for s, run in zip(segments, runs, strict=True)
    ]
    nodes = np.concatenate([run.node_m for run in runs])
    time, code = (np.concatenate([getattr(run, key) for run in runs]) for key in ("time_s", "code"))
    kept = (code != Event.STALLS) | ~while_valves_move(plant.design.zones, time)
    return DayRun(
        plant=plant,
        scenario=scenario,
        time_s=time[kept],
        bed=np.concatenate([run.bed for run in runs])[kept],
        code=code[kept],
        sample_s=samples,
        volumes_m3=volumes,
        siphoning=np.concatenate([run.siphoning for run in runs]),
        sump_m=np.concatenate(sump),
        sump_lowest_m=float(nodes.min()),
        sump_highest_m=float(nodes.max()),
        energy_kwh=sum(map(_energy_j, segments, runs)) / _JOULES_PER_KWH,
        methods=tuple(run.method for run in runs),
        water_error_m3=max(run.water_error_m3 for run in runs),
    )


def _energy_j(segment: Segment, run: SegmentRun) -> float:
    """Return the pump's energy by trapezia between the known sump levels."""
    if segment.table is None:
        return 0.0
    held = segment.held_level_m
    levels = run.node_m if held is None else np.full_like(run.node_m, held)
    return float(np.trapezoid(segment.table.watts_at(levels), run.node_s))
