"""The design in a terminal: answers first, then kinds, valves, failures and files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import pandas as pd
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.records.safety import SafetyStep
from optimizer.report import tables, words
from optimizer.report.findings import figure_of
from optimizer.report.safety_tables import safety_notes, safety_table
from optimizer.report.scales import Reader, counted, money
from optimizer.report.words_layouts import layout_rows
from optimizer.report.words_near import near_sentences
from optimizer.report.words_ring import ring_sentences
from optimizer.report.words_zones import zones_sentence

VALVE_LINES_SHOWN = 24
OPENING_SPREAD = 0.10
"""Neighbours of one kind share a line while their valve openings differ by no more than this."""
NAMED_MOST = 8
FAILURES_SHOWN = 20


@dataclass(frozen=True)
class _Sort:
    """Files of one sort: how their names end and, for a single file, what it is for."""

    name: str
    endings: tuple[str, ...]
    use: str = ""


USES = {
    "page.html": "the whole answer; open it in a browser",
    "design.json": "the design itself, to check or simulate",
}
TABLES = _Sort("tables", (".csv",))
PICTURES = _Sort("pictures", (".svg", ".png"))


def summary(design: Design, check: CheckReport, files: Sequence[Path] = ()) -> RenderableType:
    """Return the summary as something rich can print; nothing is printed here.

    Text of the site is never read as rich markup.

    Args:
        design: the design.
        check: what simulation says of it.
        files: where its files were written.
    """
    parts: list[RenderableType] = [_answers(design, check), _kinds(design), _valves(design, check)]
    if design.layouts:
        parts.append(_layouts(design))
    if check.failures:
        parts.append(_failures(design, check))
    if files:
        parts.append(Text(files_text(files)))
    return Group(*parts)


def _answers(design: Design, check: CheckReport) -> Table:
    capital, total = words.capital_cents(design), words.total_cents(design)
    costs = (
        f"{money(capital, design.currency)} to buy, {money(total, design.currency)} with running"
    )
    watts, energy = words.watts_sentence(design, check), words.energy_sentence(design)
    nearly = near_sentences(design)
    grid = Table.grid(padding=(0, 2))
    rows: tuple[tuple[str, str], ...] = (
        ("Will it work?", words.verdict(check)),
        ("What to buy", _what_to_buy(design)),
        ("What it costs", f"{costs}\n{words.proof_sentence(design)}"),
        *((("The ring", "\n".join(ring)),) if (ring := ring_sentences(design)) else ()),
        ("What it draws", f"{watts}\n{energy}"),
        *((("Nearly otherwise", "\n".join(nearly)),) if nearly else ()),
    )
    surely = words.surety_sentences(design, check)
    if surely:
        rows = (rows[0], ("How surely", "\n".join(surely)), *rows[1:])
    for question, answer in rows:
        grid.add_row(Text(question, style="bold"), Text(answer))
    return grid


def _kinds(design: Design) -> Table:
    reader = Reader(design.units)
    table = _plain("bed kind", "set to", "works from", "to", "floods")
    for kind in design.kinds:
        window = kind.windows[design.promise.robustness]
        table.add_row(
            Text(kind.label),
            reader.text("flow", kind.inflow_m3_s),
            reader.text("flow", window.low_m3_s),
            reader.text("flow", window.high_m3_s),
            reader.text("frequency", kind.floods_per_hour),
        )
    return table


def _valves(design: Design, check: CheckReport) -> Table:
    reader, groups = Reader(design.units), valve_groups(tables.beds_frame(design, check))
    table = _plain("valves of", "open", f"{reader.bucket} bucket", "inflow")
    for group in groups[:VALVE_LINES_SHOWN]:
        first = group.iloc[0]
        low, high = group["valve_opening"].min(), group["valve_opening"].max()
        same = reader.opening(low) == reader.opening(high)
        table.add_row(
            Text(_bed_range(group)),
            reader.opening(low) if same else reader.span("share", low, high, 2),
            reader.bucket_time(first["bucket_s"]),
            reader.text("flow", first["inflow_m3_s"]),
        )
    left = sum(len(group) for group in groups[VALVE_LINES_SHOWN:])
    if left:
        table.add_row(f"and {counted(left, 'bed')} more, in beds.csv", "", "", "")
    return table


def _layouts(design: Design) -> Table:
    table = _plain("layouts compared", "costs", "more than chosen", "note")
    for row in layout_rows(design):
        table.add_row(*map(Text, row))
    return table


def valve_groups(beds: pd.DataFrame) -> list[pd.DataFrame]:
    """Return runs of neighbouring beds of one row and kind whose openings lie close together.

    Args:
        beds: the frame of beds (:func:`optimizer.report.tables.beds_frame`).
    """
    begins, low, high, before = [], 0.0, 0.0, None
    for place, row in enumerate(beds.to_dict("records")):
        here, opening = (row["row"], row["kind"], row["bucket_s"]), row["valve_opening"]
        low, high = min(low, opening), max(high, opening)
        if here != before or high - low > OPENING_SPREAD:
            begins.append(place)
            before, low, high = here, opening, opening
    return [beds.iloc[a:b] for a, b in pairwise([*begins, len(beds)])]


def _bed_range(group: pd.DataFrame) -> str:
    first, last = group["bed"].iloc[0], group["bed"].iloc[-1]
    return first if len(group) == 1 else f"{first} to {last} ({len(group)} beds)"


def files_text(files: Sequence[Path]) -> str:
    """Return where the files are: page first, then the design, then tables and pictures."""
    names = [path.name for path in files]
    sorts = [_Sort(name, (name,), use) for name, use in USES.items()]
    lines = [f"Files in {files[0].parent}"]
    for sort in (*sorts, TABLES, PICTURES):
        found = [name for name in names if name.endswith(sort.endings)]
        shown = found if len(found) <= NAMED_MOST else [found[0], f"and {len(found) - 1} more"]
        if found:
            named = sort.name in found
            lines.append(f"  {sort.name}: {sort.use if named else ', '.join(shown)}")
    return "\n".join(lines)


def _failures(design: Design, check: CheckReport) -> Table:
    table = _plain("fails", "promised", "simulated", "promise")
    for finding in check.failures[:FAILURES_SHOWN]:
        table.add_row(
            Text(finding.subject),
            Text(figure_of(finding, finding.promised, design)),
            Text(figure_of(finding, finding.simulated, design)),
            Text(finding.promise),
        )
    left = len(check.failures) - FAILURES_SHOWN
    if left > 0:
        table.add_row(f"and {left} more, in findings.csv", "", "", "")
    return table


def _plain(*columns: str) -> Table:
    """Return a table whose first column is words and whose others are figures."""
    table = Table(box=None, padding=(0, 2), title_justify="left", pad_edge=False)
    for number, column in enumerate(columns):
        words_here = number == 0 or column in ("promise", "note")
        table.add_column(column, justify="left" if words_here else "right")
    return table


def safety_summary(steps: Sequence[SafetyStep], files: Sequence[Path] = ()) -> RenderableType:
    """Return what more safety costs as something rich can print.

    Args:
        steps: the levels of safety, least safe first.
        files: where its files were written.
    """
    found = safety_table(steps)
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)  # seven columns in 80
    for name in found.columns:
        table.add_column(name, justify="right" if name in found.figures else "left", no_wrap=True)
    for row in found.rows:
        table.add_row(*(Text(cell) for cell in row))
    parts: list[RenderableType] = [table]
    for level, said in safety_notes(steps):
        lines = [f"  {each}" for each in said]
        parts.append(Text("\n".join([f"For {level}:", *lines])))
    if files:
        parts.append(Text(files_text(files)))
    return Group(*parts)


def _what_to_buy(design: Design) -> str:
    found = (words.beds_sentence, words.pump_sentence, words.sump_sentence, zones_sentence)
    return "\n".join(said for sentence in found if (said := sentence(design)))
