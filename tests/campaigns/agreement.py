"""Many random sites with every feature, solved by both programs and held against their brackets.

Run ``python -m tests.campaigns.agreement --sites 300 --processes 2``. Where both programs can
answer they must agree; where only the complete one can, its cost must lie where programs without
ties say (:mod:`tests.oracles.bracket_tied`). Every design is checked, every bill added up. Answers
1 on any fault; with ``--shrink`` each faulty site is made smaller and written to a folder.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from collections import Counter
from functools import partial
from pathlib import Path

from tests.builders.case import Case
from tests.builders.every_feature import every_feature
from tests.campaigns.counts import feature_lines, keep_small, results
from tests.whole.agree_features import Told, agree, without_explanations

BEDS_MOST = 8
TIME_LIMIT_S = 30.0
SHRINK_TRIES = 60


def tell(case: Case, time_limit_s: float) -> Told:
    """Compare all of one case; an error of the program is a fault like any other."""
    try:
        with without_explanations():
            return agree(case, time_limit_s)
    except Exception:  # an error is a result here: it is counted and shown
        return Told(faults=[traceback.format_exc(limit=-4)])


def one(seed: int, time_limit_s: float, beds_most: int) -> tuple[int, Told, float]:
    """Return a seed, what its site told, and the CPU seconds it took."""
    started = time.process_time()
    told = tell(every_feature(seed, beds_most), time_limit_s)
    return seed, told, time.process_time() - started


def main() -> int:
    """Run the campaign and print its counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=300)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--beds-most", type=int, default=BEDS_MOST)
    parser.add_argument("--time-limit", type=float, default=TIME_LIMIT_S, help="complete program")
    parser.add_argument("--minutes", type=float, default=600.0, help="then no further site")
    parser.add_argument("--shrink", type=Path, help="folder for small faulty site files")
    asked = parser.parse_args()
    kinds: Counter[str] = Counter()
    features: Counter[str] = Counter()
    faulty, cpu_s = [], 0.0
    run = partial(one, time_limit_s=asked.time_limit, beds_most=asked.beds_most)
    seeds, done = range(asked.seed, asked.seed + asked.sites), 0
    for seed, told, seconds in results(run, seeds, asked.processes, asked.minutes):
        cpu_s, done = cpu_s + seconds, done + 1
        kinds.update(told.kinds)
        if set(told.kinds) - {"not formulated", "not composed"}:
            features.update(told.features)
        for fault in told.faults:
            print(f"seed {seed}: {fault}", flush=True)
        if told.faults:
            faulty.append(seed)
    for name, count in sorted(kinds.items()):
        print(f"{count:6d} {name}")
    print("\n".join(feature_lines(features, "sites compared")))
    for seed in faulty if asked.shrink else ():
        case, path = every_feature(seed, asked.beds_most), asked.shrink / f"agreement-{seed}.toml"
        print(keep_small(case, _is_faulty, path, SHRINK_TRIES), flush=True)
    print(
        f"{done} of {asked.sites} sites from seed {asked.seed}, {sum(kinds.values())} comparisons, "
        f"{cpu_s:.0f} CPU s: {len(faulty)} sites with a fault"
    )
    return 1 if faulty else 0


def _is_faulty(case: Case) -> bool:
    return bool(tell(case, TIME_LIMIT_S).faults)


if __name__ == "__main__":
    sys.exit(main())
