"""Print what a sweep costs: time a point beside a single design, engine overhead, two processes.

Run: python -m tests.benchmarks.bench_explore [--points 200] [--only serial] [--quick]
The site is an invented one of 64 places in rows of eight; ratios are taken in one run on one
machine. Each engine begins with an empty store.
"""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import tempfile
import time
from pathlib import Path

from optimizer.explore.engine import Engine, Serial
from optimizer.explore.point import Point, Search, design_point
from optimizer.explore.processes import Processes
from optimizer.explore.sensitivity import FACTORS, default_ranges
from optimizer.explore.store import Store
from optimizer.explore.sweep import Study, run_sweep
from optimizer.job import Job
from optimizer.simulate.whole_check import check_whole
from tests.benchmarks.program_sites import CATALOG, Shape, site_of

SINGLES = 5
WAIT_S, WAITS = 0.25, 60


def job_of(places: int) -> Job:
    return Job(site_of(Shape(rows=places // 8, places=8, beds=places)), CATALOG)


def sensitivity_points(job: Job, number: int) -> list[Point]:
    """So many points over all changes of a sensitivity, one at a time."""
    ranges = default_ranges(Study(job), FACTORS)
    each = -(-number // len(ranges))
    points = [Point({r.name: value}) for r in ranges for value in r.values(max(2, each))]
    return points[:number]


def swept(job: Job, points: list[Point], engine: Engine) -> tuple[float, float, list[dict]]:
    """Seconds by the clock, seconds inside points, and the rows."""
    with tempfile.TemporaryDirectory() as folder, Store(Path(folder) / "points.sqlite") as store:
        begin = time.perf_counter()
        sweep = run_sweep(job, points, engine, store, Search(check=False))
        engine.close()
        return time.perf_counter() - begin, store.seconds(), list(sweep.rows)


def main() -> None:
    ask = argparse.ArgumentParser()
    ask.add_argument("--points", type=int, default=200)
    ask.add_argument("--places", type=int, default=64)
    ask.add_argument("--only", choices=["serial", "engine", "processes", "check"])
    ask.add_argument("--quick", action="store_true", help="12 points on 16 places")
    asked = ask.parse_args()
    number, places = (12, 16) if asked.quick else (asked.points, asked.places)
    job = job_of(places)
    points = sensitivity_points(job, number)
    print(f"{platform.python_version()}, {os.cpu_count()} cores, {places} beds, {number} points")
    parts = {"serial": serial, "engine": engine, "processes": processes, "check": check}
    for name, part in parts.items():
        if asked.only in (None, name):
            part(job, points)
            print(f"(load {os.getloadavg()[0]:.1f})", flush=True)


def serial(job: Job, points: list[Point]) -> None:
    """A single design beside a point of a sweep, and what the sweep adds."""
    shared = (job, Search(check=False))
    begin = time.perf_counter()
    design_point(shared, Point({}))
    print(f"one design alone, nothing warm: {time.perf_counter() - begin:.3f} s")
    singles = []
    for point in points[:: max(1, len(points) // SINGLES)]:
        begin = time.perf_counter()
        design_point(shared, point)
        singles.append(time.perf_counter() - begin)
    print(f"one design alone, warm: {statistics.median(singles):.3f} s (median of {len(singles)})")
    took_s, inside_s, rows = swept(job, points, Serial())
    designed = sum(row["outcome"] == "designed" for row in rows)
    print(
        f"serial: {designed} of {len(points)} designed in {took_s:.1f} s, "
        f"{took_s / len(points):.3f} s a point; "
        f"engine, store and keys {took_s / inside_s - 1.0:.2%}"
    )


def wait_a_little(wait_s: float, _: int) -> None:
    time.sleep(wait_s)


def engine(job: Job, points: list[Point]) -> None:
    """Two processes against one with tasks that only wait: the engine alone, on any machine."""
    del job, points
    took: dict[int, float] = {}
    for workers in (1, 2):
        pool = Processes(workers)
        list(pool.run(wait_a_little, WAIT_S, [0] * workers))  # started
        begin = time.perf_counter()
        list(pool.run(wait_a_little, WAIT_S, range(WAITS)))
        took[workers] = time.perf_counter() - begin
        pool.close()
    over = took[1] / (WAITS * WAIT_S) - 1.0
    print(
        f"{WAITS} tasks that wait {WAIT_S} s: one process {took[1]:.1f} s ({over:.1%} more than "
        f"the waits), two {took[2]:.1f} s: {took[1] / took[2]:.2f} times as fast"
    )


def processes(job: Job, points: list[Point]) -> None:
    """Two processes against one, each started from nothing."""
    one_s, inside_s, rows = swept(job, points, Processes(1))
    print(f"one process: {one_s:.1f} s; beside what points took {one_s / inside_s - 1:.2%}")
    two_s, two_inside_s, two_rows = swept(job, points, Processes(2))
    print(
        f"two processes: {two_s:.1f} s, {one_s / two_s:.2f} times as fast as one; "
        f"points took {two_inside_s:.1f} s in all, {two_inside_s / inside_s:.2f} times as long"
    )
    print(f"the same rows on both: {rows == two_rows}")


def check(job: Job, points: list[Point]) -> None:
    """How much of a checked point its check takes."""
    del points
    study = Study(job, search=Search(check=False))
    check_whole(study.design(study.rows([{"energy_price": 0.1}])[0]))  # imports are warm
    begin = time.perf_counter()
    design = study.design(study.base)
    middle = time.perf_counter()
    check_whole(design)
    end = time.perf_counter()
    print(
        f"check with its day: {end - middle:.2f} s, beside {middle - begin:.2f} s of design: "
        f"{(end - middle) / (end - begin):.0%} of a checked point"
    )


if __name__ == "__main__":
    main()
