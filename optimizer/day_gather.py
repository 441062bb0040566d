"""Run all that ``simulate`` asks of a design and hand it over as plain facts to draw."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd

from optimizer.physics.arrays import Array
from optimizer.records.design import BedKind, Design
from optimizer.report.day_doings import Doings
from optimizer.report.day_facts import Collector, Cut, DayFacts, Risk, Starts
from optimizer.simulate.day.bed_arrays import Flags
from optimizer.simulate.day.day_findings import findings_of
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.drainings import (
    Drainings,
    beds_through,
    collector_frame,
    drainings,
    straight_falls,
    together,
)
from optimizer.simulate.day.first_start import first_start
from optimizer.simulate.day.in_step import order_frame
from optimizer.simulate.day.many_days import day_row, each_day
from optimizer.simulate.day.power_cut import power_cut
from optimizer.simulate.day.reliability import reliability
from optimizer.simulate.day.run import simulate_day
from optimizer.simulate.day.scenario import Scenario, require_scenario
from optimizer.simulate.day.segment import Event
from optimizer.simulate.day.staggered import staggered_start

SPAN_S = 300.0
"""Flow in the return pipe is given as its greatest in each span of this length."""

Tell = Callable[[str], None]


def scenario_of(doings: Doings) -> Scenario:
    """Return the scenario of what is to be run."""
    return Scenario(
        hours=doings.hours,
        start=doings.start,
        seed=doings.seed,
        pump_off=tuple((3600.0 * a, 3600.0 * b) for a, b in doings.pump_off_h),
        valve_shut=tuple((bed, 3600.0 * hour) for bed, hour in doings.valve_shut_h),
        porosity_change=tuple((bed, 3600.0 * h, 1.0 - lost) for bed, h, lost in doings.clogged_h),
    )


def gather_day(design: Design, doings: Doings, days: int, draws: int, tell: Tell) -> DayFacts:
    """Run the day, its findings, both first starts, the power cut, the draws and further days.

    Args:
        design: the design.
        doings: what happens over the day.
        days: further runs of it at random phases, seeds rising from the one after the day's own.
        draws: draws for the reliability.
        tell: called with what is being done now.

    Raises:
        BadInput: for a design or scenario that cannot be.
        NotSolved: if an operating point was not found.
    """
    scenario = scenario_of(doings)
    require_scenario(design, scenario)
    tell("the day itself")
    run = simulate_day(design, scenario)
    starts = _starts(design, run, tell)
    tell(f"{draws} draws over the coefficients' bands")
    risk = reliability(design, draws, doings.seed)
    return DayFacts(
        doings=doings,
        beds=_beds(run),
        sump_m=(run.sump_lowest_m, run.sump_highest_m),
        energy_kwh=run.energy_kwh,
        findings=findings_of(run),
        levels=run.levels_frame(),
        events=run.events_frame(),
        hourly=run.floods_frame(),
        held_m3=pd.Series(run.held_m3()),
        collector=collector_of(run),
        starts=starts,
        cut=_cut(design),
        risk=Risk(draws, risk.share, risk.standard_error, risk.to_blame),
        days=_days(design, scenario, days, tell),
    )


def _beds(run: DayRun) -> pd.DataFrame:
    beds = run.plant.design.beds
    return pd.DataFrame(
        {
            "bed": [bed.id for bed in beds],
            "row": [bed.row for bed in beds],
            "kind": [bed.kind for bed in beds],
            "floods_per_hour": run.floods_per_hour(),
            "missed_starts": run.counts(Event.STALLS),
            "missed_stops": run.counts(Event.NEVER_BREAKS),
        }
    )


def _days(design: Design, scenario: Scenario, days: int, tell: Tell) -> pd.DataFrame:
    if days < 1:
        return pd.DataFrame()
    tell(f"further run 1 of {days}")
    rows, other = [], replace(scenario, start="random", seed=scenario.seed + 1)
    for done, run in enumerate(each_day(design, other, days), 1):
        rows.append(day_row(run))
        tell(f"further run {min(done + 1, days)} of {days}")
    return pd.DataFrame(rows)


def _cut(design: Design) -> Cut:
    cut = power_cut(design)
    return Cut(cut.frame(), cut.highest_m, cut.allowed_m, cut.depth_m, cut.settled_s)


def _starts(design: Design, run: DayRun, tell: Tell) -> Starts:
    if design.zones:
        return _starts_in_turn(design, run)
    tell("a first start from dry, all valves open")
    dry = first_start(design)
    tell("a staggered first start")
    staggered = staggered_start(design)
    most_built, count = _most_built(design)
    named = {"this run": run, "from dry, all at once": dry.run, "staggered": staggered.run}
    return Starts(
        together_by_chance=dry.most_together,
        hours_in_step=dry.hours,
        dry_hours=dry.run.scenario.hours,
        openings=tuple((each.minute, each.beds) for each in staggered.openings),
        holds=staggered.holds,
        days=len(staggered.share_above),
        order=pd.concat(
            [_order(r, most_built.id, name) for name, r in named.items()], ignore_index=True
        ),
        kind=most_built.label,
        order_by_chance=_order_by_chance(count),
    )


def _starts_in_turn(design: Design, run: DayRun) -> Starts:
    """Return no first start: the timer opens zones by turns, and their beds begin together."""
    most_built, count = _most_built(design)
    return Starts(
        together_by_chance=len(design.beds),
        hours_in_step=None,
        dry_hours=0.0,
        openings=(),
        holds=False,
        days=0,
        order=_order(run, most_built.id, "this run"),
        kind=most_built.label,
        order_by_chance=_order_by_chance(count),
    )


def _most_built(design: Design) -> tuple[BedKind, int]:
    """Return the kind of which most beds are built, and how many."""
    built = Counter(bed.kind for bed in design.beds)
    kind = max(design.kinds, key=lambda each: built[each.id])
    return kind, built[kind.id]


def _order_by_chance(count: int) -> float:
    """Return the order that so many beds in independent phases have on average."""
    return float(np.sqrt(np.pi / (4.0 * count)))


def _order(run: DayRun, kind: str, name: str) -> pd.DataFrame:
    """Return the order while the phases of all beds still at work are known."""
    found = order_frame(run)
    mine = found[found["group"] == kind]
    shut = {bed for bed, _ in run.scenario.valve_shut}
    known = mine["beds"] >= mine["beds"].max() - len(shut)
    mine = mine[known & (mine["beds"] > 1)]
    return pd.DataFrame({"run": name, "time_s": mine["time_s"], "order": mine["order"]})


def collector_of(run: DayRun) -> Collector:
    """Return the return stretch that most beds drain through, and every stretch's peak."""
    design = run.plant.design
    peaks = collector_frame(run)[["stretch", "peak_m3_s", "time_s", "capacity_m3_s"]]
    if not design.drains:
        return Collector("", 0, 0.0, 0.0, pd.DataFrame(), peaks)
    through = beds_through(design)
    trunk = max(design.drains, key=lambda drain: len(through[drain.id]))
    member = np.zeros(len(design.beds), dtype=bool)
    member[through[trunk.id]] = True
    found = drainings(run)
    flows = flows_frame(run, found, member[found.bed])
    beds = len(through[trunk.id])
    return Collector(trunk.id, beds, trunk.bursts_m3_s, trunk.capacity_m3_s, flows, peaks)


