"""A simulated day in sentences: the same in the terminal and on its page."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.records.design import Design
from optimizer.report.day_facts import DayFacts
from optimizer.report.day_floods_words import floods_sentence
from optimizer.report.scales import Reader, counted, percent, rounded, sure_percent

NAMED_MOST = 6
FAILURES_SHOWN = 12
TIE = 0.005
"""Coefficients whose shares differ by no more than this are blamed alike."""

_ROUNDING = 1e-9
"""Share by which a limit may be passed for the rounding of arithmetic, as in the check."""


def verdict(facts: DayFacts) -> str:
    """Return whether the day went well."""
    bad, count = len(facts.failures), len(facts.findings)
    ran = f"{facts.doings.hours:g} h and a power cut"
    if not bad:
        until = "; a bed that is shut counts until then" if facts.doings.valve_shut_h else ""
        return f"Yes: all {count} promises hold over {ran}{until}."
    return f"No: {bad} of {count} promises fail{'s' if bad == 1 else ''} over {ran}."


def answers(design: Design, facts: DayFacts) -> list[tuple[str, str]]:
    """Return every question with its answer, the most asked first."""
    told = [
        ("How often do beds flood?", floods_sentence(facts)),
        ("Does every siphon work?", misses_sentence(facts)),
        ("Is the sump large enough?", sump_sentence(design, facts)),
        ("And in a power cut?", cut_sentence(design, facts)),
        ("Is the return pipe wide enough?", collector_answer(design, facts)),
        (
            "What does the pump use?",
            f"{rounded(facts.energy_kwh)} kWh in {facts.doings.hours:g} h.",
        ),
        ("Do siphons fall into step?", step_sentence(facts)),
        ("How sure is all this?", risk_sentence(facts)),
    ]
    if len(facts.days):
        told.append(("And on other days?", days_sentence(design, facts)))
    return told


def misses_sentence(facts: DayFacts) -> str:
    """Return how many starts and stops were missed, and by which beds."""
    beds = facts.beds
    counts = [(int(beds[f"missed_{each}s"].sum()), each) for each in ("start", "stop")]
    missed = [counted(number, each) for number, each in counts if number]
    if not missed:
        return "Yes: no start and no stop was missed."
    bad = list(beds[beds["missed_starts"] + beds["missed_stops"] > 0]["bed"])
    return f"No: {' and '.join(missed)} missed, by {named(bad)}."


def named(names: Sequence[str]) -> str:
    """Return names in a row, the first few of many."""
    left = len(names) - NAMED_MOST
    more = f" and {left} more" if left > 0 else ""
    return ", ".join(names[:NAMED_MOST]) + more


def sump_sentence(design: Design, facts: DayFacts) -> str:
    """Return the sump's range against its limits."""
    reader, (low, high) = Reader(design.units), facts.sump_m
    least, most = design.pump.submergence_m, facts.cut.allowed_m
    fits = "Yes" if _within(least, low) and _within(high, most) else "No"
    dry = " It ran dry." if low < 0.0 else ""
    return (
        f"{fits}: its level runs from {reader.level(max(low, 0.0))} to {reader.level(high)}; the "
        f"pump is covered from {reader.level(least)} up, and the freeboard begins at "
        f"{reader.level(most)}.{dry}"
    )


def _within(low: float, high: float) -> bool:
    return low <= high + _ROUNDING * abs(high)


def cut_sentence(design: Design, facts: DayFacts) -> str:
    """Return how high a power cut fills the sump."""
    reader, cut = Reader(design.units), facts.cut
    fits = "Yes" if _within(cut.highest_m, cut.allowed_m) else "No"
    wet = ", once every bed is wet," if facts.doings.start == "dry" else ""
    over = " Water runs over its rim." if cut.highest_m > cut.depth_m else ""
    return (
        f"{fits}: the worst one{wet} fills the sump to {reader.level(cut.highest_m)} in "
        f"{cut.settled_s / 60.0:.1f} min; its freeboard begins at {reader.level(cut.allowed_m)}."
        f"{over}"
    )


def collector_sentence(design: Design, facts: DayFacts) -> str:
    """Return the return stretch that came nearest to what it carries, and the shared one."""
    collector, reader = facts.collector, Reader(design.units)
    peaks = collector.peaks
    share = peaks["peak_m3_s"] / peaks["capacity_m3_s"]
    worst = peaks.iloc[int(share.to_numpy().argmax())]
    peak, carries = (reader.text("flow", worst[each]) for each in ("peak_m3_s", "capacity_m3_s"))
    said = (
        f"The fullest stretch, {worst['stretch']}, meets at most {peak} and can carry {carries} "
        f"({percent(share.max())})."
    )
    together = int(collector.flows["together"].max())
    drain = f"{counted(together, 'siphon')} draining at once"
    if worst["stretch"] == collector.stretch:
        return f"{said.removesuffix('.')}, with {drain} at most."
    whole = collector.flows["flow_m3_s"].max() / collector.capacity_m3_s
    return (
        f"{said} The one that {collector.beds} beds share, {collector.stretch}, reaches "
        f"{percent(whole)} of what it can carry, with {drain} at most."
    )


