"""The page of a simulated day, and its files."""

from __future__ import annotations

from pathlib import Path

from optimizer.files import write_text_whole, written_together
from optimizer.records.design import Design
from optimizer.report import day_tables, day_words, theme
from optimizer.report.bundle import javascript_bundle
from optimizer.report.charts.day_every import day_specs
from optimizer.report.charts.day_floods import LINES_MOST, NARROW_SPAN_H
from optimizer.report.charts.day_held import BY_CHANCE, held_frame
from optimizer.report.charts.day_levels import LANES_MOST, lane_beds
from optimizer.report.charts.day_marks import drawn_hours
from optimizer.report.day_doings import begin_words, marks_sentence
from optimizer.report.day_facts import DayFacts
from optimizer.report.page import environment, script, spec_json
from optimizer.report.scales import Reader
from optimizer.report.tables import csv_text


def render_day(design: Design, facts: DayFacts) -> str:
    """Return the whole page as HTML. It fetches nothing and carries no clock time.

    Args:
        design: the design.
        facts: what its simulation found.
    """
    specs = day_specs(design, facts)
    missed = facts.beds["missed_starts"] + facts.beds["missed_stops"] > 0
    return (
        environment()
        .get_template("day.html.j2")
        .render(
            design=design,
            facts=facts,
            words=day_words,
            begun=begin_words(facts.doings),
            marks=marks_sentence(facts.doings, drawn_hours(facts.doings)),
            tables=day_tables,
            lanes=lane_beds(facts),
            lanes_most=LANES_MOST,
            missed=bool(missed.any()),
            by_chance=bool((held_frame(design, facts)["curve"] == BY_CHANCE).any()),
            by_row=len(design.beds) > LINES_MOST,
            narrow_h=NARROW_SPAN_H,
            drawn_h=drawn_hours(facts.doings),
            charts={name: spec_json(chart) for name, chart in specs.items()},
            reader=Reader(design.units),
            theme=theme,
            bundle=script(javascript_bundle()),
        )
    )


def write_day(design: Design, facts: DayFacts, folder: str | Path) -> list[Path]:
    """Write day.html and the tables of events, floods and levels, all or none.

    Args:
        design: the design.
        facts: what its simulation found.
        folder: where to; made if it is not there.

    Returns:
        the files, the page first.

    Raises:
        OSError: if a file cannot be written.
    """
    frames = {"events": facts.events, "floods": facts.hourly, "levels": facts.levels}
    texts = {"day.html": render_day(design, facts)}
    for name, frame in frames.items():
        texts[f"day_{name}.csv"] = csv_text(frame)
    target = Path(folder)
    with written_together(target):
        for name, text in texts.items():
            write_text_whole(target / name, text)
    return [target / name for name in texts]
