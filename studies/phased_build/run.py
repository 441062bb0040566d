"""What must a phased layout of 200 beds buy at once, and what can wait?

python -m studies.phased_build.run            # the full run, some minutes on two shared cores
python -m studies.phased_build.run --quick    # a miniature, some seconds
python -m studies.phased_build.run --redraw   # the charts again, from the tables as they are
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from studies.phased_build.charts import every_chart
from studies.phased_build.experiments import FULL, QUICK, everything
from studies.phased_build.findings import findings_frame
from studies.writing import asked_of, run_study

RESULTS = Path(__file__).parent / "results"


def main(words: Sequence[str] | None = None) -> int:
    """Run the study and write tables and charts; return 0."""
    asked = asked_of(words, __doc__.splitlines()[0], RESULTS)
    size = QUICK if asked.quick else FULL
    return run_study(asked, lambda: everything(size, asked.processes), findings_frame, every_chart)


if __name__ == "__main__":
    raise SystemExit(main())
