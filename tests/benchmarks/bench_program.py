"""How fast the composed program is, beside the complete program and a general search.

``python -m tests.benchmarks.bench_program [--quick] [--only NAME] [--complete-s 60]``
prints the figures of docs/benchmarks.md: fixed inflows, counts, front, evolution and the whole
command on the demo site. Times are by the clock,
medians of three runs or seeds where no other number is said; CPU is the processor's own time.
"""

from __future__ import annotations

import argparse
import platform
import time
from dataclasses import replace
from functools import partial
from importlib import import_module
from importlib.util import find_spec
from statistics import median

import numpy as np

from optimizer.errors import SolverFailed
from optimizer.milp.composed import solve_composed
from optimizer.milp.solve import solve_complete
from tests.benchmarks.bench_command import DEMO
from tests.benchmarks.bench_command import command as command_on
from tests.benchmarks.program_evolution import Evolution
from tests.benchmarks.program_sites import Shape, problem_of

SEEDS = (0, 1, 2)
TIMES_OURS = 50.0
COMPLETE_S = 60.0  # the complete program is stopped here
RETURNS_S = 100.0  # and the composed one on free counts with return pipe


def timed(run):
    """(Seconds, what it returns)."""
    seconds, _, found = timed_twice(run)
    return seconds, found


def timed_twice(run):
    """(Seconds by the clock, seconds of the processor, what it returns)."""
    started, used = time.perf_counter(), time.process_time()
    found = run()
    return time.perf_counter() - started, time.process_time() - used, found


def composed(problem, gap, times=3, limit_s=None):
    """Median seconds by the clock and of the processor over some runs, and the record."""
    runs = [
        timed_twice(lambda: solve_composed(problem, gap=gap, time_limit_s=limit_s).record)
        for _ in range(times)
    ]
    return median(s for s, _, _ in runs), median(c for _, c, _ in runs), runs[0][2]


def solved(problem, gap, seed, limit_s):
    return solve_complete(problem, gap=gap, seed=seed, time_limit_s=limit_s).record


def complete(problem, gap, limit_s, seeds):
    """Median seconds over seeds, and the record of the first; None where no design was found."""
    runs = []
    for seed in seeds:
        try:
            runs.append(timed(lambda s=seed: solved(problem, gap, s, limit_s)))
        except SolverFailed:
            return limit_s, None
    return median(s for s, _ in runs), runs[0][1]


def said(record) -> str:
    if record is None:
        return "no design"
    return f"{record.cost_cents / 100:,.2f}, gap {100 * record.gap:.4f} %"


def both(seconds: float, cpu: float) -> str:
    return f"composed {seconds:.2f} s ({cpu:.2f} s CPU)"


def told(line: str) -> None:
    print(line, flush=True)


def fixed(quick: bool, limit_s: float) -> None:
    """Every place built, one bed option: time against beds, and the complete program beside it."""
    shapes = [Shape(4, 16, 64), Shape(8, 16, 128), Shape(16, 16, 256)]
    if not quick:
        shapes += [
            Shape(16, 32, 512, speed_m_s=2.5),
            Shape(32, 32, 1024, speed_m_s=2.5),
            Shape(64, 64, 4096, speed_m_s=2.5, pumps=30, sumps=150, wide_pipe=True),
        ]
    told("fixed inflows (gap 0.01 %)")
    beds, seconds = [], []
    for shape in shapes:
        made, problem = timed(lambda s=shape: problem_of(s))
        took, cpu, record = composed(problem, 1e-4, 1 if shape.beds > 2000 else len(SEEDS))
        beds.append(shape.beds)
        seconds.append(took)
        told(f"  {shape.beds} beds: formulate {made:.1f} s, {both(took, cpu)}, {said(record)}")
        if shape.beds == (128 if quick else 1024):
            other, theirs = complete(problem, 1e-4, limit_s, SEEDS)
            told(f"    complete {other:.1f} s, {said(theirs)}: {other / took:.0f} times longer")
    slope = np.polyfit(np.log(beds), np.log(seconds), 1)[0]
    told(f"  time grows as beds to the power {slope:.2f}")


COUNTS = (
    ("128 places, 1 type", Shape(8, 16, 96, kits=3), 1e-4),
    ("128 places, water returns", Shape(8, 16, 96, kits=3, non_return_valve=False), 1e-4),
    ("128 places, 2 types", Shape(8, 16, 96, types=2, kits=3), 1e-4),
    ("512 places, 1 type", Shape(16, 32, 384, kits=3, speed_m_s=2.5), 5e-4),
)