def flows_frame(run: DayRun, found: Drainings, mine: Flags) -> pd.DataFrame:
    """Return ``time_s``, ``flow_m3_s``, ``together``: the greatest of some drainings by span.

    A draining's discharge is a straight line that never rises, as for the peaks, so the sum only
    falls between two beginnings: its greatest in a span is at the span's begin or at one of the
    beginnings within it.
    """
    spans = np.arange(0.0, run.scenario.end_s, SPAN_S)
    few = Drainings(found.bed[mine], found.begin_s[mine], found.end_s[mine])
    fixed, slope = straight_falls(run, few)
    times, count = together(few)
    steps = np.concatenate([np.ones(fixed.size), -np.ones(fixed.size)])
    both = np.concatenate([few.begin_s, few.end_s])
    order = np.lexsort((-steps, both))
    sums = [np.cumsum((steps * np.tile(part, 2))[order]) for part in (fixed, slope)]
    flow = _greatest(spans, times, sums[0], sums[1])
    most = _greatest(spans, times, count.astype(np.float64), np.zeros(times.size))
    return pd.DataFrame({"time_s": spans, "flow_m3_s": flow, "together": np.rint(most)})


def _greatest(spans: Array, times: Array, fixed: Array, slope: Array) -> Array:
    """Return the greatest in each span of a sum that is fixed + slope t from each time on."""
    before = np.searchsorted(times, spans, side="left") - 1
    at = np.maximum(before, 0)
    known = before >= 0
    found = np.zeros(spans.size)
    if times.size:
        found[known] = (fixed[at] + slope[at] * spans)[known]
        inside = times < spans[-1] + SPAN_S
        place = np.searchsorted(spans, times[inside], side="right") - 1
        np.maximum.at(found, place, (fixed + slope * times)[inside])
    return np.maximum(found, 0.0)
