"""Write docs/pictures: charts of the demo site's design, as the pages of docs/ show them.

Run it from the clone after a change of the demo site, the program or the charts::

    python -m tests.docs.make_pictures
"""

from __future__ import annotations

from pathlib import Path

from optimizer.files import write_bytes_whole
from optimizer.pipeline import design_job, read_job
from optimizer.report.charts.every import chart_specs
from optimizer.report.writer import chart_text, picture

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "docs" / "pictures"
SITE = ROOT / "studies" / "demo" / "site.toml"
SHOWN = ("plan", "windows", "costs", "cycle_1")


def drawings() -> dict[str, bytes]:
    """Return the charts shown, as SVG by name."""
    answer = design_job(read_job(SITE), nearly=False)
    specs = chart_specs(answer.design, answer.check)
    return {name: picture(chart_text(specs[name]), "svg") for name in SHOWN}


def main() -> None:
    """Write them all."""
    for name, drawn in drawings().items():
        write_bytes_whole(FOLDER / f"{name}.svg", drawn)


if __name__ == "__main__":
    main()
