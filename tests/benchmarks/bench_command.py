"""Where the time of one design goes, from site file to page.

``python -m tests.benchmarks.bench_command [site.toml] [--complete]``
prints the figures of docs/benchmarks.md.
"""

from __future__ import annotations

import argparse
import os
import platform
import re
import subprocess
import sys
import tempfile
import threading
import time
from functools import partial
from pathlib import Path
from statistics import median

from optimizer.candidates.network import candidate_network
from optimizer.cli import OBJECTS_BETWEEN
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import formulate
from optimizer.milp.engine import Settings, Watch, search
from optimizer.milp.formulations import solve
from optimizer.milp.model import build_model
from optimizer.milp.solve import LESS_THAN_A_CENT
from optimizer.near_misses import with_near_misses
from optimizer.pipeline import read_job
from optimizer.records.design_io import write_design
from optimizer.report.writer import write_report
from optimizer.simulate.check import check_design
from optimizer.simulate.whole_check import check_whole

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "studies" / "demo" / "site.toml"


PYTHONS_OWN = 700
"""New objects between two looks of Python's collector where nobody says otherwise."""

LOADED = 5
"""Times that everything is loaded with each of the two collectors, in turn."""


class Stopwatch:
    """Times pieces of work by name, in seconds of the processor: other work does not count."""

    def __init__(self, seconds: dict[str, float] | None = None) -> None:
        self.seconds = seconds or {}

    def time(self, name: str, work):
        """What a piece of work returns."""
        started = time.process_time()
        found = work()
        self.seconds[name] = self.seconds.get(name, 0.0) + time.process_time() - started
        return found

    def tell(self, title: str) -> None:
        """Print every piece with its share."""
        whole = sum(self.seconds.values())
        print(f"{title}: {whole:.2f} s")
        for name, seconds in self.seconds.items():
            print(f"  {name:32s} {seconds:6.2f} s {100.0 * seconds / whole:5.1f} %", flush=True)


def start_of_python(told: Path) -> float:
    """Processor's seconds to start the interpreter and load everything that the verb needs.

    Byte code is kept, as ``pip install`` keeps it: a first run, not timed, writes it. A last one
    writes into ``told`` what every module took.
    """
    words = "from optimizer.cli import main; import optimizer.alternatives, optimizer.report.writer"
    kept = {key: text for key, text in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    kept["PYTHONPYCACHEPREFIX"] = str(told.parent)
    run = partial(subprocess.run, cwd=ROOT, env=kept, check=True)
    run([sys.executable, "-c", words])
    seconds: dict[int, list[float]] = {PYTHONS_OWN: [], OBJECTS_BETWEEN: []}
    for _ in range(LOADED):
        for between, spent in seconds.items():
            before = _of_children()
            run([sys.executable, "-c", f"import gc; gc.set_threshold({between}); {words}"])
            spent.append(_of_children() - before)
    own, ours = (median(spent) for spent in seconds.values())
    print(f"loading: {ours:.2f} s, {ours / own:.2f} of {own:.2f} s with Python's own collector")
    with told.open("w") as file:
        run([sys.executable, "-X", "importtime", "-c", words], stderr=file)
    return ours


def _of_children() -> float:
    spent = os.times()
    return spent.children_user + spent.children_system


def loaded(told: Path) -> dict[str, float]:
    """Seconds in the modules of each library themselves, those above a hundredth of all."""
    line = re.compile(r"import time: +(\d+) \| +\d+ \| +(\w+)")
    found: dict[str, float] = {}
    for own_us, library in line.findall(told.read_text()):
        found[library] = found.get(library, 0.0) + int(own_us) / 1e6
    least = sum(found.values()) / 100.0
    large = {name: s for name, s in sorted(found.items(), key=lambda x: -x[1]) if s > least}
    return large | {"all others": sum(found.values()) - sum(large.values())}


def command(path: Path):
    """The road of ``floodwright design``, piece by piece; the tables it made."""
    watch = Stopwatch()
    with tempfile.TemporaryDirectory() as folder:
        watch.seconds["start and imports"] = start_of_python(Path(folder) / "told.txt")
        libraries = Stopwatch(loaded(Path(folder) / "told.txt"))

    job = watch.time("reading and review", lambda: read_job(path))
    network = watch.time("candidates", lambda: candidate_network(job.site))
    made = watch.time("tables", lambda: formulate(job.site, job.catalog, network))
    choice = watch.time("fronts (composed)", lambda: solve(made.problem))
    design = watch.time(
        "assembling", lambda: assemble(job.site, job.catalog, network, made, choice)
    )
    near = watch.time("near misses", lambda: with_near_misses(design, job))
    check = watch.time("check, day simulated", lambda: check_whole(near))
    with tempfile.TemporaryDirectory() as folder:

        def written() -> None:
            write_design(near, Path(folder) / "design.json")
            write_report(near, check, Path(folder))

        watch.time("page, tables, design.json", written)
    title = f"{len(design.beds)} beds, {choice.record.formulation}"
    watch.tell(title)
    del watch.seconds["near misses"]
    watch.tell(f"{title}, without near misses (--no-nearly)")
    started = time.process_time()
    check_design(design)
    print(f"  of the check, without its day: {time.process_time() - started:.2f} s")
    libraries.tell("of start and imports, by the clock with every module timed")
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
    parser.add_argument("--complete", action="store_true", help="the complete program too")
    asked = parser.parse_args()
    print(platform.platform(), platform.python_version(), time.strftime("%Y-%m-%d"))
    problem = command(asked.site)
    if asked.complete:
        complete(problem)


if __name__ == "__main__":
    main()