def counts(quick: bool, limit_s: float) -> None:
    """Beds in each row, siphon kit (of three), bed type and pump together."""
    told("bed counts, kit, type and pump")
    for name, shape, gap in COUNTS[: 1 if quick else None]:
        made, problem = timed(lambda s=shape: problem_of(s))
        took, cpu, record = composed(problem, gap)
        told(f"  {name}: formulate {made:.1f} s, {both(took, cpu)}, {said(record)}")
        if not quick:
            other, theirs = complete(problem, gap, limit_s, SEEDS[:1])
            told(f"    complete {other:.0f} s, one seed, {said(theirs)}")
    if not quick:
        problem = problem_of(Shape(8, 16, 100, kits=3, returns=True), step_m=0.3)
        took, cpu, record = composed(problem, 1e-4, 1, RETURNS_S)
        told(f"  100 of 128 places on two levels, return pipe: {both(took, cpu)}, {said(record)}")


FRONT = Shape(8, 16, 128, kits=3, pumps=12, speed_m_s=2.0, containers=("box_120x120",))


def front(quick: bool, limit_s: float) -> None:
    """Cost against floods an hour on 128 beds, formulated and solved again at each point."""
    wanted = np.linspace(1.0, 3.5, 4 if quick else 20)
    every = 1 if quick else 4
    formulating = ours = theirs = 0.0
    costs, stopped = [], 0
    for n, floods in enumerate(wanted):
        shape = replace(FRONT, floods=float(floods))
        seconds, problem = timed(lambda s=shape: problem_of(s))
        took, choice = timed(lambda p=problem: solve_composed(p))
        formulating, ours = formulating + seconds, ours + took
        costs.append(choice.record.cost_cents)
        if n % every == 0:
            other, record = timed(lambda p=problem: solved(p, 1e-4, 0, limit_s))
            theirs += every * (seconds + other)
            stopped += record.status == "stopped"
    told(f"front of {len(wanted)} points, 128 beds (complete: one in {every}, scaled up)")
    told(f"  cost rises from {min(costs) / 100:,.2f} to {max(costs) / 100:,.2f}")
    told(f"  formulate {formulating:.1f} s, composed {ours:.1f} s")
    told(f"  rebuilt and solved complete {theirs:.0f} s ({stopped} stopped at {limit_s:.0f} s)")
    told(f"  {theirs / (ours + formulating):.0f} times faster, formulating counted on both sides")


def evolution(quick: bool, limit_s: float) -> None:
    """Two general searches on 128 beds, given many times our time."""
    del limit_s
    problem = problem_of(Shape(8, 16, 128))
    choice = solve_composed(problem, gap=0.0)
    took, _, _ = composed(problem, 0.0)
    search, ours = Evolution(problem, choice), choice.record.cost_cents
    seconds = TIMES_OURS * took
    kinds = {"differential evolution": search.differential}
    if find_spec("pymoo") is None:
        told("genetic algorithm left out: pip install -e '.[bench]'")
    else:
        library = import_module("tests.benchmarks.program_genetic")
        kinds["genetic algorithm"] = partial(library.genetic, search)
    for name, run in kinds.items():
        for handed in (False, True):
            found = [run(seconds, s, handed=handed) for s in SEEDS[: 1 if quick else None]]
            above = 100.0 * (median(found) / ours - 1.0)
            pump = "our pump handed" if handed else "own pump"
            told(f"{name}, {seconds:.1f} s, {pump}: {above:.1f} % above our optimum")


def command(quick: bool, limit_s: float) -> None:
    """Where the time of the whole command goes on the demo site."""
    del quick, limit_s
    for _ in SEEDS:
        command_on(DEMO)


PARTS = {
    "fixed": fixed,
    "counts": counts,
    "front": front,
    "evolution": evolution,
    "command": command,
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--only", choices=PARTS)
    parser.add_argument("--complete-s", type=float, default=COMPLETE_S)
    asked = parser.parse_args()
    print(platform.platform(), platform.python_version(), time.strftime("%Y-%m-%d"))
    for name, part in PARTS.items():
        if asked.only in (None, name):
            part(asked.quick, asked.complete_s)


if __name__ == "__main__":
    main()
