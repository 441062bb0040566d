"""What an analysis hands over: sentences, a short table to read, whole tables, charts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from optimizer.explore.changes import change_of, is_change
from optimizer.explore.point import CHOSEN, DESIGNED
from optimizer.explore.sweep import Row, Study
from optimizer.files import write_bytes_whole, write_text_whole
from optimizer.report import theme
from optimizer.report.explorer.page import render_explorer
from optimizer.report.explorer.records import Explorer
from optimizer.report.writer import FORMATS, chart_text, picture

KEY_LETTERS = 12
"""Letters of a point's key that name its design's file; enough to tell any two apart."""

REASONS_MOST = 4
"""Reasons told in the terminal; all are in the tables."""

FIRST = ("design", "outcome", "cost", "bound", *CHOSEN)
"""Columns that come after the changes and before all others."""


@dataclass(frozen=True, eq=False)
class Result:
    """An analysis, told.

    Attributes:
        sentences: the answer in words.
        shown: a short table to read in a terminal; column names are words.
        tables: whole tables by file name without ending.
        charts: charts by file name without ending.
        rows: every row with a design behind it.
        pages: pages to choose a design on, by file name without ending; None where there is none.
    """

    sentences: Sequence[str]
    shown: pd.DataFrame
    tables: Mapping[str, pd.DataFrame]
    charts: Mapping[str, theme.Chart | None] = field(default_factory=dict)
    rows: Sequence[Row] = ()
    pages: Mapping[str, Explorer | None] = field(default_factory=dict)


def table_of(rows: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    """Return rows as a table for a file: no keys but the design's name, columns in order."""
    frame = pd.DataFrame([dict(row) for row in rows])
    if "key" in frame:
        designed = frame["outcome"] == DESIGNED
        names = [design_name(key) for key in frame["key"]]
        frame["design"] = pd.Series(names, index=frame.index).where(designed, "")
        frame = frame.drop(columns="key")
    first = [name for name in FIRST if name in frame]
    changes = [name for name in frame if is_change(str(name))]
    return frame[[*changes, *first, *(n for n in frame if n not in {*changes, *first})]]


def design_name(key: str) -> str:
    """Return the name a point's design is filed under."""
    return key[:KEY_LETTERS]


def write_result(result: Result, study: Study | None, folder: Path) -> list[Path]:
    """Write tables as CSV, charts as SVG and PNG, pages and, given the study, every design.

    Args:
        result: the result.
        study: where its designs are kept; None leaves designs out.
        folder: where to; it must be there.

    Raises:
        OSError: if a file cannot be written.
    """
    written: list[Path] = []
    for name, frame in result.tables.items():
        text = str(frame.to_csv(index=False, lineterminator="\n"))
        written.append(folder / f"{name}.csv")
        write_text_whole(written[-1], text)
    for name, chart in result.charts.items():
        if chart is not None:
            for form in FORMATS:
                written.append(folder / f"{name}.{form}")
                write_bytes_whole(written[-1], picture(chart_text(chart), form))
    for name, explorer in result.pages.items():
        if explorer is not None:
            written.append(folder / f"{name}.html")
            write_text_whole(written[-1], render_explorer(explorer))
    return written + (_write_designs(result.rows, study, folder / "designs") if study else [])


def _write_designs(rows: Sequence[Row], study: Study, folder: Path) -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    written: dict[Path, None] = {}
    for row in (row for row in rows if row["outcome"] == DESIGNED):
        text = study.store.design(str(row["key"]))
        assert text is not None  # a designed row was stored with its design
        path = folder / f"{design_name(str(row['key']))}.json"
        write_text_whole(path, text)
        written[path] = None
    return list(written)


def refusals(rows: Sequence[Row], column: str) -> list[str]:
    """Return why points have no design, each reason once."""
    reasons: dict[str, int] = {}
    for row in rows:
        if row["outcome"] != DESIGNED:
            reasons[row["reason"]] = reasons.get(row["reason"], 0) + 1
    told = [f"{number} without a design: {reason}" for reason, number in reasons.items()]
    return told[:REASONS_MOST] + (
        [f"More reasons are in the table ({column})."] if told[REASONS_MOST:] else []
    )


def checked(rows: Sequence[Row]) -> str:
    """Return what simulation says of the designs of rows, or that it was not asked."""
    designed = [row for row in rows if row["outcome"] == DESIGNED]
    checks = [row["check"] for row in designed]
    stopped = sum(row["status"] != "optimal" for row in designed)
    cut = f"{stopped} searches stopped at the time limit; see their bounds. " if stopped else ""
    if any(check == "not run" for check in checks):
        return f"{cut}These designs were not checked by simulation; check one before you build it."
    failing = sum(check == "fails" for check in checks)
    if failing:
        return f"{cut}{failing} designs fail their check."
    return f"{cut}Every design passes its check." if checks else cut


def amount(value: float | None) -> str:
    """Return money with its cents; nothing for no value."""
    return "" if value is None or pd.isna(value) else f"{value:,.2f}"


def titled(name: str) -> str:
    """Return a change in words with its unit."""
    change = change_of(name)
    return f"{change.words}, {change.unit}" if change.unit else change.words
