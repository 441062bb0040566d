"""Do siphons on one pump fall into step, when, and does Hunter's count mislead? Run the study.

python -m studies.in_step.run            # the full run, 7 to 18 minutes on two shared cores
python -m studies.in_step.run --quick    # a miniature, some seconds
python -m studies.in_step.run --redraw   # the charts again, from the tables as they are
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

import pandas as pd

from optimizer.files import write_bytes_whole, write_text_whole
from optimizer.report.writer import FORMATS, picture
from studies.in_step.charts import every_chart
from studies.in_step.experiments import everything
from studies.in_step.findings import findings_frame
from studies.in_step.sizes import FULL, QUICK

RESULTS = Path(__file__).parent / "results"


def main(words: Sequence[str] | None = None) -> int:
    """Run the study and write tables and charts; return 0."""
    asked = _asked(words)
    begin, folder = time.monotonic(), Path(asked.out)
    folder.mkdir(parents=True, exist_ok=True)
    if asked.redraw:
        tables = {path.stem: pd.read_csv(path) for path in sorted(folder.glob("*.csv"))}
    else:
        tables = everything(QUICK if asked.quick else FULL, asked.processes)
    tables["findings"] = findings_frame(tables)
    write_tables(tables, folder)
    write_charts(tables, folder)
    spent = time.monotonic() - begin
    print(f"Tables and charts are in {folder}; findings.csv has every figure ({spent:.0f} s).")
    return 0


def write_tables(tables: Mapping[str, pd.DataFrame], folder: Path) -> None:
    """Write every table as CSV, six figures long."""
    for name, table in tables.items():
        text = table.to_csv(index=False, float_format="%.6g", lineterminator="\n")
        write_text_whole(folder / f"{name}.csv", text)


def write_charts(tables: Mapping[str, pd.DataFrame], folder: Path) -> None:
    """Draw every chart as SVG and PNG."""
    for name, chart in every_chart(tables).items():
        spec = json.dumps(chart.to_dict(validate=False))
        for form in FORMATS:
            write_bytes_whole(folder / f"{name}.{form}", picture(spec, form))


def _asked(words: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="a miniature of every experiment")
    parser.add_argument("--redraw", action="store_true", help="charts only, from the tables there")
    parser.add_argument("--out", default=str(RESULTS), help="folder for tables and charts")
    parser.add_argument("--processes", type=int, default=2, help="cases run side by side")
    return parser.parse_args(words)


if __name__ == "__main__":
    raise SystemExit(main())
