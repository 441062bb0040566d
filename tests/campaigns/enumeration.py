"""Many tiny random sites with tank, two sizes, side conditions and layouts, by enumeration.

Run ``python -m tests.campaigns.enumeration --sites 300 --processes 2``. The enumeration shares no
code with the programs (:mod:`tests.oracles.enumerate_site`). Answers 1 on any difference.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from collections import Counter

from tests.builders.every_feature import every_feature
from tests.builders.features import features_of
from tests.campaigns.counts import feature_lines, results
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
    parser.add_argument("--minutes", type=float, default=600.0, help="then no further site")
    asked = parser.parse_args()
    features: Counter[str] = Counter()
    faulty, done, cpu_s = 0, 0, 0.0
    seeds = range(asked.seed, asked.seed + asked.sites)
    for seed, faults, seconds in results(one, seeds, asked.processes, asked.minutes):
        cpu_s, done, faulty = cpu_s + seconds, done + 1, faulty + bool(faults)
        features.update(features_of(every_feature(seed, BEDS_MOST, tiny=True)))
        for fault in faults:
            print(f"seed {seed}: {fault}", flush=True)
    print("\n".join(feature_lines(features, "all sites")))
    sites = f"{done} of {asked.sites} tiny sites from seed {asked.seed}"
    print(f"{sites}, {cpu_s:.0f} CPU s: {faulty} sites with a fault")
    return 1 if faulty else 0


if __name__ == "__main__":
    sys.exit(main())
