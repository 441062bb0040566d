"""Which pump should be bought, while the price of energy and the siphons are uncertain?

python -m studies.pump_choice.run            # the full run, some minutes on two shared cores
python -m studies.pump_choice.run --quick    # a miniature, some seconds
python -m studies.pump_choice.run --redraw   # the charts again, from the tables as they are
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from studies.pump_choice.charts import every_chart
from studies.pump_choice.experiments import FULL, QUICK, everything
from studies.pump_choice.findings import findings_frame
from studies.writing import asked_of, run_study

RESULTS = Path(__file__).parent / "results"


def main(words: Sequence[str] | None = None) -> int:
    """Run the study and write tables and charts; return 0."""
    asked = asked_of(words, __doc__.splitlines()[0], RESULTS)
    size = QUICK if asked.quick else FULL
    return run_study(asked, lambda: everything(size, asked.processes), findings_frame, every_chart)


if __name__ == "__main__":
    raise SystemExit(main())
