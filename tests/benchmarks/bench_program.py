"""How fast the composed program is, beside the complete program and a general search.

``python -m tests.benchmarks.bench_program [--quick] [--only NAME]``
prints the figures of docs/benchmarks.md.
"""

from __future__ import annotations

import argparse
import platform
import time
from statistics import median

import numpy as np

from optimizer.errors import SolverFailed
from optimizer.milp.composed import solve_composed
from optimizer.milp.solve import solve_complete
from tests.benchmarks.program_evolution import Evolution
from tests.benchmarks.program_sites import Shape, problem_of

SEEDS = (0, 1, 2)
TIMES_OURS = 50.0


def timed(run):
    """(Seconds, what it returns)."""
    started = time.perf_counter()
    found = run()
    return time.perf_counter() - started, found


def composed(problem, gap):
    """Median seconds over three runs, and the record."""
    runs = [timed(lambda: solve_composed(problem, gap=gap).record) for _ in SEEDS]
    return median(s for s, _ in runs), runs[0][1]


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


def told(line: str) -> None:
    print(line, flush=True)


def fixed(quick: bool) -> None:
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
        took, record = composed(problem, 1e-4)
        beds.append(shape.beds)
        seconds.append(took)
        told(f"  {shape.beds} beds: formulate {made:.1f} s, composed {took:.2f} s, {said(record)}")
        if shape.beds == (128 if quick else 1024):
            other, theirs = complete(problem, 1e-4, 400.0, SEEDS)
            told(f"    complete {other:.1f} s, {said(theirs)}: {other / took:.0f} times longer")
    slope = np.polyfit(np.log(beds), np.log(seconds), 1)[0]
    told(f"  time grows as beds to the power {slope:.2f}")


COUNTS = (
    ("128 places, 1 type", Shape(8, 16, 96, kits=3), 1e-4),
    ("128 places, water returns", Shape(8, 16, 96, kits=3, non_return_valve=False), 1e-4),
    ("128 places, 2 types", Shape(8, 16, 96, types=2, kits=3), 1e-4),
    ("512 places, 1 type", Shape(16, 32, 384, kits=3, speed_m_s=2.5), 5e-4),
)


def counts(quick: bool) -> None:
    """Beds in each row, siphon kit (of three), bed type and pump together."""
    told("bed counts, kit, type and pump")
    for name, shape, gap in COUNTS[: 1 if quick else None]:
        made, problem = timed(lambda s=shape: problem_of(s))
        took, record = composed(problem, gap)
        told(f"  {name}: formulate {made:.1f} s, composed {took:.2f} s, {said(record)}")
        if not quick:
            other, theirs = complete(problem, gap, 120.0, SEEDS[:1])
            told(f"    complete {other:.0f} s, {said(theirs)}")


def front(quick: bool) -> None:
    """Cost against floods an hour on 128 beds, formulated and solved again at each point."""
    wanted = np.linspace(0.8, 2.0, 4 if quick else 20)
    formulating = ours = theirs = 0.0
    every = 1 if quick else 5
    for n, floods in enumerate(wanted):
        shape = Shape(8, 16, 128, kits=3, floods=float(floods))
        seconds, problem = timed(lambda s=shape: problem_of(s))
        formulating += seconds
        ours += timed(lambda p=problem: solve_composed(p))[0]
        if n % every == 0:
            theirs += every * timed(lambda p=problem: solve_complete(p, time_limit_s=120.0))[0]
    told(f"front of {len(wanted)} points, 128 beds (complete: one in {every}, scaled up)")
    told(f"  formulate {formulating:.1f} s, composed {ours:.1f} s, complete {theirs:.1f} s")
    whole = (theirs + formulating) / (ours + formulating)
    told(f"  {theirs / ours:.0f} times faster, {whole:.1f} times with formulating")


def evolution(quick: bool) -> None:
    """Differential evolution on 128 beds, given many times our time."""
    problem = problem_of(Shape(8, 16, 128))
    took, choice = timed(lambda: solve_composed(problem, gap=0.0))
    search, ours = Evolution(problem, choice), choice.record.cost_cents
    seconds = TIMES_OURS * took
    for handed in (False, True):
        found = [search.run(seconds, s, handed=handed) for s in SEEDS[: 1 if quick else None]]
        above = 100.0 * (median(found) / ours - 1.0)
        pump = "our pump handed" if handed else "own pump"
        told(f"differential evolution, {seconds:.1f} s, {pump}: {above:.1f} % above our optimum")


PARTS = {"fixed": fixed, "counts": counts, "front": front, "evolution": evolution}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--only", choices=PARTS)
    asked = parser.parse_args()
    print(platform.platform(), platform.python_version(), time.strftime("%Y-%m-%d"))
    for name, part in PARTS.items():
        if asked.only in (None, name):
            part(asked.quick)


if __name__ == "__main__":
    main()
