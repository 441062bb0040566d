"""Do siphons on one pump fall into step, when, and does Hunter's count mislead? Run the study.

python -m studies.in_step.run            # the full run, 7 to 18 minutes on two shared cores
python -m studies.in_step.run --quick    # a miniature, some seconds
python -m studies.in_step.run --redraw   # the charts again, from the tables as they are
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from studies.in_step.charts import every_chart
from studies.in_step.experiments import everything
from studies.in_step.findings import findings_frame
from studies.in_step.sizes import FULL, QUICK
from studies.writing import asked_of, run_study

RESULTS = Path(__file__).parent / "results"


def main(words: Sequence[str] | None = None) -> int:
    """Run the study and write tables and charts; return 0."""
    asked = asked_of(words, __doc__.splitlines()[0], RESULTS)
    size = QUICK if asked.quick else FULL
    return run_study(asked, lambda: everything(size, asked.processes), findings_frame, every_chart)


if __name__ == "__main__":
    raise SystemExit(main())
