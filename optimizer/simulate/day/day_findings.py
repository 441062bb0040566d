"""What a simulated day and a power cut say of a design, as findings for the check."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.check import Finding
from optimizer.records.design import Design
from optimizer.simulate.day.chance import chance_findings
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.drainings import collector_peaks
from optimizer.simulate.day.power_cut import power_cut_of
from optimizer.simulate.day.run import simulate_day
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.segment import Event
from optimizer.simulate.day.turn_findings import turn_findings
from optimizer.simulate.findings import at_least, at_most
from optimizer.simulate.tolerances import FLOODS_SHARE


def day_findings(design: Design, scenario: Scenario | None = None) -> tuple[Finding, ...]:
    """Return the findings of a simulated day and of the worst power cut.

    Args:
        design: the design.
        scenario: the day; 24 h at random phases where None.

    Raises:
        BadInput: for a design or scenario that cannot be.
        NotSolved: if an operating point was not found.
    """
    return findings_of(simulate_day(design, scenario or Scenario()))


def findings_of(run: DayRun) -> tuple[Finding, ...]:
    """Return the findings of a day that was run, and of the worst power cut.

    Args:
        run: the day.
    """
    promise = run.plant.design.promise
    seldom = (promise.bursts, promise.held) != ("all", "worst")
    return (
        *_bed_findings(run),
        *_sump_findings(run),
        *(_collector_findings(run) if promise.bursts == "all" else ()),
        *(chance_findings(run.plant) if seldom else ()),
    )


def _bed_findings(run: DayRun) -> Iterator[Finding]:
    zones = run.plant.design.zones
    stalls, stuck = run.counts(Event.STALLS), run.counts(Event.NEVER_BREAKS)
    if zones is not None:
        yield from turn_findings(run, zones)
    floods, least = run.floods_per_hour(), run.plant.design.promise.floods_per_hour_least
    most = run.plant.design.promise.floods_per_hour_most
    for i, bed in enumerate(run.plant.design.beds):
        yield at_most(bed.id, "stalls in a simulated day", 0.0, float(stalls[i]), "1")
        yield at_most(bed.id, "failures to break in a simulated day", 0.0, float(stuck[i]), "1")
        if zones is not None:
            continue
        per_hour, words = float(floods[i]), "floods an hour over a simulated day"
        yield at_least(bed.id, words, least, per_hour, "1/h", share=FLOODS_SHARE)
        if most is not None:
            yield at_most(bed.id, f"{words}, not above", most, per_hour, "1/h", share=FLOODS_SHARE)


def _sump_findings(run: DayRun) -> Iterator[Finding]:
    design, cut = run.plant.design, power_cut_of(run.plant)
    pump, sump = design.pump, design.sump
    lowest, highest = run.sump_lowest_m, run.sump_highest_m
    if design.promise.held == "worst":
        yield at_least(pump.id, "submerged over a simulated day", pump.submergence_m, lowest, "m")
    else:
        yield at_least(sump.id, "holds water all through a simulated day", 0.0, lowest, "m")
    yield at_most(sump.id, "freeboard kept over a simulated day", cut.allowed_m, highest, "m")
    yield at_most(
        sump.id, "freeboard kept in the worst power cut", cut.allowed_m, cut.highest_m, "m"
    )


def _collector_findings(run: DayRun) -> Iterator[Finding]:
    for peak in collector_peaks(run):
        words, capacity = "carries a simulated day's peak", peak.capacity_m3_s
        yield at_most(peak.stretch, words, capacity, peak.peak_m3_s, "m3/s")
