"""What every study does with its results: tables as CSV, charts as SVG and PNG."""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pandas as pd

from optimizer.files import write_bytes_whole, write_text_whole
from optimizer.report import theme
from optimizer.report.writer import FORMATS, picture

Tables = dict[str, pd.DataFrame]
Charts = Mapping[str, theme.Chart]


def write_tables(tables: Mapping[str, pd.DataFrame], folder: Path) -> None:
    """Write every table as CSV, six figures long."""
    for name, table in tables.items():
        text = table.to_csv(index=False, float_format="%.6g", lineterminator="\n")
        write_text_whole(folder / f"{name}.csv", text)


def write_charts(charts: Charts, folder: Path) -> None:
    """Draw every chart as SVG and PNG."""
    for name, chart in charts.items():
        spec = json.dumps(chart.to_dict(validate=False))
        for form in FORMATS:
            write_bytes_whole(folder / f"{name}.{form}", picture(spec, form))


def read_tables(folder: Path) -> Tables:
    """Read every table of a folder."""
    return {path.stem: pd.read_csv(path) for path in sorted(folder.glob("*.csv"))}


def asked_of(words: Sequence[str] | None, about: str, out: Path) -> argparse.Namespace:
    """Return the options that every study takes.

    Args:
        words: the command's words, or None for those of the process.
        about: what the study asks.
        out: where results go by default.
    """
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("--quick", action="store_true", help="a miniature, some seconds")
    parser.add_argument("--redraw", action="store_true", help="charts only, from the tables there")
    parser.add_argument("--out", default=str(out), help="folder for tables and charts")
    parser.add_argument("--processes", type=int, default=2, help="cases run side by side")
    return parser.parse_args(words)


def run_study(
    asked: argparse.Namespace,
    everything: Callable[[], Tables],
    findings: Callable[[Mapping[str, pd.DataFrame]], pd.DataFrame],
    charts: Callable[[Mapping[str, pd.DataFrame]], Charts],
) -> int:
    """Run or redraw a study, write its tables and charts, say where they are; return 0.

    Findings and charts are made from the tables as written, so that they can be made again.

    Args:
        asked: options of :func:`asked_of`.
        everything: makes the tables.
        findings: makes the table of every figure that the written answer quotes.
        charts: draws the tables.
    """
    begin, folder = time.monotonic(), Path(asked.out)
    folder.mkdir(parents=True, exist_ok=True)
    if not asked.redraw:
        write_tables(everything(), folder)
    tables = {name: table for name, table in read_tables(folder).items() if name != "findings"}
    write_tables({"findings": findings(tables)}, folder)
    write_charts(charts(tables), folder)
    spent = time.monotonic() - begin
    print(f"Tables and charts are in {folder}; findings.csv has every figure ({spent:.0f} s).")
    return 0
