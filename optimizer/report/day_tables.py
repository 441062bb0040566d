"""The tables of a day's page: the same figures as its charts, in words."""

from __future__ import annotations

import math

from optimizer.records.design import Design
from optimizer.report.charts.day_held import held_frame
from optimizer.report.charts.day_marks import drawn_hours
from optimizer.report.day_facts import DayFacts
from optimizer.report.scales import Reader, percent
from optimizer.report.text_table import Table, make_table

HELD_SHARES = (0.5, 0.9, 0.99, 1.0)
ORDER_STEPS = 12
MEANINGS = {
    "start Froude number": "how much water over the standpipe's rim starts a siphon",
    "stop ratio": "how much inflow still lets a siphon stop",
    "siphon loss": "how much standpipe, bell and outlet slow the water",
    "pump curve": "how much head the pump really gives",
    "valve setting": "how exactly a valve is set by bucket",
}
"""What each coefficient of the reliability is, in a grower's words."""


def beds_table(facts: DayFacts) -> Table:
    """Floods, missed starts and missed stops of every bed."""
    rows = (
        (
            r["bed"],
            f"{r['floods_per_hour']:.2f} floods/h",
            f"{r['missed_starts']}",
            f"{r['missed_stops']}",
            ", ".join(str(n) for n in by_bed[r["bed"]]),
        )
        for by_bed in [_hourly(facts)]
        for r in facts.beds.to_dict("records")
    )
    columns = "bed|floods|missed starts|missed stops|floods hour by hour"
    return make_table("Every bed over the run", columns, rows, "floods|missed starts|missed stops")


def _hourly(facts: DayFacts) -> dict[str, list[int]]:
    early = facts.hourly[facts.hourly["hour"] < drawn_hours(facts.doings)]
    grouped = early.groupby("bed", sort=False)["floods"]
    return {str(bed): [int(n) for n in floods] for bed, floods in grouped}


def levels_table(design: Design, facts: DayFacts) -> Table:
    """Lowest, mean and highest level of the sump and every bed."""
    reader = Reader(design.units)
    grouped = facts.levels.groupby("subject", sort=False)["level_m"].agg(["min", "mean", "max"])
    rows = (
        (str(subject), *(reader.level(float(level)) for level in row))
        for subject, row in zip(grouped.index, grouped.to_numpy(), strict=True)
    )
    caption = "Level above the floor of each, minute by minute"
    return make_table(caption, "of|lowest|mean|highest", rows, "lowest|mean|highest")


def held_table(design: Design, facts: DayFacts) -> Table:
    """Water held for stated shares of time, by chance and simulated."""
    reader, frame = Reader(design.units), held_frame(design, facts)
    rows = []
    for curve, mine in frame.groupby("curve", sort=False):
        for share in HELD_SHARES:
            enough = mine[mine["share"] >= share - 1e-12]["held_m3"]
            rows.append((str(curve), percent(share), reader.text("volume", float(enough.min()))))
    caption = "All beds together hold no more than this for so much of the time"
    return make_table(caption, "curve|share of time|held", rows, "share of time|held")


def collector_table(design: Design, facts: DayFacts) -> Table:
    """Peak of every return stretch against what it carries, the fullest first."""
    reader, peaks = Reader(design.units), facts.collector.peaks
    share = peaks["peak_m3_s"] / peaks["capacity_m3_s"]
    ordered = peaks.assign(share=share).sort_values("share", ascending=False, kind="stable")
    rows = (
        (
            r["stretch"],
            reader.text("flow", r["peak_m3_s"]),
            f"hour {r['time_s'] / 3600.0:.2f}",
            reader.text("flow", r["capacity_m3_s"]),
            percent(r["share"]),
        )
        for r in ordered.to_dict("records")
    )
    columns = "return stretch|peak|when|carries|share"
    return make_table(
        "Return stretches, the fullest first", columns, rows, "peak|when|carries|share"
    )


def cut_table(design: Design, facts: DayFacts) -> Table:
    """The sump's level after the power cut at some times."""
    reader, trace = Reader(design.units), facts.cut.trace
    picked = trace.iloc[:: max(1, (len(trace) - 1) // 8)]
    rows = (
        (f"{r['time_s'] / 60.0:.1f} min", reader.level(r["level_m"]))
        for r in picked.to_dict("records")
    )
    return make_table("After the power cut", "time|sump level", rows, "time|sump level")


def order_table(facts: DayFacts) -> Table:
    """Phase order of every run at some times."""
    wide = facts.starts.order.pivot_table(index="time_s", columns="run", values="order", sort=False)
    wide = wide.sort_index()
    picked = wide.iloc[:: max(1, len(wide) // ORDER_STEPS)]
    runs = [str(run) for run in wide.columns]
    rows = (
        (f"{time / 3600.0:.1f} h", *("" if math.isnan(o) else f"{o:.2f}" for o in row))
        for time, row in zip(picked.index, picked.to_numpy(), strict=True)
    )
    return make_table("Phase order", "|".join(["time", *runs]), rows, "|".join(["time", *runs]))


def openings_table(facts: DayFacts) -> Table:
    """The staggered start: when to open which valve."""
    rows = ((f"{minute:.1f} min", ", ".join(beds)) for minute, beds in facts.starts.openings)
    caption = "Open valves, minutes after the pump was switched on"
    return make_table(caption, "after|open", rows)


def blame_table(facts: DayFacts) -> Table:
    """What decides the draws in which some bed does not work."""
    ordered = sorted(facts.risk.to_blame.items(), key=lambda item: -item[1])
    rows = ((name, MEANINGS.get(name, ""), percent(share)) for name, share in ordered)
    caption = "Share of failed draws that would have worked, had this alone been as expected"
    return make_table(caption, "not known exactly|that is|share", rows, "share")


def days_table(design: Design, facts: DayFacts) -> Table:
    """Further days at random phases."""
    reader = Reader(design.units)
    rows = (
        (
            f"{r['seed']:.0f}",
            f"{r['floods_per_hour_least']:.2f} to {r['floods_per_hour_most']:.2f}",
            f"{r['missed_starts']:.0f}",
            f"{r['missed_stops']:.0f}",
            reader.span("length", r["sump_lowest_m"], r["sump_highest_m"]),
            f"{r['most_together']:.0f}",
            f"{r['energy_kwh']:.2f} kWh",
        )
        for r in facts.days.to_dict("records")
    )
    columns = "seed|floods an hour|missed starts|missed stops|sump|most together|energy"
    return make_table("Runs that begin at other random moments", columns, rows, columns)


def failures_table(design: Design, facts: DayFacts) -> Table:
    """Promises that fail."""
    reader = Reader(design.units)
    rows = (
        (
            f.subject,
            f.promise,
            reader.si_text(f.unit, f.promised),
            reader.si_text(f.unit, f.simulated),
            "FAILS",
        )
        for f in facts.failures
    )
    columns = "about|promise|promised|simulated|verdict"
    return make_table("Promises that fail", columns, rows, "promised|simulated")
