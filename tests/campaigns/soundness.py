"""Many random sites with every feature, designed and checked: does one fail, is a proof false?

Run ``python -m tests.campaigns.soundness --sites 300 --processes 2``. Every layout of every site
is designed as the command does it, a simulated day and a power cut included. Answers 1 on a
promise that simulation refutes, a bound above the cost, a bill that is not the cost, a refusal
that names no clash, or an error; with ``--shrink`` each such site is made smaller and written to a
folder.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from collections import Counter
from functools import partial
from pathlib import Path

from optimizer.errors import SolverFailed
from tests.builders.case import Case
from tests.builders.every_feature import every_feature
from tests.builders.features import features_of
from tests.campaigns.counts import feature_lines, keep_small, results
from tests.whole.judge import Verdict, judge

BEDS_MOST = 14
TIME_LIMIT_S = 60.0
SHRINK_TRIES = 60
SHRINK_TIME_LIMIT_S = 20.0


def verdict_of(case: Case, time_limit_s: float) -> Verdict | str:
    """Return what became of a case, or the text of an error."""
    try:
        return judge(case.site, case.catalog, time_limit_s)
    except SolverFailed as late:
        return Verdict("no design in the time allowed", what=str(late))
    except Exception:  # an error is a result here: it is counted and shown
        return traceback.format_exc(limit=-4)


def one(seed: int, time_limit_s: float, beds_most: int) -> tuple[int, Verdict | str, float]:
    """Return a seed, its verdict or the text of an error, and the CPU seconds it took."""
    started = time.process_time()
    found = verdict_of(every_feature(seed, beds_most), time_limit_s)
    return seed, found, time.process_time() - started


class Counts:
    """What the campaign has seen so far."""

    def __init__(self) -> None:
        self.counts: Counter[str] = Counter()
        self.features: Counter[str] = Counter()
        self.least: dict[str, tuple[float, int]] = {}
        self.faulty: list[int] = []
        self.beds, self.slowest_s, self.cpu_s = 0, 0.0, 0.0

    def take(self, seed: int, found: Verdict | str, seconds: float, case: Case) -> None:
        """Count one site and print what is wrong with it."""
        self.slowest_s, self.cpu_s = max(self.slowest_s, seconds), self.cpu_s + seconds
        if isinstance(found, str):
            self.counts["errors"] += 1
            self.faulty.append(seed)
            print(f"seed {seed} error\n{found}", flush=True)
            return
        self.beds += found.beds
        self.counts[found.kind] += 1
        self.counts["stopped at the time limit"] += found.status == "stopped"
        self.counts["failed checks"] += bool(found.failures)
        self.counts["bounds above cost"] += found.bound_above_cost
        self.counts["bills that are not the cost"] += bool(found.bill_off_cents)
        self.counts["refusals without a clash"] += found.unexplained
        if found.kind == "design":
            self.features.update(features_of(case))
        if found.works_in_share is not None:
            worst = self.least.get(found.robustness, (1.0, seed))
            self.least[found.robustness] = min(worst, (found.works_in_share, seed))
        if not found.sound:
            self.faulty.append(seed)
            told = (*found.failures, found.what, f"bill off by {found.bill_off_cents}")
            print("\n".join(f"seed {seed} {each}" for each in told if each), flush=True)

    def lines(self) -> list[str]:
        """Return everything but the last line."""
        lines = [
            f"{word}: every bed works in at least {share:.2%} of draws (least at seed {seed})"
            for word, (share, seed) in sorted(self.least.items())
        ]
        lines += [f"{count:6d} {name}" for name, count in sorted(self.counts.items())]
        return lines + feature_lines(self.features, "sites with a design")


def main() -> int:
    """Run the campaign and print its counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=300)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--beds-most", type=int, default=BEDS_MOST)
    parser.add_argument("--time-limit", type=float, default=TIME_LIMIT_S)
    parser.add_argument("--minutes", type=float, default=600.0, help="then no further site")
    parser.add_argument("--shrink", type=Path, help="folder for small faulty site files")
    asked = parser.parse_args()
    seen = Counts()
    run = partial(one, time_limit_s=asked.time_limit, beds_most=asked.beds_most)
    seeds, done = range(asked.seed, asked.seed + asked.sites), 0
    for seed, found, seconds in results(run, seeds, asked.processes, asked.minutes):
        seen.take(seed, found, seconds, every_feature(seed, asked.beds_most))
        done += 1
    print("\n".join(seen.lines()))
    for seed in seen.faulty if asked.shrink else ():
        case, path = every_feature(seed, asked.beds_most), asked.shrink / f"soundness-{seed}.toml"
        print(keep_small(case, _is_faulty, path, SHRINK_TRIES), flush=True)
    sites = f"{done} of {asked.sites} sites from seed {asked.seed}, {seen.beds} beds"
    spent = f"{seen.cpu_s:.0f} CPU s, slowest {seen.slowest_s:.0f}"
    print(f"{sites}, {spent}: {len(seen.faulty)} sites with a fault")
    return 1 if seen.faulty else 0


def _is_faulty(case: Case) -> bool:
    found = verdict_of(case, SHRINK_TIME_LIMIT_S)
    return isinstance(found, str) or not found.sound


if __name__ == "__main__":
    sys.exit(main())
