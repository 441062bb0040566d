"""A simulated day in sentences: the same in the terminal and on its page."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pandas as pd

from optimizer.records.design import Design
from optimizer.report.day_facts import DayFacts, Doings
from optimizer.report.scales import Reader

NAMED_MOST = 6
FAILURES_SHOWN = 12
TIE = 0.005
"""Coefficients whose shares differ by no more than this are blamed alike."""


def verdict(facts: DayFacts) -> str:
    """Return whether the day went well."""
    bad, count = len(facts.failures), len(facts.findings)
    ran = f"{facts.doings.hours:g} h and a power cut"
    if not bad:
        return f"Yes: all {count} findings hold over {ran}."
    return f"No: {bad} of {count} findings fail{'s' if bad == 1 else ''} over {ran}."


def answers(design: Design, facts: DayFacts) -> list[tuple[str, str]]:
    """Return every question with its answer, the most asked first."""
    told = [
        ("How often do beds flood?", "; ".join(floods_sentences(facts))),
        ("Does every siphon work?", misses_sentence(facts)),
        ("Is the sump large enough?", sump_sentence(design, facts)),
        ("And in a power cut?", cut_sentence(design, facts)),
        ("Is the return pipe wide enough?", collector_answer(design, facts)),
        ("What does the pump use?", f"{facts.energy_kwh:.3g} kWh in {facts.doings.hours:g} h."),
        ("Do siphons fall into step?", step_sentence(facts)),
        ("How sure is all this?", risk_sentence(facts)),
    ]
    if len(facts.days):
        told.append(("And on other days?", days_sentence(design, facts)))
    return told


def floods_sentences(facts: DayFacts) -> list[str]:
    """Return floods an hour of each run of neighbouring beds of one kind."""
    said = []
    for group in bed_groups(facts.beds):
        first, last = group["bed"].iloc[0], group["bed"].iloc[-1]
        low, high = group["floods_per_hour"].min(), group["floods_per_hour"].max()
        span = f"{low:.2f}" if f"{low:.2f}" == f"{high:.2f}" else f"{low:.2f} to {high:.2f}"
        name = first if len(group) == 1 else f"{first} to {last}"
        said.append(f"{name} {span} times an hour")
    shown = said[:NAMED_MOST]
    left = len(said) - len(shown)
    return [*shown, f"and {left} groups of beds more"] if left else shown


def bed_groups(beds: pd.DataFrame) -> list[pd.DataFrame]:
    """Return runs of neighbouring beds of one row and kind."""
    here = list(zip(beds["row"], beds["kind"], strict=True))
    begins = [i for i, key in enumerate(here) if i == 0 or key != here[i - 1]]
    return [beds.iloc[a:b] for a, b in pairwise([*begins, len(beds)])]


def misses_sentence(facts: DayFacts) -> str:
    """Return how many starts and stops were missed, and by which beds."""
    beds = facts.beds
    starts, stops = int(beds["missed_starts"].sum()), int(beds["missed_stops"].sum())
    if not starts and not stops:
        return "Yes: no start and no stop was missed."
    bad = list(beds[beds["missed_starts"] + beds["missed_stops"] > 0]["bed"])
    return f"No: {starts} starts and {stops} stops missed, by {named(bad)}."


def named(names: Sequence[str]) -> str:
    """Return names in a row, the first few of many."""
    left = len(names) - NAMED_MOST
    more = f" and {left} more" if left > 0 else ""
    return ", ".join(names[:NAMED_MOST]) + more


def sump_sentence(design: Design, facts: DayFacts) -> str:
    """Return the sump's range against its limits."""
    reader, (low, high) = Reader(design.units), facts.sump_m
    least, most = design.pump.submergence_m, facts.cut.allowed_m
    fits = "Yes" if least <= low and high <= most else "No"
    dry = " It ran dry." if low < 0.0 else ""
    return (
        f"{fits}: its level runs from {reader.level(max(low, 0.0))} to {reader.level(high)}, and "
        f"may from {reader.level(least)} (pump covered) to {reader.level(most)} (freeboard).{dry}"
    )


def cut_sentence(design: Design, facts: DayFacts) -> str:
    """Return how high a power cut fills the sump."""
    reader, cut = Reader(design.units), facts.cut
    fits = "Yes" if cut.highest_m <= cut.allowed_m else "No"
    over = " Water runs over its rim." if cut.highest_m > cut.depth_m else ""
    return (
        f"{fits}: the worst one fills it to {reader.level(cut.highest_m)} of "
        f"{reader.level(cut.allowed_m)} within {reader.text('minutes', cut.settled_s)}.{over}"
    )


