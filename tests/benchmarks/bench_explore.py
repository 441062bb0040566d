"""Print what a sweep costs: time a point beside a single design, engine overhead, two processes.

Run: python -m tests.benchmarks.bench_explore [--points 200] [--quick]
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

from optimizer.explore.engine import Engine, Processes, Serial
from optimizer.explore.point import Point, Search, design_point
from optimizer.explore.sensitivity import FACTORS, default_ranges
from optimizer.explore.store import Store
from optimizer.explore.sweep import Study, run_sweep
from optimizer.pipeline import Job
from optimizer.simulate.whole_check import check_whole
from tests.benchmarks.program_sites import CATALOG, Shape, site_of

SINGLES = 5


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
    ask.add_argument("--quick", action="store_true", help="12 points on 16 places")
    asked = ask.parse_args()
    number, places = (12, 16) if asked.quick else (asked.points, asked.places)
    job = job_of(places)
    points = sensitivity_points(job, number)
    print(f"{platform.python_version()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")

    shared = (job, Search(check=False))
    design_point(shared, Point({}))  # imports and caches are warm
    singles = []
    for point in points[:: max(1, number // SINGLES)]:
        begin = time.perf_counter()
        design_point(shared, point)
        singles.append(time.perf_counter() - begin)
    single_s = statistics.median(singles)
    print(f"one design alone, {places} beds: {single_s:.3f} s (median of {len(singles)})")

    one_s, inside_s, rows = swept(job, points, Serial())
    designed = sum(row["outcome"] == "designed" for row in rows)
    print(
        f"serial: {number} points ({designed} designed) in {one_s:.1f} s, "
        f"{one_s / number:.3f} s a point; engine, store and keys {one_s / inside_s - 1.0:.2%}"
    )
    pool_s, pool_inside_s, pool_rows = swept(job, points, Processes(1))
    print(f"one process: {pool_s:.1f} s; beside what points took {pool_s / pool_inside_s - 1:.2%}")
    two_s, two_inside_s, two_rows = swept(job, points, Processes(2))
    print(
        f"two processes: {two_s:.1f} s, {pool_s / two_s:.2f} times as fast as one process, "
        f"{one_s / two_s:.2f} times as fast as serial; points took {two_inside_s:.1f} s in all"
    )
    print(f"the same rows on every engine: {rows == pool_rows == two_rows}")
    share(job)


def share(job: Job) -> None:
    """How much of a checked point its check takes."""
    study = Study(job, search=Search(check=False))
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
