"""The design in a terminal: answers first, then kinds, valves, failures and files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.report import tables, words
from optimizer.report.scales import Reader, money

VALVES_SHOWN = 40
FAILURES_SHOWN = 20


def summary(design: Design, check: CheckReport, files: Sequence[Path] = ()) -> RenderableType:
    """Return the summary as something rich can print; nothing is printed here.

    Text of the site is never read as rich markup.

    Args:
        design: the design.
        check: what simulation says of it.
        files: where its files were written.
    """
    parts: list[RenderableType] = [_answers(design, check), _kinds(design), _valves(design, check)]
    if check.failures:
        parts.append(_failures(design, check))
    if files:
        parts.append(Text("\n".join(("Files", *(f"  {path}" for path in files)))))
    return Group(*parts)


def _answers(design: Design, check: CheckReport) -> Table:
    capital, total = words.capital_cents(design), words.total_cents(design)
    costs = (
        f"{money(capital, design.currency)} to buy, {money(total, design.currency)} with running"
    )
    watts, energy = words.watts_sentence(design, check), words.energy_sentence(design)
    grid = Table.grid(padding=(0, 2))
    rows = (
        ("Will it work?", words.verdict(check)),
        ("What to buy", f"{words.beds_sentence(design)}\n{words.pump_sentence(design)}"),
        ("What it costs", f"{costs}\n{words.proof_sentence(design)}"),
        ("What it draws", f"{watts}\n{energy}"),
    )
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
    reader, frame = Reader(design.units), tables.beds_frame(design, check)
    table = _plain("valve of", "10 L bucket", "opening", "inflow")
    for row in frame.head(VALVES_SHOWN).to_dict("records"):
        table.add_row(
            Text(row["bed"]),
            f"{row['bucket_s']:.1f} s",
            reader.text("share", row["valve_opening"]),
            reader.text("flow", row["inflow_m3_s"]),
        )
    if len(frame) > VALVES_SHOWN:
        table.add_row(f"and {len(frame) - VALVES_SHOWN} more, in beds.csv", "", "", "")
    return table


def _failures(design: Design, check: CheckReport) -> Table:
    reader = Reader(design.units)
    table = _plain("fails", "promised", "simulated", "promise")
    for finding in check.failures[:FAILURES_SHOWN]:
        table.add_row(
            Text(finding.subject),
            reader.si_text(finding.unit, finding.promised),
            reader.si_text(finding.unit, finding.simulated),
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
        words_here = number == 0 or column == "promise"
        table.add_column(column, justify="left" if words_here else "right")
    return table