def collector_sentence(design: Design, facts: DayFacts) -> str:
    """Return the return stretch that came nearest to what it carries."""
    peaks, reader = facts.collector.peaks, Reader(design.units)
    if peaks.empty:
        return "None was designed."
    share = peaks["peak_m3_s"] / peaks["capacity_m3_s"]
    worst = peaks.iloc[int(share.to_numpy().argmax())]
    peak, carries = (reader.text("flow", worst[each]) for each in ("peak_m3_s", "capacity_m3_s"))
    collector = facts.collector
    whole = collector.flows["flow_m3_s"].max() / collector.capacity_m3_s
    return (
        f"The fullest stretch, {worst['stretch']}, carries {peak} of {carries} "
        f"({share.max():.0%}); "
        f"{collector.stretch}, from {collector.beds} beds, reaches {whole:.0%} with at most "
        f"{int(collector.flows['together'].max())} siphons draining together."
    )


def collector_answer(design: Design, facts: DayFacts) -> str:
    """Return whether the return pipe carries the day's peaks, and by how much."""
    peaks = facts.collector.peaks
    if peaks.empty:
        return collector_sentence(design, facts)
    fits = (peaks["peak_m3_s"] <= peaks["capacity_m3_s"]).all()
    return f"{'Yes' if fits else 'No'}. {collector_sentence(design, facts)}"


def step_sentence(facts: DayFacts) -> str:
    """Return how long beds started from dry stay in step, and whether a staggered start helps."""
    starts = facts.starts
    if starts.hours_in_step is None:
        dry = (
            f"Started dry with all valves open, more than {starts.together_by_chance} still drain "
            f"together after {starts.dry_hours:g} h"
        )
    else:
        dry = (
            f"Started dry with all valves open, at most {starts.together_by_chance} drain "
            f"together after {starts.hours_in_step:.1f} h"
        )
    does = "keeps" if starts.holds else "does NOT keep"
    return f"{dry}. The staggered start {does} them apart for {starts.days} days."


def risk_sentence(facts: DayFacts) -> str:
    """Return the reliability and what is most to blame."""
    risk = facts.risk
    said = (
        f"Every bed works in {risk.share:.1%} of {risk.draws} draws of what is not known exactly "
        f"(sampling error {risk.standard_error:.1%})"
    )
    if risk.share >= 1.0:
        return f"{said}."
    most = max(risk.to_blame.values())
    worst = [name for name, share in risk.to_blame.items() if share >= most - TIE]
    return (
        f"{said}. Most to blame: {' or '.join(worst)}; had that alone been as expected, "
        f"{most:.0%} of the failed draws would have worked."
    )


def days_sentence(design: Design, facts: DayFacts) -> str:
    """Return what further days at random phases met."""
    days, reader = facts.days, Reader(design.units)
    missed = int(((days["missed_starts"] + days["missed_stops"]) > 0).sum())
    low, high = days["floods_per_hour_least"].min(), days["floods_per_hour_most"].max()
    sump = reader.level(days["sump_lowest_m"].min()), reader.level(days["sump_highest_m"].max())
    return (
        f"{len(days)} runs at random phases: {low:.2f} to {high:.2f} floods an hour, a start or "
        f"stop missed in {missed} of them, sump from {sump[0]} to {sump[1]}, at most "
        f"{int(days['most_together'].max())} siphons draining together."
    )


def doings_sentence(doings: Doings) -> str:
    """Return what was run."""
    starts = {
        "random": "from random phases",
        "dry": "from dry, all valves open",
        "drained": "from all beds drained",
        "steady": "from phases spread evenly",
    }
    said = f"{doings.hours:g} h {starts[doings.start]} (seed {doings.seed})"
    stops = [f"pump off from hour {a:g} to {b:g}" for a, b in doings.pump_off_h]
    shut = [f"valve of {bed} shut at hour {hour:g}" for bed, hour in doings.valve_shut_h]
    return "; ".join([said, *stops, *shut]) + "."


def failure_lines(design: Design, facts: DayFacts) -> list[str]:
    """Return one line for each of the first failures, and how many more there are."""
    reader = Reader(design.units)
    lines = [
        f"{f.subject}: {f.promise}; promised {reader.si_text(f.unit, f.promised)}, "
        f"simulated {reader.si_text(f.unit, f.simulated)}"
        for f in facts.failures[:FAILURES_SHOWN]
    ]
    left = len(facts.failures) - len(lines)
    return [*lines, f"in {left} findings more"] if left else lines
