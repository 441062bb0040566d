"""How much of optimizer/ the tests walk through, branch by branch; below 95 % it answers 1.

python -m tests.campaigns.branches [--processes 2] [--only tests/milp] [--lowest 20]
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LEFT_OUT = "tests/cli/test_loading.py"
"""Says which libraries a command loads; what measures here loads some itself."""

LEAST_PERCENT = 95.0


def measured(processes: int, only: list[str], report: Path) -> int:
    """Run the tests under coverage, child processes too, and write the report as JSON."""
    return subprocess.run(
        [
            *(sys.executable, "-m", "pytest", "-q", "-n", str(processes), *only),
            f"--ignore={LEFT_OUT}",
            *("--cov", "--cov-branch", f"--cov-report=json:{report}", "-p", "no:cacheprovider"),
        ],
        cwd=ROOT,
        check=False,
    ).returncode


def excluded_by_hand() -> list[str]:
    """Return each line that is marked as not counted, with the reason written beside it."""
    marked = []
    for path in sorted((ROOT / "optimizer").rglob("*.py")):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if "pragma: no" in line:
                reason = line.split("pragma: no", 1)[1].partition(" - ")[2] or "NO REASON GIVEN"
                marked.append(f"{path.relative_to(ROOT)}:{number}: {reason}")
    return marked


def lines_of(report: dict[str, dict[str, object]], lowest: int) -> list[str]:
    """Return the share of lines and branches walked, in all and of the least walked files."""
    files = {name: found["summary"] for name, found in report["files"].items()}
    worst = sorted(files, key=lambda name: _missed(files[name]), reverse=True)[:lowest]
    all_of_it = report["totals"]
    return [
        *(f"{_missed(files[n]):5d} missed, {_percent(files[n]):5.1f} %: {n}" for n in worst),
        f"lines {all_of_it['covered_lines']} of {all_of_it['num_statements']}, branches "
        f"{all_of_it['covered_branches']} of {all_of_it['num_branches']} "
        f"({100 * all_of_it['covered_branches'] / all_of_it['num_branches']:.2f} %), "
        f"both together {all_of_it['percent_covered']:.2f} %",
    ]


def _missed(summary: dict[str, int]) -> int:
    return summary["missing_lines"] + summary["missing_branches"]


def _percent(summary: dict[str, float]) -> float:
    return summary["percent_covered"]


def main() -> int:
    """Run the tests and print what they did not walk through."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--only", nargs="*", default=[])
    parser.add_argument("--lowest", type=int, default=20)
    parser.add_argument("--keep", type=Path, help="where the whole report is written, as JSON")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = (asked.keep or Path(folder) / "branches.json").resolve()
        failed = measured(asked.processes, asked.only, path)
        report = json.loads(path.read_text(encoding="utf-8"))
    print("\n".join(lines_of(report, asked.lowest)))
    marked = excluded_by_hand()
    print("\n".join([*marked, f"{len(marked)} lines marked as not counted"]))
    totals = report["totals"]
    branches = 100 * totals["covered_branches"] / totals["num_branches"]
    return 1 if failed or branches < LEAST_PERCENT else 0


if __name__ == "__main__":
    sys.exit(main())
