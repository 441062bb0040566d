"""Many random sites solved by both programs: do they agree, and is any bound false?

Run ``python -m tests.campaigns.agreement --sites 300 --processes 2``.
"""

from __future__ import annotations

import argparse
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial

from tests.whole.agree import Agreement, compare

BEDS_MOST = 10
TIME_LIMIT_S = 30.0


def one(seed: int, time_limit_s: float, beds_most: int) -> tuple[int, Agreement | str, float]:
    """Return a seed, what became of it or the text of an error, and the seconds it took."""
    started = time.perf_counter()
    try:
        found: Agreement | str = compare(seed, time_limit_s, beds_most)
    except Exception:  # an error is a result here: it is counted and shown
        found = traceback.format_exc(limit=-4)
    return seed, found, time.perf_counter() - started


def main() -> None:
    """Run the campaign and print its counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=300)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--beds-most", type=int, default=BEDS_MOST)
    parser.add_argument("--time-limit", type=float, default=TIME_LIMIT_S, help="complete program")
    asked = parser.parse_args()
    kinds: Counter[str] = Counter()
    features: Counter[str] = Counter()
    faulty = 0
    run = partial(one, time_limit_s=asked.time_limit, beds_most=asked.beds_most)
    with ProcessPoolExecutor(asked.processes) as pool:
        seeds = range(asked.seed, asked.seed + asked.sites)
        for seed, found, seconds in pool.map(run, seeds):
            if isinstance(found, str):
                faulty += 1
                print(f"seed {seed} error\n{found}", flush=True)
                continue
            kinds[found.kind] += 1
            if found.kind in ("both proven", "complete stopped"):
                features.update(found.features)
            faulty += bool(found.faults)
            for fault in found.faults:
                print(f"seed {seed} ({seconds:.0f} s): {fault}", flush=True)
    print(f"{asked.sites} sites from seed {asked.seed}: {faulty} disagree or failed")
    for name, count in sorted(kinds.items()):
        print(f"{count:6d} {name}")
    print("compared with a design, by feature: ", end="")
    print(", ".join(f"{name} {count}" for name, count in sorted(features.items())))


if __name__ == "__main__":
    main()
