"""Many random sites designed and checked: how many designs fail, and is any proof false.

Run ``python -m tests.campaigns.soundness --sites 300 --seed 0 --processes 2``.
"""

from __future__ import annotations

import argparse
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial

from optimizer.errors import SolverFailed
from tests.builders.random_site import random_site
from tests.whole.judge import Verdict, judge

BEDS_MOST = 14
TIME_LIMIT_S = 60.0


def one(seed: int, time_limit_s: float) -> tuple[int, Verdict | str, float]:
    """Return a seed, its verdict or the text of an error, and the seconds it took."""
    started = time.perf_counter()
    try:
        found: Verdict | str = judge(*random_site(seed, BEDS_MOST), time_limit_s)
    except SolverFailed as late:
        found = Verdict("no design in the time allowed", what=str(late))
    except Exception:  # an error is a result here: it is counted and shown
        found = traceback.format_exc(limit=-4)
    return seed, found, time.perf_counter() - started


def main() -> None:
    """Run the campaign and print its counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=300)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--time-limit", type=float, default=TIME_LIMIT_S)
    asked = parser.parse_args()
    counts: Counter[str] = Counter()
    slowest, beds = 0.0, 0
    least: dict[str, tuple[float, int]] = {}
    with ProcessPoolExecutor(asked.processes) as pool:
        seeds = range(asked.seed, asked.seed + asked.sites)
        for seed, found, seconds in pool.map(partial(one, time_limit_s=asked.time_limit), seeds):
            slowest = max(slowest, seconds)
            if isinstance(found, str):
                counts["errors"] += 1
                print(f"seed {seed} error\n{found}", flush=True)
                continue
            beds += found.beds
            counts[found.kind] += 1
            counts["stopped at the time limit"] += found.status == "stopped"
            if found.works_in_share is not None:
                worst = least.get(found.robustness, (1.0, seed))
                least[found.robustness] = min(worst, (found.works_in_share, seed))
            counts["failed checks"] += bool(found.failures)
            counts["bounds above cost"] += found.bound_above_cost
            counts["refusals without a clash"] += found.unexplained
            for failure in found.failures:
                print(f"seed {seed} {failure}", flush=True)
    print(f"{asked.sites} sites from seed {asked.seed}, {beds} beds, slowest {slowest:.1f} s")
    for word, (share, seed) in sorted(least.items()):
        print(f"{word}: every bed works in at least {share:.2%} of draws (least at seed {seed})")
    for name, count in sorted(counts.items()):
        print(f"{count:6d} {name}")


if __name__ == "__main__":
    main()