def collector_answer(design: Design, facts: DayFacts) -> str:
    """Return whether the return pipe carries the day's peaks, and by how much."""
    peaks = facts.collector.peaks
    if peaks.empty:
        return "No return pipe was designed: every bed falls straight into the sump."
    pairs = zip(peaks["peak_m3_s"], peaks["capacity_m3_s"], strict=True)
    fits = all(_within(peak, capacity) for peak, capacity in pairs)
    said = collector_sentence(design, facts)
    if not fits and design.promise.bursts == "binomial":
        seldom = percent(1.0 - design.promise.confidence, 2)
        return (
            f"Not at every moment, and it need not be: {said} Sized for bursts that are "
            f"independent, each stretch may get more than it carries {seldom} of the time."
        )
    return f"{'Yes' if fits else 'No'}. {said}"


IN_ZONES = (
    "The beds of a zone begin together in every turn, as meant: return pipe and sump are sized for "
    "all beds at once."
)


def step_sentence(facts: DayFacts) -> str:
    """Return how long beds started from dry stay in step, and whether a staggered start helps."""
    starts = facts.starts
    if len(facts.beds) == 1:
        return "There is only one bed."
    if not starts.openings:
        return IN_ZONES
    if starts.together_by_chance >= len(facts.beds):
        return f"With {len(facts.beds)} beds, chance alone brings all together now and then."
    few = f"{counted(starts.together_by_chance, 'siphon')} (what chance alone brings together)"
    drain = "drains" if starts.together_by_chance == 1 else "drain"
    if starts.hours_in_step is None:
        dry = f"more than {few} still {drain} at once after {starts.dry_hours:g} h"
    elif starts.hours_in_step == 0.0:
        dry = f"never more than {few} {drain} at once"
    else:
        dry = f"it takes {starts.hours_in_step:.1f} h until no more than {few} {drain} at once"
    does = "stay" if starts.holds else "do NOT stay"
    return (
        f"Started dry with every valve open, {dry}. Opened one after another by the table of the "
        f"staggered start, beds {does} apart for the {starts.days} days simulated."
    )


def risk_sentence(facts: DayFacts) -> str:
    """Return the reliability and what is most to blame."""
    risk = facts.risk
    drawn = f"What is not known exactly was drawn {risk.draws:,} times over its bands"
    if risk.share >= 1.0:
        return f"{drawn}: every bed works in all of them."
    if risk.share <= 0.0:
        return f"{drawn}: some bed fails in every one of them."
    share, within = sure_percent(risk.share), sure_percent(risk.standard_error)
    said = f"{drawn}: every bed works in {share} of the draws (give or take {within})"
    most = max(risk.to_blame.values())
    if most <= 0.0:
        return f"{said}. No one coefficient alone is to blame."
    worst = [name for name, share in risk.to_blame.items() if share >= most - TIE]
    those = f"{', '.join(worst[:-1])} or {worst[-1]}" if len(worst) > 1 else worst[0]
    alone = "any one of these" if len(worst) > 1 else "that"
    return (
        f"{said}. Most to blame where one does not: {those}; had {alone} been as expected, "
        f"{percent(most)} of those draws would have worked."
    )


def days_sentence(design: Design, facts: DayFacts) -> str:
    """Return what further days at random phases met."""
    days, reader = facts.days, Reader(design.units)
    missed = int(((days["missed_starts"] + days["missed_stops"]) > 0).sum())
    low, high = days["floods_per_hour_least"].min(), days["floods_per_hour_most"].max()
    sump = reader.level(days["sump_lowest_m"].min()), reader.level(days["sump_highest_m"].max())
    runs = "One run" if len(days) == 1 else f"{len(days)} runs"
    among = f" in {missed} of them" if len(days) > 1 else ""
    bad = f"a start or stop missed{among}" if missed else "no start or stop missed"
    return (
        f"{runs} with beds beginning at other random moments: {low:.2f} to {high:.2f} floods an "
        f"hour, {bad}, sump from {sump[0]} to {sump[1]}, at most "
        f"{counted(int(days['most_together'].max()), 'siphon')} draining at once."
    )


def failure_lines(design: Design, facts: DayFacts) -> list[str]:
    """Return one line for each of the first failures, and how many more there are."""
    reader = Reader(design.units)
    lines = [
        f"{f.subject}: {f.promise}; promised {reader.si_text(f.unit, f.promised)}, "
        f"simulated {reader.si_text(f.unit, f.simulated)}"
        for f in facts.failures[:FAILURES_SHOWN]
    ]
    left = len(facts.failures) - len(lines)
    return [*lines, f"and {counted(left, 'promise')} more"] if left else lines
