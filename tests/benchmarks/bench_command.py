"""Where the time of one design goes, from site file to page.

``python -m tests.benchmarks.bench_command [site.toml]``
prints the figures of docs/benchmarks.md.
"""

from __future__ import annotations

import argparse
import platform
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from optimizer.candidates.network import candidate_network
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import formulate
from optimizer.milp.engine import Settings, Watch, search
from optimizer.milp.formulations import solve
from optimizer.milp.model import build_model
from optimizer.milp.solve import LESS_THAN_A_CENT
from optimizer.pipeline import read_job
from optimizer.records.design_io import write_design
from optimizer.report.writer import write_report
from optimizer.simulate.check import check_design
from optimizer.simulate.whole_check import check_whole

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "studies" / "demo" / "site.toml"


class Stopwatch:
    """Times pieces of work by name."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}

    def time(self, name: str, work):
        """What a piece of work returns."""
        started = time.perf_counter()
        found = work()
        self.seconds[name] = self.seconds.get(name, 0.0) + time.perf_counter() - started
        return found

    def tell(self, title: str) -> None:
        """Print every piece with its share."""
        whole = sum(self.seconds.values())
        print(f"{title}: {whole:.2f} s")
        for name, seconds in self.seconds.items():
            print(f"  {name:32s} {seconds:6.2f} s {100.0 * seconds / whole:5.1f} %", flush=True)


def start_of_python() -> float:
    """Seconds to start the interpreter and load everything that the verb needs."""
    words = "import optimizer.cli, optimizer.pipeline, optimizer.report.writer"
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", words], cwd=ROOT, check=True)
    return time.perf_counter() - started


def command(path: Path):
    """The road of ``floodwright design``, piece by piece; the tables it made."""
    watch = Stopwatch()
    watch.seconds["start and imports"] = start_of_python()

    job = watch.time("reading and review", lambda: read_job(path))
    network = watch.time("candidates", lambda: candidate_network(job.site))
    made = watch.time("tables", lambda: formulate(job.site, job.catalog, network))
    choice = watch.time("fronts (composed)", lambda: solve(made.problem))
    design = watch.time(
        "assembling", lambda: assemble(job.site, job.catalog, network, made, choice)
    )
    check = watch.time("check, day simulated", lambda: check_whole(design))
    with tempfile.TemporaryDirectory() as folder:

        def written() -> None:
            write_design(design, Path(folder) / "design.json")
            write_report(design, check, Path(folder))

        watch.time("page, tables, design.json", written)
    watch.tell(f"{len(design.beds)} beds, {choice.record.formulation}")
    started = time.perf_counter()
    check_design(design)
    print(f"  of the check, without its day: {time.perf_counter() - started:.2f} s")
    return made.problem


def complete(problem) -> None:
    """The complete program in place of the fronts: the modelling library and the solver apart."""

    watch = Stopwatch()
    model = watch.time("Pyomo: rows and columns", lambda: build_model(problem))
    settings = Settings(1e-4, LESS_THAN_A_CENT, 120.0, 0)
    watch.time("HiGHS, handing over counted", lambda: search(model, settings, Watch(_never())))
    watch.tell("the complete program on the same tables")


def _never() -> threading.Event:
    return threading.Event()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("site", nargs="?", type=Path, default=DEMO)
    asked = parser.parse_args()
    print(platform.platform(), platform.python_version(), time.strftime("%Y-%m-%d"))
    complete(command(asked.site))


if __name__ == "__main__":
    main()
