"""Many tiny random sites with tank, two sizes, budget, few sizes, stock and layouts, by enumeration.

Run ``python -m tests.campaigns.enumeration --sites 300 --processes 2``. The enumeration shares no
code with the programs (:mod:`tests.oracles.enumerate_site`). Answers 1 on any difference.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor

from tests.builders.every_feature import every_feature
from tests.builders.features import features_of
from tests.campaigns.counts import feature_lines, show_progress
from tests.whole.agree_features import without_explanations
from tests.whole.enumerated import enumeration_faults

BEDS_MOST = 3


def one(seed: int) -> tuple[int, list[str], float]:
    """Return a seed, what differs, and the CPU seconds it took."""
    started = time.process_time()
    try:
        with without_explanations():
            faults = enumeration_faults(every_feature(seed, BEDS_MOST, tiny=True))
    except Exception:  # an error is a result here: it is counted and shown
        faults = [traceback.format_exc(limit=-4)]
    return seed, faults, time.process_time() - started


def main() -> int:
    """Run the campaign and print its counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=300)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    features: Counter[str] = Counter()
    faulty, cpu_s, started = 0, 0.0, time.perf_counter()
    with ProcessPoolExecutor(asked.processes) as pool:
        for seed, faults, seconds in pool.map(one, range(asked.seed, asked.seed + asked.sites)):
            cpu_s += seconds
            faulty += bool(faults)
            features.update(features_of(every_feature(seed, BEDS_MOST, tiny=True)))
            show_progress(seed - asked.seed + 1, asked.sites, started)
            for fault in faults:
                print(f"seed {seed}: {fault}", flush=True)
    print("\n".join(feature_lines(features, "all sites")))
    print(
        f"{asked.sites} tiny sites from seed {asked.seed}, {cpu_s:.0f} CPU s: {faulty} sites with a fault"
    )
    return 1 if faulty else 0


if __name__ == "__main__":
    sys.exit(main())
